"""How much heat did to Salmonella in an egg mixture: an estimate beside the verdict of the clause, never in its place.

The rate at which bacteria die rises tenfold with every z degrees. A record of temperatures is therefore summed, not as
it is, but as the minutes at one reference temperature that would do as much. Between two readings the temperature is
taken as a straight line and that line is integrated exactly: the trapezoid over the rates, which textbooks draw by hand,
overstates what was reached by a fifth and more where readings are far apart, and so errs on the wrong side.

D (minutes for one decimal reduction) is of one medium: sugared yolk needs ten times as long as plain yolk.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import OutOfRangeError
from holdwatch.language import N_, _
from holdwatch.readings import Series

__all__ = [
    "MEDIA",
    "MOST_TOLD",
    "CookEstimate",
    "EggMedium",
    "decimal_reduction_min",
    "equivalent_minutes",
    "estimate_cook",
    "lethal_rate",
    "log_reductions",
]

Array = NDArray[np.float64]

COLDEST_C, WARMEST_C = -60.0, 300.0
SMALLEST_Z_C, LARGEST_Z_C = 1.0, 60.0

MOST_TOLD = 12.0
"""Ours: beyond so many decimal reductions a figure means nothing: nobody has counted them; "more than 12" is said."""

Z_C, Z_SMALLEST_C, Z_LARGEST_C = 4.6, 4.2, 5.3
"""Mean, smallest and largest z of the media below. Garibaldi, Straka, Ijichi 1969, abstract."""

RESISTANT_STRAINS = 2.3
"""How much longer a mixture of heat-resistant strains took in whole egg at 60 °C: five reductions in 3.1 min (Gurtler,
Juneja, Jones, Purohit 2019, abstract) where Garibaldi's D gives 1.35 min."""

LONGEST_GAP_MIN = 1.5
"""Ours, as of a dwell: what happened between readings further apart is not known, and counts nothing."""


@dataclass(frozen=True)
class EggMedium:
    """What was heated, and how Salmonella typhimurium Tm-1 stands heat in it."""

    name: str
    title: str
    d_min: float
    """Minutes for one decimal reduction at `at_c`."""
    at_c: float
    counted_to_c: float
    """The warmest at which egg of this kind was measured; above it nothing more is counted. [°C]"""
    source: str


_GARIBALDI = "Garibaldi, Straka, Ijichi 1969, Applied Microbiology 17(4):491–496, PMC377728, abstract"
_WHOLE_TO_C = 64.0  # Gurtler et al. 2019: whole egg, 56 to 64 °C
_YOLK_TO_C = 64.4  # Palumbo et al. 1995: yolk, 61.1 to 64.4 °C
_WHITE_TO_C = 58.3  # Schuman, Sheldon 1997: white, 55.1 to 58.3 °C
COUNTED_FROM_C = 55.0
"""The coldest at which Garibaldi prints a D; colder time counts nothing."""

MEDIA = {
    medium.name: medium
    for medium in (
        EggMedium("whole-egg", N_("whole egg"), 0.27, 60.0, _WHOLE_TO_C, _GARIBALDI),
        EggMedium("sugared-whole-egg", N_("whole egg with 10 % sugar"), 0.60, 60.0, _WHOLE_TO_C, _GARIBALDI),
        EggMedium("fortified-whole-egg", N_("whole egg with yolk added"), 1.0, 60.0, _WHOLE_TO_C, _GARIBALDI),
        EggMedium("scrambled-egg-mix", N_("scrambled-egg mix"), 1.0, 60.0, _WHOLE_TO_C, _GARIBALDI),
        EggMedium("yolk", N_("plain yolk"), 0.40, 60.0, _YOLK_TO_C, _GARIBALDI),
        EggMedium("sugared-yolk", N_("yolk with 10 % sugar"), 4.0, 60.0, _YOLK_TO_C, _GARIBALDI),
        EggMedium("salted-yolk", N_("yolk with 10 % salt"), 5.1, 60.0, _YOLK_TO_C, _GARIBALDI),
        EggMedium("white", N_("egg white, pH 9.2"), 0.55, 55.0, _WHITE_TO_C, _GARIBALDI),
        EggMedium("sugared-white", N_("egg white, pH 9.2, with 10 % sugar"), 1.2, 55.0, _WHITE_TO_C, _GARIBALDI),
    )
}
"""Each medium with its D and where it was read."""


