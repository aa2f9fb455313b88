"""When will cooling food reach a level? An interval, or no answer with its reason.

The middle of a cooling body follows, once its curved beginning is over, a straight line in the logarithm of its distance
from the surroundings (the first term of the exact series, :mod:`holdwatch.science.conduction`). The forecast fits that
line and nothing else is free: the surroundings are measured, or else taken from a grid of what surroundings in and
around a kitchen can be, each weighed by how usual it is and how well its line fits. A fit with free surroundings runs
away: on a measured curve it finds them where the readings end, and concludes that nothing will ever cool further.

A forecast never changes a verdict.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import OutOfRangeError
from holdwatch.readings import Series

__all__ = ["Forecast", "forecast"]

Array = NDArray[np.float64]

CONFIDENCE = 0.9
TARGET_LOW_C, TARGET_HIGH_C = -40.0, 150.0
SURROUNDINGS_LOW_C, SURROUNDINGS_HIGH_C = -60.0, 100.0
COLDEST_SURROUNDINGS_C, WARMEST_SURROUNDINGS_C = -30.0, 35.0
"""What the air or bath around cooling food can be in and around a kitchen, if nobody measures it: ours."""

FEWEST_READINGS = 6
SHORTEST_MS = 8 * MS_PER_MINUTE
SMALLEST_FALL_C = 3.0
STALE_MS = 30 * MS_PER_MINUTE
"""With the last reading older than this there is nothing to look ahead from."""

_MOST_POINTS = 150
_CURVED_SHARE = 0.12  # of the way: by then every shape of body has left its curved beginning, or nearly
_SLOWEST_RATE = 1e-3  # per hour; slower than a month is not falling
_LIKELY = 0.5
_MEASURED_SD_C = 0.7  # how far measured air may be from what the food feels: its cycle, its place, its probe
_NOISE_C = 0.15  # a food probe's noise and step, and what one line leaves out of a real curve
_INDEPENDENT = 8.0  # errors of neighbouring readings go together: so many count as separate, at most
_SLOPE_DOUBT = 0.05  # relative; the part of the rate that no fit sees
_SLOPE_DOUBT_UNMEASURED = 0.12  # the same, where the surroundings are not measured
_PATH_POINTS = 40
_PATH_LONGEST_MS = 12 * MS_PER_HOUR
_REST_MS = 40 * MS_PER_MINUTE
_REST_C = 0.4
"""A fall smaller than this over that time is rest: then, and only then, unmeasured surroundings may be said to be too warm."""
_USUAL = ((-19.0, 3.0, 0.1), (0.5, 1.0, 0.15), (3.0, 1.5, 0.4), (22.0, 3.0, 0.25))
"""Ours: freezer, ice bath, refrigerator, room: their middle and spread in °C, and how often food is cooled there."""
_ELSEWHERE = 0.1
_Z = np.array([-2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0])
_Z_WEIGHT = np.exp(-0.5 * _Z**2) / np.exp(-0.5 * _Z**2).sum()


@dataclass(frozen=True)
class Forecast:
    """When a level will be reached, as things stand.

    `reaches` is ``None`` when the readings do not support a forecast yet, ``False`` when the level will not be reached
    as things stand; `reason` says why. `latest_ms` is ``None`` when it cannot be excluded that it is never reached.
    """

    target_c: float
    reaches: bool | None
    expected_ms: int | None
    earliest_ms: int | None
    latest_ms: int | None
    reason: str
    confidence: float = CONFIDENCE
    path: tuple[tuple[int, float, float, float], ...] = ()
    """The course ahead for the fan of the chart: (instant in ms, low, middle, high in °C), at most 40 points."""


@dataclass(frozen=True)
class _Lines:
    """One fitted line for each candidate of the surroundings: log distance = level − rate × hours from now on."""

    around_c: Array
    level: Array
    rate: Array
    doubt: Array
    """Relative standard deviation of each rate."""
    weight: Array


def forecast(
    series: Series, *, target_c: float, now_ms: int, surroundings_c: float | None, moved_ms: tuple[int, ...] = ()
) -> Forecast:
    r"""Say when food that cools will reach a level, with an interval that holds nine times of ten.

    .. math:: \ln(T - T_\infty) = \ln(T_0 - T_\infty) - r\,(t - t_0)

    Parameters
    ----------
    series : Series. [ms, °C]
        The readings of one vessel; those after `now_ms` are not seen, those before the last of `moved_ms` not used.
    target_c : float. [°C], the level asked for.
    now_ms : int. [ms since 1970-01-01 UTC]
    surroundings_c : float or None. [°C], the temperature of the air or bath, if it is measured.
    moved_ms : tuple of int. [ms], when the vessel was moved into other surroundings.

    Returns
    -------
    Forecast

    Raises
    ------
    OutOfRangeError
        If `target_c` is not from −40 to 150 °C, or `surroundings_c` not from −60 to 100 °C, ends included.

    Notes
    -----
    The line holds after the curved beginning (Fourier number about 0.2), for surroundings and a surface coefficient that
    stay as they are. It leaves out a door that stays open, stirring and freezing. With measured surroundings they are
    taken to be right within 0.7 °C (one standard deviation, ours); without, every candidate from −30 to 35 °C below
    the last reading is weighed, which makes the interval wide, as it should be. Its skill on slabs that it never saw is
    pinned in the tests.

    Examples
    --------
    135 °F falling to 100 °F in the first hour in surroundings of 38 °F reaches 70 °F after 2.478 h (computed from the
    two-point formula):

    >>> import numpy as np
    >>> hours = np.arange(0, 1.01, 0.05)
    >>> celsius = (38 + 97 * 10 ** (-0.194380 * hours) - 32) / 1.8
    >>> made = forecast(Series((hours * 3.6e6).astype(np.int64), celsius), target_c=(70 - 32) / 1.8,
    ...                 now_ms=3_600_000, surroundings_c=(38 - 32) / 1.8)
    >>> made.reaches, round(made.expected_ms / 3.6e6, 1)
    (True, 2.5)

    References
    ----------
    C. Hedeen, D. Schaffner, L. Brown 2022, *Journal of Environmental Health*, PMC9380651: the two-point form of the
    line. M. N. Igo, C. Hedeen, D. Schaffner 2021, *Journal of Food Protection*: 29 foods, most fitted with R² > 0.90.
    """
    _refuse_impossible(target_c, surroundings_c)
    cooling = _cooling_part(series, now_ms, moved_ms)
    refusal = _not_yet(cooling, target_c, now_ms)
    if refusal is not None:
        return refusal
    last_ms, last_c = int(cooling.at_ms[-1]), float(cooling.celsius[-1])
    if surroundings_c is not None and surroundings_c >= target_c:
        return _none(
            target_c, f"the surroundings are at {surroundings_c:.1f} °C: it will not get that cold there", False
        )
    lines = _fit(cooling, surroundings_c)
    if lines is None:
        return _none(target_c, f"it is at {last_c:.1f} °C and has all but stopped falling", None)
    hours = _hours_to(lines, target_c)
    weight = np.outer(lines.weight, _Z_WEIGHT).ravel()
    never = float(weight[~np.isfinite(hours)].sum())
    path = _path(lines, hours, weight, last_ms)
    if never > _LIKELY:
        known = surroundings_c is not None or (never > CONFIDENCE and _rests(cooling))
        words = "as it falls now it will not get that cold" if known else "its surroundings may be too warm for it"
        return Forecast(target_c, False if known else None, None, None, None, words, path=path)
    early, middle, late = (_instant(last_ms, h) for h in _quantiles(hours, weight))
    return Forecast(target_c, True, middle, early, late, _basis(cooling, surroundings_c), path=path)


def _refuse_impossible(target_c: float, surroundings_c: float | None) -> None:
    """Refuse a level or surroundings that no food here can have."""
    if not TARGET_LOW_C <= target_c <= TARGET_HIGH_C:
        raise OutOfRangeError("the level", target_c, TARGET_LOW_C, TARGET_HIGH_C, "°C")
    if surroundings_c is not None and not SURROUNDINGS_LOW_C <= surroundings_c <= SURROUNDINGS_HIGH_C:
        raise OutOfRangeError("the surroundings", surroundings_c, SURROUNDINGS_LOW_C, SURROUNDINGS_HIGH_C, "°C")


def _none(target_c: float, reason: str, reaches: bool | None = None) -> Forecast:
    """Return an answer without an instant."""
    return Forecast(target_c, reaches, None, None, None, reason)


def _cooling_part(series: Series, now_ms: int, moved_ms: tuple[int, ...]) -> Series:
    """Keep what was read since the last move and since it was warmest; of two values at an instant the warmer."""
    first_ms = max((at for at in moved_ms if at <= now_ms), default=-(2**62))
    seen = series.between(first_ms, now_ms)
    if len(seen) == 0:
        return seen
    at_ms, starts = np.unique(seen.at_ms, return_index=True)
    celsius = np.maximum.reduceat(seen.celsius, starts)
    warmest = int(np.flatnonzero(celsius >= celsius.max() - 0.5)[-1])
    return Series(at_ms[warmest:], celsius[warmest:])


def _not_yet(cooling: Series, target_c: float, now_ms: int) -> Forecast | None:
    """Return the answer where no line is needed or none can be drawn."""
    if len(cooling) == 0:
        return _none(target_c, "there is no reading since it was put where it is")
    below = np.flatnonzero(cooling.celsius <= target_c)
    if len(below):
        at = int(cooling.at_ms[below[0]])
        return Forecast(target_c, True, at, at, at, "it is there already")
    if now_ms - int(cooling.at_ms[-1]) > STALE_MS:
        return _none(target_c, f"the last reading is {(now_ms - int(cooling.at_ms[-1])) // MS_PER_MINUTE} min old")
    if len(cooling) < FEWEST_READINGS or int(cooling.at_ms[-1] - cooling.at_ms[0]) < SHORTEST_MS:
        return _none(target_c, "too few readings since it began to cool here")
    if float(cooling.celsius[0] - cooling.celsius[-1]) < SMALLEST_FALL_C:
        return _none(target_c, f"it has fallen by less than {SMALLEST_FALL_C:g} °C yet")
    return None


def _rests(cooling: Series) -> bool:
    """Tell whether it has all but stopped falling."""
    lately = cooling.between(int(cooling.at_ms[-1]) - _REST_MS, int(cooling.at_ms[-1]))
    long_enough = int(lately.at_ms[-1] - lately.at_ms[0]) > _REST_MS // 2
    return long_enough and float(lately.celsius[0] - lately.celsius[-1]) < _REST_C


def _candidates(last_c: float, surroundings_c: float | None) -> tuple[Array, Array]:
    """Return the surroundings to try, and how likely each is before the readings are looked at."""
    if surroundings_c is not None:
        around = surroundings_c + _MEASURED_SD_C * _Z
        return around[around < last_c - 0.2], _Z_WEIGHT[around < last_c - 0.2]
    warmest = min(WARMEST_SURROUNDINGS_C, last_c - 0.5)
    around = np.arange(COLDEST_SURROUNDINGS_C, warmest, 1.0)
    prior = np.full_like(around, _ELSEWHERE / (WARMEST_SURROUNDINGS_C - COLDEST_SURROUNDINGS_C))
    for middle, spread, share in _USUAL:
        prior += share * np.exp(-0.5 * ((around - middle) / spread) ** 2) / (spread * math.sqrt(2 * math.pi))
    return around, prior


def _straight_part(cooling: Series, around_c: float) -> slice:
    """Leave out the curved beginning: the first eighth or so of the way, as long as enough is left."""
    lost = (cooling.celsius[0] - cooling.celsius) / (cooling.celsius[0] - around_c)
    begin = (
        int(np.argmax(lost >= _CURVED_SHARE)) if bool((lost >= _CURVED_SHARE).any()) else len(lost) - FEWEST_READINGS
    )
    begin = max(0, min(begin, len(lost) - FEWEST_READINGS))
    step = max(1, (len(lost) - begin) // _MOST_POINTS)
    return slice(begin + (len(lost) - 1 - begin) % step, None, step)


def _fit(cooling: Series, surroundings_c: float | None) -> _Lines | None:
    """Draw the line of each candidate, and weigh the candidates by how well theirs fits."""
    around, prior = _candidates(float(cooling.celsius[-1]), surroundings_c)
    if len(around) == 0:
        return None
    part = _straight_part(cooling, float(around.mean()))
    hours = (cooling.at_ms[part] - cooling.at_ms[-1]) / MS_PER_HOUR
    celsius = cooling.celsius[part]
    recent = np.exp(hours / max(-hours[0], 1e-6))
    distance = celsius[:, None] - around[None, :]
    level, rate, miss, slope_sd = _lines(hours, distance, recent)
    half = len(hours) // 2
    bent = np.zeros_like(rate)
    if half >= FEWEST_READINGS:
        _, first, _, _ = _lines(hours[:half], distance[:half], recent[:half])
        _, second, _, _ = _lines(hours[half:], distance[half:], recent[half:])
        bent = 0.5 * np.abs(second - first)
    falling = rate > _SLOWEST_RATE
    if not falling.any():
        return None
    weight = prior * falling
    if surroundings_c is None:
        spread = miss.min() ** 2 + _NOISE_C**2
        weight = weight * np.exp(-0.5 * _INDEPENDENT * (miss**2 - miss.min() ** 2) / spread)
    safe = np.where(falling, rate, 1.0)
    unseen = _SLOPE_DOUBT if surroundings_c is not None else _SLOPE_DOUBT_UNMEASURED
    doubt = np.sqrt(unseen**2 + (slope_sd / safe) ** 2 + (bent / safe) ** 2)
    return _Lines(around, level, safe, np.minimum(doubt, 0.45), weight / weight.sum())


def _lines(hours: Array, distance: Array, recent: Array) -> tuple[Array, Array, Array, Array]:
    """Fit log distance against time, weighed so that a degree counts as a degree: level now, rate, miss, rate's sd."""
    log = np.log(np.maximum(distance, 1e-3))
    weight = recent[:, None] * distance**2
    total = weight.sum(axis=0)
    mean_t = (weight * hours[:, None]).sum(axis=0) / total
    mean_y = (weight * log).sum(axis=0) / total
    t = hours[:, None] - mean_t
    spread = (weight * t**2).sum(axis=0)
    slope = (weight * t * log).sum(axis=0) / spread
    level = mean_y - slope * mean_t
    off = distance * (log - mean_y - slope * t)
    miss = np.sqrt((recent[:, None] * off**2).sum(axis=0) / recent.sum())
    share = min(1.0, _INDEPENDENT / len(hours))
    slope_sd = np.hypot(miss, _NOISE_C) * np.sqrt(recent.max() / (spread * share))
    return level, -slope, miss, slope_sd


