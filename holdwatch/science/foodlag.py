"""Food follows the air around it with a lag: what food would be where only the air is measured.

A first-order lag damps a compressor's cycle to almost nothing, an open door to little and a defrost to a part, and
follows air that stays warm: so it tells a unit that fails from one that breathes. It is an estimate of food: it proves
and breaks no limit.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import OutOfRangeError
from holdwatch.language import _
from holdwatch.readings import Series

__all__ = [
    "COLDEST_C",
    "LONGEST_GAP_MIN",
    "LONGEST_LAG_MIN",
    "SHORTEST_LAG_MIN",
    "USUAL_LAG_MIN",
    "WARMEST_C",
    "food_of_air",
    "lagged_c",
]

Array = NDArray[np.float64]

USUAL_LAG_MIN = 45.0
"""Ours: a small covered pan. From m·c/(h·A): 30 ml in a vial 38 min, half a litre in a bottle 118, a litre in a tub 133."""
SHORTEST_LAG_MIN, LONGEST_LAG_MIN = 1.0, 1440.0
COLDEST_C, WARMEST_C = -60.0, 300.0
LONGEST_GAP_MIN = 20.0
"""Ours: air further apart than this is not known between."""
_LONGEST_STRETCH = 30.0  # lags that are summed at once


def lagged_c(minutes: ArrayLike, celsius: ArrayLike, *, lag_min: float, start_c: float | None = None) -> Array:
    r"""Return what follows the air with a first-order lag, at the instants of the air.

    .. math:: \tau \frac{dT_{food}}{dt} = T_{air} - T_{food}

    solved exactly for air that runs straight from reading to reading, whatever the steps:
    :math:`T_1 = E\,T_0 + (g - E)\,a_0 + (1 - g)\,a_1`, with d = Δt/τ, E = exp(−d), g = (1 − E)/d.

    Parameters
    ----------
    minutes : array, shape (n,). [min], never decreasing; two at one instant are a jump of the air.
    celsius : array, shape (n,). [°C], of the air, −60 to 300, ends included.
    lag_min : float. [min], τ, 1 to 1440, ends included.
    start_c : float or None. [°C], the food at the first instant; the air there if not given.

    Returns
    -------
    float array, shape (n,). [°C]

    Raises
    ------
    OutOfRangeError
        If a temperature or the lag is outside its range.
    ValueError
        If the two do not pair up or time runs backwards.

    Notes
    -----
    One lag for a body that has many: right for small food and stirred liquids, too quick at the middle of a deep pan in
    the first quarter of its way. Its error is that of τ and of the place of the air's probe.

    Examples
    --------
    Air that jumps from 4 to 10 °C for a quarter of an hour lifts food of an hour's lag by 1.33 °C:

    >>> float(np.round(lagged_c([0, 0, 15], [4, 10, 10], lag_min=60)[-1], 4))
    5.3272

    References
    ----------
    C. J. Geankoplis, *Transport Processes and Unit Operations*, section 5.2 (simple lumped body). The exact step for a
    linear input is that of a first-order hold.
    """
    at, air = np.asarray(minutes, dtype=np.float64), np.asarray(celsius, dtype=np.float64)
    if at.shape != air.shape or at.ndim != 1 or bool((np.diff(at) < 0).any()):
        message = "minutes and temperatures are to pair up, in order of time"
        raise ValueError(message)
    _refuse_temperatures(air if start_c is None else np.append(air, start_c))
    if not SHORTEST_LAG_MIN <= lag_min <= LONGEST_LAG_MIN:
        raise OutOfRangeError(_("the lag"), lag_min, SHORTEST_LAG_MIN, LONGEST_LAG_MIN, "min")
    if len(air) == 0:
        return np.empty(0)
    return _follow(at, air, lag_min, float(air[0]) if start_c is None else start_c)


def food_of_air(air: Series, lag_min: float) -> Series:
    """Return the food estimated from a series of air, at its instants, by `lagged_c`.

    τ dT/dt = T_air − T, from each beginning of the air: behind a hole of more than 20 min nobody knows what the food
    did, and it begins again with the air.

    Parameters
    ----------
    air : Series. [ms, °C]
    lag_min : float. [min], τ, 1 to 1440, ends included.

    Returns
    -------
    Series. [ms, °C]

    Raises
    ------
    OutOfRangeError
        If a temperature or the lag is outside its range.

    Examples
    --------
    >>> air = Series(np.array([0, 900_000]), np.array([4.0, 10.0]))
    >>> food_of_air(air, 60).celsius.round(2).tolist()
    [4.0, 4.69]

    References
    ----------
    As `lagged_c`.
    """
    breaks = np.flatnonzero(np.diff(air.at_ms) > LONGEST_GAP_MIN * MS_PER_MINUTE) + 1
    parts = zip(np.split(air.at_ms, breaks), np.split(air.celsius, breaks), strict=True)
    followed = [lagged_c((at - at[0]) / MS_PER_MINUTE, c, lag_min=lag_min) for at, c in parts if len(at)]
    return Series(air.at_ms, np.concatenate(followed) if followed else np.empty(0))


def _follow(at: Array, air: Array, lag_min: float, start_c: float) -> Array:
    """Follow the air step by step, each exact; stretches of many steps are summed at once.

    The food is e^(−s)·(start + Σ push·e^s), s the time in lags since the stretch began: short enough for e^s to be a number.
    """
    d = np.diff(at) / lag_min
    decay = np.exp(-d)
    held = np.where(d > 0, -np.expm1(-d) / np.where(d > 0, d, 1.0), 1.0)
    driven = (held - decay) * air[:-1] + (1.0 - held) * air[1:]
    passed = np.cumsum(d)
    food = np.empty(len(air))
    food[0] = start_c
    first = 0
    while first < len(d):
        before = passed[first] - d[first]
        last = max(first + 1, int(np.searchsorted(passed, before + _LONGEST_STRETCH)))
        if last == first + 1:
            food[last] = decay[first] * food[first] + driven[first]
        else:
            s = passed[first:last] - before
            food[first + 1 : last + 1] = np.exp(-s) * (food[first] + np.cumsum(driven[first:last] * np.exp(s)))
        first = last
    return food


def _refuse_temperatures(celsius: Array) -> None:
    beyond = celsius[~((celsius >= COLDEST_C) & (celsius <= WARMEST_C))]
    if len(beyond):
        raise OutOfRangeError(_("the temperature"), float(beyond[0]), COLDEST_C, WARMEST_C, "°C")