@dataclass(frozen=True)
class CookEstimate:
    """Decimal reductions of Salmonella that a record of temperatures amounts to: an estimate, not a verdict."""

    medium: EggMedium
    tolerance_c: float
    logs: float
    """Tolerance subtracted, mean z, counted between the temperatures at which egg was measured."""
    low: float
    """The same with the least favourable published z and heat-resistant strains."""
    high: float
    """As read, with the most favourable published z, the line drawn on above the measured temperatures."""
    minutes: float
    """Minutes at the reference temperature of the medium that amount to `logs`."""
    warmer_min: float
    """Minutes above the measured temperatures, counted as if at their upper end."""
    unseen_min: float
    """Minutes between readings too far apart, which count nothing."""


def lethal_rate(celsius: ArrayLike, *, reference_c: float, z_c: float) -> Array:
    r"""Return how many times faster bacteria die than at the reference temperature.

    .. math:: L = 10^{(T - T_{ref})/z}

    Parameters
    ----------
    celsius : float or array, shape (n,). [°C], −60 to 300, ends included.
    reference_c : float. [°C], in the same range.
    z_c : float. [°C], 1 to 60, ends included: the degrees that make dying ten times faster.

    Returns
    -------
    float array, shape (n,). Dimensionless.

    Raises
    ------
    OutOfRangeError
        If a temperature or `z_c` is outside these ranges, which are ours: what a kitchen can be, not what a source of
        D and z measured.

    Examples
    --------
    >>> round(float(lethal_rate(110.0, reference_c=121.11, z_c=10.0)), 3)
    0.077

    References
    ----------
    C. J. Geankoplis, *Transport Processes and Unit Operations*, section 9.12, equation of the lethal rate.
    """
    values = np.asarray(celsius, dtype=np.float64)
    _refuse(values, reference_c, z_c)
    return np.asarray(10.0 ** ((values - reference_c) / z_c))


def equivalent_minutes(minutes: ArrayLike, celsius: ArrayLike, *, reference_c: float, z_c: float) -> float:
    r"""Return the minutes at the reference temperature that do as much as a record of temperatures.

    .. math:: F = \int L\,dt = \sum_i \frac{z\,\Delta t_i}{\ln 10\,(T_{i+1} - T_i)} (L_{i+1} - L_i)

    exactly, for a temperature that runs straight from reading to reading; L Δt where it stays.

    Parameters
    ----------
    minutes : array, shape (n,). [min], never decreasing; two at one instant are a jump.
    celsius : array, shape (n,). [°C], −60 to 300, ends included.
    reference_c : float. [°C]
    z_c : float. [°C], 1 to 60, ends included.

    Returns
    -------
    float. [min]; 0 for fewer than two readings.

    Raises
    ------
    OutOfRangeError
        If a temperature or `z_c` is outside its range.
    ValueError
        If the two do not pair up or time runs backwards.

    Notes
    -----
    The trapezoid over L is larger by (a/2)·coth(a/2), a = ln 10·ΔT/z: by 8 % where z = 4.6 °C and the readings are 2 °C
    apart, by 31 % at 4 °C.

    Examples
    --------
    20 min at 160 °F, 20 at 210, 33 at 230; the book prints 2.68 min at 250 °F:

    >>> f = [160, 160, 210, 210, 230, 230]
    >>> made = equivalent_minutes([0, 20, 20, 40, 40, 73], [(x - 32) / 1.8 for x in f],
    ...                           reference_c=(250 - 32) / 1.8, z_c=18 / 1.8)
    >>> round(made, 2)
    2.68

    References
    ----------
    C. J. Geankoplis, *Transport Processes and Unit Operations*, section 9.12, Example 9.12-1. The integral of a straight
    line in closed form is elementary.
    """
    at, values = np.asarray(minutes, dtype=np.float64), np.asarray(celsius, dtype=np.float64)
    _refuse(values, reference_c, z_c)
    return float(_parts(at, values, reference_c, z_c).sum())