def _hours_to(lines: _Lines, target_c: float) -> Array:
    """Return the hours to the target of each candidate and each rate; infinite where it is never reached."""
    rates = lines.rate[:, None] * np.exp(-lines.doubt[:, None] * _Z[None, :])
    left = np.where(target_c > lines.around_c, target_c - lines.around_c, np.nan)
    hours = (lines.level - np.log(left))[:, None] / rates
    return np.where(np.isnan(hours), np.inf, np.maximum(hours, 0.0)).ravel()


def _quantiles(values: Array, weight: Array) -> tuple[float, float, float]:
    """Return the values below which 5, 50 and 95 % of the weight lie."""
    order = np.argsort(values)
    below = np.cumsum(weight[order]) - 0.5 * weight[order]
    at = (0.5 - 0.5 * CONFIDENCE, 0.5, 0.5 + 0.5 * CONFIDENCE)
    found = [float(values[order][min(int(np.searchsorted(below, q)), len(values) - 1)]) for q in at]
    return found[0], found[1], found[2]


def _instant(last_ms: int, hours: float) -> int | None:
    """Return the instant that many hours after the last reading."""
    return None if not math.isfinite(hours) or hours > 24 * 30 else last_ms + round(hours * MS_PER_HOUR)


def _path(lines: _Lines, hours: Array, weight: Array, last_ms: int) -> tuple[tuple[int, float, float, float], ...]:
    """Return the fan from the last reading to the far end of the interval."""
    finite = _quantiles(np.minimum(hours, _PATH_LONGEST_MS / MS_PER_HOUR), weight)
    reach = min(max(finite[2] * 1.05, 0.25), _PATH_LONGEST_MS / MS_PER_HOUR)
    rates = (lines.rate[:, None] * np.exp(-lines.doubt[:, None] * _Z[None, :])).ravel()
    around, height = np.repeat(lines.around_c, len(_Z)), np.exp(np.repeat(lines.level, len(_Z)))
    made = []
    for t in np.linspace(0.0, reach, _PATH_POINTS):
        low, middle, high = _quantiles(around + height * np.exp(-rates * t), weight)
        made.append((last_ms + round(float(t) * MS_PER_HOUR), low, middle, high))
    return tuple(made)


def _basis(cooling: Series, surroundings_c: float | None) -> str:
    """Say in words what the forecast rests on."""
    minutes = int(cooling.at_ms[-1] - cooling.at_ms[0]) // MS_PER_MINUTE
    where = "surroundings not measured" if surroundings_c is None else f"surroundings at {surroundings_c:.1f} °C"
    return f"from {len(cooling)} readings over {minutes} min, {where}"
