"""How much bacteria may have grown while food was too warm: for a manager's review afterwards, and for nothing else.

Published secondary models give a rate at a temperature; the record of the food gives the temperatures. What comes out is
how much worse a deviation got while it lasted. It is no permission to keep food: the bacteria, the food and the beginning
are not those of the laboratory, and a toxin stays when its bacteria are gone.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import OutOfRangeError
from holdwatch.language import _
from holdwatch.readings import Series

__all__ = [
    "MODELS",
    "Growth",
    "GrowthModel",
    "growth_over",
    "s_aureus_rate",
    "salmonella_egg_rate",
    "salmonella_yolk_rate",
]

Array = NDArray[np.float64]

COLDEST_C = -60.0
LONGEST_GAP_MIN = 20.0
"""Ours: what the food did between readings further apart is not known; it is counted along a straight line, and told."""

_EGG_B, _EGG_MIN_C = 0.0214, 5.30841  # √(log10 CFU/g/h) per °C, °C; Oh et al. 2023, table 2
_EGG_TO_C = 37.0
"""Ours: the range of the data behind the egg model was not seen; 37 °C is the warmest at which the yolk was observed."""
_YOLK_C = np.array([15.0, 22.0, 37.0])
_YOLK_RATE = np.array([0.114, 0.325, 0.842])  # McWhorter et al. 2015, table 1, egg yolk, all isolates
_AUREUS_MIN_C, _AUREUS_OPT_C, _AUREUS_MAX_C = 7.7, 40.6, 46.7  # Medveďová et al. 2019, abstract
_AUREUS_OPT_PER_H = 1.97  # 1/h, natural logarithm
_AUREUS_TO_C = 50.0
_STEP_C = 0.25


@dataclass(frozen=True)
class GrowthModel:
    """A published rate of growth, and where it holds."""

    name: str
    title: str
    rate: Callable[[ArrayLike], Array]
    """Of °C, in decimal steps an hour."""
    from_c: float
    to_c: float
    source: str
    limits: str


@dataclass(frozen=True)
class Growth:
    """What a model makes of a record."""

    model: GrowthModel
    steps: float
    """Decimal steps (tenfold each)."""
    uncovered_min: float
    """Time at temperatures of which the source says nothing; it counts nothing."""
    unseen_min: float
    """Time between readings too far apart; counted along a straight line."""


def salmonella_egg_rate(celsius: ArrayLike) -> Array:
    r"""Return how fast Salmonella grows in egg.

    .. math:: r = (0.0214\,(T - 5.30841))^2 \text{ above } 5.30841\ °C, \text{ else } 0

    Parameters
    ----------
    celsius : float or array, shape (n,). [°C], −60 to 37, ends included.

    Returns
    -------
    float array, shape (n,). [log10 per hour]

    Raises
    ------
    OutOfRangeError
        If a temperature is outside that range; its upper end is ours.

    Notes
    -----
    R² 0.898 and 0.922 by the source, in egg, without lag phase here, so that nothing is made smaller than it may be.

    Examples
    --------
    >>> float(salmonella_egg_rate(20.0).round(3))
    0.099

    References
    ----------
    H. Oh, Y. Yoon, J. W. Yoon, S.-W. Oh, S. Lee, H. Lee 2023, *Journal of Animal Science and Technology* 65(5):1024,
    table 2, read on 2026-11-25. Form: D. A. Ratkowsky et al. 1982, *Journal of Bacteriology* 149:1–5 (from memory).
    """
    values = _within(celsius, COLDEST_C, _EGG_TO_C)
    return np.asarray((_EGG_B * np.maximum(values - _EGG_MIN_C, 0.0)) ** 2)


def salmonella_yolk_rate(celsius: ArrayLike) -> Array:
    r"""Return how fast Salmonella was seen to grow in yolk, between the temperatures at which it was observed.

    Straight in :math:`\sqrt{r}` between 15, 22 and 37 °C.

    Parameters
    ----------
    celsius : float or array, shape (n,). [°C], 15 to 37, ends included.

    Returns
    -------
    float array, shape (n,). [log10 per hour]

    Raises
    ------
    OutOfRangeError
        If a temperature is outside that range.

    Notes
    -----
    The table gives "CFU/mL/h", which may be steps of ten or of e. The faster reading, steps of ten, is taken.

    Examples
    --------
    >>> salmonella_yolk_rate([15.0, 22.0, 37.0]).round(3).tolist()
    [0.114, 0.325, 0.842]

    References
    ----------
    A. R. McWhorter, D. Davos, K. K. Chousalkar 2015, *BioMed Research International*, 914987, table 1, read on
    2026-11-25.
    """
    values = _within(celsius, float(_YOLK_C[0]), float(_YOLK_C[-1]))
    return np.asarray(np.interp(values, _YOLK_C, np.sqrt(_YOLK_RATE)) ** 2)


def s_aureus_rate(celsius: ArrayLike) -> Array:
    r"""Return how fast Staphylococcus aureus grows where nothing but the temperature holds it back.

    .. math:: \mu = \mu_{opt} \frac{(T - T_{max})(T - T_{min})^2}{(T_{opt} - T_{min})[(T_{opt} - T_{min})(T - T_{opt})
              - (T_{opt} - T_{max})(T_{opt} + T_{min} - 2T)]}

    between 7.7 and 46.7 °C, 0 outside; in decimal steps μ/ln 10.

    Parameters
    ----------
    celsius : float or array, shape (n,). [°C], −60 to 50, ends included.

    Returns
    -------
    float array, shape (n,). [log10 per hour]

    Raises
    ------
    OutOfRangeError
        If a temperature is outside that range.

    Notes
    -----
    Strain 2064 in broth of high water activity; 247 growth data from 8 to 50 °C, root mean square error 0.071. Sugar and
    acid slow it, which is not counted. Its toxin forms with it and is not undone by heat.

    Examples
    --------
    >>> float((s_aureus_rate(40.6) * math.log(10)).round(2))
    1.97

    References
    ----------
    A. Medveďová, A. Havlíková, V. Lehotová, Ľ. Valík 2019, *Italian Journal of Food Safety* 8:8287, PMC6912147, abstract,
    read on 2026-11-25. Form: L. Rosso, J. R. Lobry, J. P. Flandrois 1993, *Journal of Theoretical Biology* 162:447–463
    (from memory).
    """
    values = _within(celsius, COLDEST_C, _AUREUS_TO_C)
    t = np.clip(values, _AUREUS_MIN_C, _AUREUS_MAX_C)  # outside the cardinal temperatures the model says: no growth
    low, best, high = _AUREUS_MIN_C, _AUREUS_OPT_C, _AUREUS_MAX_C
    below = (best - low) * ((best - low) * (t - best) - (best - high) * (best + low - 2 * t))
    return np.asarray(_AUREUS_OPT_PER_H * (t - high) * (t - low) ** 2 / below / math.log(10))


MODELS = (
    GrowthModel(
        "salmonella-egg",
        "Salmonella in egg",
        salmonella_egg_rate,
        COLDEST_C,
        _EGG_TO_C,
        "Oh et al. 2023, J Anim Sci Technol 65(5):1024, table 2",
        "egg, to 37 °C; without a lag phase",
    ),
    GrowthModel(
        "salmonella-yolk",
        "Salmonella in yolk",
        salmonella_yolk_rate,
        float(_YOLK_C[0]),
        float(_YOLK_C[-1]),
        "McWhorter et al. 2015, BioMed Res Int 914987, table 1",
        "yolk, 15 to 37 °C; of two readings of its unit the faster one",
    ),
    GrowthModel(
        "s-aureus",
        "Staphylococcus aureus",
        s_aureus_rate,
        COLDEST_C,
        _AUREUS_TO_C,
        "Medveďová et al. 2019, Ital J Food Saf 8:8287, abstract",
        "broth without sugar or acid, to 50 °C; without a lag phase",
    ),
)
"""The models that are asked, each with where it holds."""


def growth_over(series: Series, model: GrowthModel) -> Growth:
    r"""Return how much a model lets bacteria grow over a record of the food's temperature.

    .. math:: n = \int r(T(t))\,dt

    along straight lines between readings, in steps of a quarter of a degree at most.

    Parameters
    ----------
    series : Series. [ms, °C], of the food.
    model : GrowthModel, one of `MODELS`.

    Returns
    -------
    Growth

    Raises
    ------
    OutOfRangeError
        If a reading is outside −60 to 300 °C.

    Notes
    -----
    What is outside the range of the model counts nothing and is told; growth never ends for want of food or room.

    Examples
    --------
    Two hours at 37 °C, by the faster reading of the table:

    >>> record = Series(np.arange(0, 2 * 3_600_001, 600_000), np.full(13, 37.0))
    >>> round(growth_over(record, MODELS[1]).steps, 3)
    1.684

    References
    ----------
    As the models.
    """
    _within(series.celsius, COLDEST_C, 300.0)
    steps = uncovered = 0.0
    gaps = np.diff(series.at_ms)
    for first, last, gap in zip(series.celsius[:-1].tolist(), series.celsius[1:].tolist(), gaps.tolist(), strict=True):
        parts = max(1, math.ceil(abs(last - first) / _STEP_C))
        middles = first + (np.arange(parts) + 0.5) / parts * (last - first)
        covered = (middles >= model.from_c) & (middles <= model.to_c)
        steps += float(model.rate(middles[covered]).sum()) / parts * gap / MS_PER_HOUR
        uncovered += float((~covered).sum()) / parts * gap / MS_PER_MINUTE
    unseen = float(gaps[gaps > LONGEST_GAP_MIN * MS_PER_MINUTE].sum()) / MS_PER_MINUTE
    return Growth(model, steps, uncovered, unseen)


def _within(celsius: ArrayLike, low: float, high: float) -> Array:
    """Return temperatures that a source covers, or refuse them."""
    values = np.asarray(celsius, dtype=np.float64)
    beyond = np.atleast_1d(values)[~np.atleast_1d((values >= low) & (values <= high))]
    if len(beyond):
        raise OutOfRangeError(_("the temperature"), float(beyond[0]), low, high, "°C")
    return values