def decimal_reduction_min(celsius: float, *, d_min: float, at_c: float, z_c: float) -> float:
    r"""Return D, the minutes for one decimal reduction, at another temperature.

    .. math:: D(T) = D_{ref}\,10^{(T_{ref} - T)/z}

    Parameters
    ----------
    celsius : float. [°C], −60 to 300, ends included.
    d_min : float. [min], D at `at_c`, above 0.
    at_c : float. [°C]
    z_c : float. [°C], 1 to 60, ends included.

    Returns
    -------
    float. [min]

    Raises
    ------
    OutOfRangeError
        If a temperature or `z_c` is outside its range, or `d_min` is not above 0.

    Notes
    -----
    The line is a fit over a few degrees; how far it was measured is told with each medium.

    Examples
    --------
    >>> round(decimal_reduction_min(62.2, d_min=0.28, at_c=60.0, z_c=4.334), 3)
    0.087

    References
    ----------
    J. D. Schuman, B. W. Sheldon 1997, *Journal of Food Protection* 60(6): yolk, 0.28 min at 60 °C and 0.087 min at
    62.2 °C.
    """
    if not 0 < d_min < math.inf:
        raise OutOfRangeError("D", d_min, 0.0, math.inf, "min")
    return d_min / float(lethal_rate(celsius, reference_c=at_c, z_c=z_c))


def log_reductions(minutes: float, *, d_min: float) -> float:
    r"""Return the decimal reductions that minutes at the reference temperature amount to.

    .. math:: n = F / D_{ref}

    Parameters
    ----------
    minutes : float. [min], F at the reference temperature of D, 0 or more.
    d_min : float. [min], above 0.

    Returns
    -------
    float. Decimal reductions.

    Raises
    ------
    OutOfRangeError
        If `minutes` is below 0 or `d_min` not above 0.

    Notes
    -----
    For dying in a straight line of the logarithm. Shoulders and tails are left out; beyond 12 the figure means nothing.

    Examples
    --------
    >>> round(log_reductions(9.0, d_min=0.6), 6)
    15.0

    References
    ----------
    C. J. Geankoplis, *Transport Processes and Unit Operations*, Example 9.12-3.
    """
    if not 0 <= minutes < math.inf:
        raise OutOfRangeError(_("the time"), minutes, 0.0, math.inf, "min")
    if not 0 < d_min < math.inf:
        raise OutOfRangeError("D", d_min, 0.0, math.inf, "min")
    return minutes / d_min


def estimate_cook(series: Series, medium: EggMedium, *, tolerance_c: float) -> CookEstimate:
    """Estimate the decimal reductions of Salmonella in an egg mixture from a record of its temperature.

    The sum of `equivalent_minutes` over the record, divided by the D of the medium.

    Parameters
    ----------
    series : Series. [ms, °C], of the food, at its coldest place.
    medium : EggMedium, one of `MEDIA`.
    tolerance_c : float. [°C], 0 to 5, ends included: what the probe may be off. It is subtracted from every reading.

    Returns
    -------
    CookEstimate

    Raises
    ------
    OutOfRangeError
        If the tolerance or a reading is outside its range.

    Notes
    -----
    Nothing below 55 °C counts, and what is above the temperatures at which egg of this kind was measured counts as if at
    their upper end; how long that was is told. `high` draws the line on and is no more than that. Half a degree more or
    less makes a factor of 1.28 at z = 4.6 °C. An estimate: it never stands for a row of a code of practice, whose rows do
    not lie on one such line.

    Examples
    --------
    Two minutes of plain yolk at 61.1 °C; the source found seven reductions after 1.4 to 2.4 min:

    >>> record = Series(np.arange(0, 121_000, 10_000), np.full(13, 61.1))
    >>> made = estimate_cook(record, MEDIA["yolk"], tolerance_c=0.0)
    >>> round(made.logs, 1), made.low < 7 < made.high
    (8.7, True)

    References
    ----------
    J. A. Garibaldi, R. P. Straka, K. Ijichi 1969, *Applied Microbiology* 17(4):491–496, PMC377728, read in its abstract
    on 2026-11-25: D and z. M. S. Palumbo, S. M. Beers, S. Bhaduri, S. A. Palumbo 1995, *Journal of Food Protection*
    58(9):960–966, abstract: yolk from 61.1 to 64.4 °C. J. B. Gurtler, V. K. Juneja, D. R. Jones, A. Purohit 2019,
    *Journal of Food Protection*, doi:10.4315/0362-028X.JFP-18-438, abstract: heat-resistant strains, 56 to 64 °C.
    """
    if not 0 <= tolerance_c <= 5:  # noqa: PLR2004  the range the docstring states
        raise OutOfRangeError(_("the tolerance of the probe"), tolerance_c, 0.0, 5.0, "°C")
    at = (series.at_ms - series.at_ms[0]) / MS_PER_MINUTE if len(series) else np.empty(0)
    _refuse(series.celsius, medium.at_c, Z_C)
    seen = np.diff(at) <= LONGEST_GAP_MIN
    prudent = series.celsius - tolerance_c
    counted = _counted(at, prudent, seen, medium, Z_C)
    least = min(_counted(at, prudent, seen, medium, z) for z in (Z_SMALLEST_C, Z_C, Z_LARGEST_C))
    most = max(float(_parts(at, series.celsius, medium.at_c, z).sum()) for z in (Z_SMALLEST_C, Z_C, Z_LARGEST_C))
    _below, above = _shares(prudent, COUNTED_FROM_C, medium.counted_to_c)
    return CookEstimate(
        medium=medium,
        tolerance_c=tolerance_c,
        logs=log_reductions(counted, d_min=medium.d_min),
        low=log_reductions(least, d_min=medium.d_min * RESISTANT_STRAINS),
        high=log_reductions(most, d_min=medium.d_min),
        minutes=counted,
        warmer_min=float((np.diff(at) * seen * above).sum()),
        unseen_min=float(np.diff(at)[~seen].sum()),
    )


def _refuse(celsius: Array, reference_c: float, z_c: float) -> None:
    """Refuse what no kitchen can be, and a z that is none."""
    beyond = [c for c in (*np.atleast_1d(celsius).tolist(), reference_c) if not COLDEST_C <= c <= WARMEST_C]
    if beyond:
        raise OutOfRangeError(_("the temperature"), beyond[0], COLDEST_C, WARMEST_C, "°C")
    if not SMALLEST_Z_C <= z_c <= LARGEST_Z_C:
        raise OutOfRangeError("z", z_c, SMALLEST_Z_C, LARGEST_Z_C, "°C")


def _parts(at: Array, celsius: Array, reference_c: float, z_c: float) -> Array:
    """Return F of each stretch between two readings. [min]."""
    if at.shape != celsius.shape or at.ndim != 1 or bool((np.diff(at) < 0).any()):
        message = "minutes and temperatures are to pair up, in order of time"
        raise ValueError(message)
    if len(at) < 2:  # noqa: PLR2004  a stretch has two ends
        return np.zeros(0)
    return _mean_rate(celsius[:-1], celsius[1:], reference_c, z_c) * np.diff(at)


def _mean_rate(first_c: Array, last_c: Array, reference_c: float, z_c: float) -> Array:
    """Return the mean of the lethal rate along straight lines.

    L0·(e^a − 1)/a with a = ln 10·ΔT/z: the closed form, without its 0/0 where the temperature stays.
    """
    a = math.log(10) * (last_c - first_c) / z_c
    small = np.abs(a) < 1e-9  # noqa: PLR2004  (e^a − 1)/a is 1 + a/2 there, to the last digit
    mean = np.where(small, 1.0 + a / 2, np.expm1(a) / np.where(small, 1.0, a))
    return np.asarray(10.0 ** ((first_c - reference_c) / z_c) * mean)


def _counted(at: Array, celsius: Array, seen: NDArray[np.bool_], medium: EggMedium, z_c: float) -> float:
    """Return F of what was seen, between the temperatures at which egg was measured. [min]."""
    low_c, high_c = COUNTED_FROM_C, medium.counted_to_c
    inside, above = _shares(celsius, low_c, high_c)
    within = np.clip(celsius, low_c, high_c)
    whole = np.diff(at) * seen
    straight = _mean_rate(within[:-1], within[1:], medium.at_c, z_c) * inside
    flat = float(lethal_rate(high_c, reference_c=medium.at_c, z_c=z_c)) * above
    return float((whole * (straight + flat)).sum())


def _shares(celsius: Array, low_c: float, high_c: float) -> tuple[Array, Array]:
    """Return which part of each stretch runs between two levels, and which part above the upper one."""
    first, last = celsius[:-1], celsius[1:]
    rise = np.abs(last - first)
    steady = rise == 0.0
    over = np.where(steady, 1.0, rise)
    inside = np.where(
        steady,
        (first >= low_c) & (first <= high_c),
        np.abs(np.clip(last, low_c, high_c) - np.clip(first, low_c, high_c)) / over,
    )
    above = np.where(steady, first > high_c, np.abs(np.maximum(last, high_c) - np.maximum(first, high_c)) / over)
    return inside, above
