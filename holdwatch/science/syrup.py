"""Boiling sugar syrup: which share of sugar boils at which temperature, and what that makes of a stage higher up.

A syrup boils where the pressure of the water in it reaches that of the air. Sucrose binds water, so that this is
hotter than water's own boiling point; and because the bond weakens with heat, a stage does not move with altitude
as water does: at 5000 ft water boils 9.1 °F lower, hard crack 12 °F.

A thermometer tells a stage well, a share of sugar badly: published tables differ by 2.5 °C at 80 %. Real syrups hold
glucose, acid or milk besides, which move it further. Hot syrup burns worse than boiling water: see `BURN_CAUTION`.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import N_, _
from holdwatch.science.boiling import saturation_pressure_pa

__all__ = [
    "BURN_CAUTION",
    "STAGES",
    "Stage",
    "StageHere",
    "boiling_spread_c",
    "stage_at",
    "stage_here",
    "sucrose_share_pct",
    "sucrose_water_activity",
    "syrup_boiling_point_c",
]

BURN_CAUTION = N_(
    "Boiling syrup is far hotter than boiling water and sticks to the skin: long sleeves, a deep pan, nobody behind you, a bowl of cold water beside you. Burnt skin goes under cool running water for 20 minutes, then to a doctor."
)

SEA_LEVEL_PA = 101_325.0
LOWEST_PA, HIGHEST_PA = 50_000.0, 110_000.0
HIGHEST_PCT = 99.0
SUCROSE_G_MOL = 342.2965
WATER_G_MOL = 18.01528
GAS_J_MOL_K = 8.314462618
ZERO_K = 273.15
_Q_J_MOL, _A, _B = -17_638.0, -1.0038, -0.24653
_HOTTEST_C = 200.0
_HALVINGS = 42

_SPREAD = ((0.0, 0.5), (62.0, 0.5), (70.0, 1.6), (80.0, 2.6), (90.0, 6.0), (99.0, 6.0))
"""Share of sucrose in per cent, and how far other published tables are from this equation, in °C."""


@dataclass(frozen=True)
class Stage:
    """A stage of cooked sugar as a cook knows it, at sea level."""

    name: str
    low_f: float
    high_f: float
    boils: bool = True
    """Whether the syrup still boils there, so that the pressure of the air matters."""


# the stages of American extension tables; H. McGee, On Food and Cooking, 2004, prints the same to 5 °F, except that
# his thread begins at 215 °F (both read 2026-11-25)
STAGES = {
    stage.name: stage
    for stage in (
        Stage("thread", 230, 234),
        Stage("soft-ball", 234, 240),
        Stage("firm-ball", 244, 250),
        Stage("hard-ball", 250, 266),
        Stage("soft-crack", 270, 290),
        Stage("hard-crack", 300, 310),
        Stage("light-caramel", 320, 338, boils=False),
    )
}


@dataclass(frozen=True)
class StageHere:
    """A stage at the pressure of a room."""

    stage: Stage
    low_c: float
    high_c: float
    uncertainty_c: float
    """How far another way of reckoning the shift is from this one, at least 0.5 °C."""
    low_pct: float | None
    high_pct: float | None
    """Share of sucrose by weight; none where the sugar breaks down rather than boils."""


def sucrose_water_activity(sucrose_pct: float, celsius: float) -> float:
    r"""Return the water activity of sucrose in water.

    .. math:: a_w = x_w \gamma_w, \quad \ln \gamma_w = \frac{Q}{R T} x^2 (1 + a x + b x^2)

    with x the mole fraction of sucrose, x_w = 1 − x, Q = −17 638 J/mol, a = −1.0038, b = −0.24653.

    Parameters
    ----------
    sucrose_pct : float. [% by weight], 0 to 99, ends included.
    celsius : float. [°C], 0 to 200, ends included.

    Returns
    -------
    float. [–]

    Raises
    ------
    OutOfRangeError
        If either is outside its range.

    Notes
    -----
    Within 0.001 of measured solutions at 25 °C up to 67 %. Above about 96 % its authors later found the activity to
    rise again, which this form does not show.

    Examples
    --------
    >>> round(sucrose_water_activity(50, 25), 3)
    0.934

    References
    ----------
    M. Starzak and S. D. Peacock, Water activity coefficient in aqueous solutions of sucrose, *Zuckerindustrie* 122
    (1997) 380–387; constants read at cultures-sucre.com, the form from memory, checked against Robinson and Stokes.
    """
    share = _share(sucrose_pct)
    if not 0.0 <= celsius <= _HOTTEST_C:
        raise OutOfRangeError(_("the temperature of the syrup"), celsius, 0.0, _HOTTEST_C, "°C")
    sugar, water = share / SUCROSE_G_MOL, (100.0 - share) / WATER_G_MOL
    x = sugar / (sugar + water)
    bond = _Q_J_MOL / (GAS_J_MOL_K * (celsius + ZERO_K)) * x**2 * (1 + _A * x + _B * x**2)
    return (1 - x) * math.exp(bond)


def syrup_boiling_point_c(sucrose_pct: float, pressure_pa: float) -> float:
    r"""Return the temperature at which a sucrose syrup boils.

    .. math:: a_w(w, T)\, p_{sat}(T) = p

    Parameters
    ----------
    sucrose_pct : float. [% by weight], w, 0 to 99, ends included.
    pressure_pa : float. [Pa], p in the room, 50 000 to 110 000, ends included.

    Returns
    -------
    float. [°C]

    Raises
    ------
    OutOfRangeError
        If either is outside its range.

    Notes
    -----
    `boiling_spread_c` tells how far published tables are from this.

    Examples
    --------
    >>> round(syrup_boiling_point_c(0, 101_325.0), 1), round(syrup_boiling_point_c(86, 101_325.0), 1)
    (100.0, 115.3)

    References
    ----------
    `sucrose_water_activity`; p_sat from IAPWS R7-97(2012).
    """
    pressure, share = _pressure(pressure_pa), _share(sucrose_pct)
    low, high = 0.0, _HOTTEST_C
    for _halving in range(_HALVINGS):
        middle = (low + high) / 2
        if sucrose_water_activity(share, middle) * saturation_pressure_pa(middle) < pressure:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def sucrose_share_pct(celsius: float, pressure_pa: float) -> float:
    """Return the share of sucrose in a syrup that boils at a temperature: `syrup_boiling_point_c` the other way round.

    Parameters
    ----------
    celsius : float. [°C], from water's boiling point to that of a syrup of 99 %, ends included.
    pressure_pa : float. [Pa] in the room, 50 000 to 110 000, ends included.

    Returns
    -------
    float. [% by weight]

    Raises
    ------
    OutOfRangeError
        If either is outside its range.

    Examples
    --------
    >>> round(sucrose_share_pct(115.6, 101_325.0))  # 240 °F by the sea
    86

    References
    ----------
    As `syrup_boiling_point_c`.
    """
    low, high = 0.0, HIGHEST_PCT
    coldest, hottest = syrup_boiling_point_c(low, pressure_pa), syrup_boiling_point_c(high, pressure_pa)
    if not coldest <= celsius <= hottest:
        raise OutOfRangeError(_("the temperature of the boiling syrup"), celsius, coldest, hottest, "°C")
    # crossed once: where the activity does not fall (above 98 % below 82 °C) it is far below what is wanted there
    wanted = pressure_pa / saturation_pressure_pa(celsius)
    for _halving in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if sucrose_water_activity(middle, celsius) > wanted else (low, middle)
    return (low + high) / 2


def boiling_spread_c(sucrose_pct: float) -> float:
    """Return how far other published tables of boiling syrup are from `syrup_boiling_point_c`: its uncertainty.

    Parameters
    ----------
    sucrose_pct : float. [% by weight], 0 to 99, ends included.

    Returns
    -------
    float. [°C], either way.

    Raises
    ------
    OutOfRangeError
        If the share is outside that range.

    Examples
    --------
    >>> boiling_spread_c(0)
    0.5

    References
    ----------
    B. Lowe, *Experimental Cookery* (60 and 70 %, read 2026-11-25); C. A. Browne, *A Handbook of Sugar Analysis*,
    1912 (10 to 90.8 %, from memory); stage tables that put 99 % at 295 to 310 °F (read 2026-11-25). Between these
    the line is ours.
    """
    share = _share(sucrose_pct)
    for (left, at_left), (right, at_right) in pairwise(_SPREAD):
        if share <= right:
            return at_left + (at_right - at_left) * (share - left) / (right - left)
    return _SPREAD[-1][1]


def stage_here(name: str, pressure_pa: float) -> StageHere:
    """Return a stage of cooked sugar at the pressure of a room: the same share of sugar, boiling there.

    Parameters
    ----------
    name : str. One of `STAGES`.
    pressure_pa : float. [Pa] in the room, 50 000 to 110 000, ends included.

    Returns
    -------
    StageHere
        Its ends. The uncertainty is the distance to a second reckoning, in which the bond of sugar and water does
        not weaken with heat (a_w constant), at least 0.5 °C.

    Raises
    ------
    ConfigError
        If there is no stage of that name.
    OutOfRangeError
        If the pressure is outside its range.

    Notes
    -----
    Caramel is no boiling point: there the sugar breaks down, at the same temperature at every altitude.

    Examples
    --------
    >>> here = stage_here("soft-ball", 101_325.0)
    >>> round(here.low_c, 1), round(here.high_c, 1)
    (112.2, 115.6)

    References
    ----------
    Stages as in American extension tables and, to 5 °F, in H. McGee, *On Food and Cooking*, 2004; the shift by
    `syrup_boiling_point_c`.
    """
    stage = STAGES.get(name)
    if stage is None:
        raise ConfigError(_("{name!r} is no stage; they are {known}").format(name=name, known=", ".join(STAGES)))
    _pressure(pressure_pa)
    ends = [(degrees_f - 32) / 1.8 for degrees_f in (stage.low_f, stage.high_f)]
    if not stage.boils:
        return StageHere(stage, ends[0], ends[1], 3.0, None, None)
    shares = [sucrose_share_pct(end, SEA_LEVEL_PA) for end in ends]
    here = [syrup_boiling_point_c(share, pressure_pa) for share in shares]
    other = _constant_activity_c(ends[1], pressure_pa)
    return StageHere(stage, here[0], here[1], max(0.5, abs(other - here[1])), shares[0], shares[1])


def stage_at(celsius: float, pressure_pa: float) -> StageHere | None:
    """Return the stage that a boiling syrup is in, or ``None`` between stages and below the first.

    Parameters
    ----------
    celsius : float. [°C] of the syrup, as the thermometer shows it in this room.
    pressure_pa : float. [Pa] in the room, 50 000 to 110 000, ends included.

    Returns
    -------
    StageHere or None
        Where two stages meet, the later one.

    Raises
    ------
    OutOfRangeError
        If the pressure is outside its range.

    Examples
    --------
    >>> stage_at(115.0, 101_325.0).stage.low_f
    234

    References
    ----------
    As `stage_here`.
    """
    within = [here for here in (stage_here(name, pressure_pa) for name in STAGES) if _holds(here, celsius)]
    return within[-1] if within else None


def _holds(here: StageHere, celsius: float) -> bool:
    slack = 1e-6
    return here.low_c - slack <= celsius <= here.high_c + slack


def _constant_activity_c(sea_level_c: float, pressure_pa: float) -> float:
    """Return where a syrup would boil if its water activity were the same as at sea level."""
    wanted = saturation_pressure_pa(sea_level_c) * pressure_pa / SEA_LEVEL_PA
    low, high = 0.0, _HOTTEST_C + 50
    for _halving in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if saturation_pressure_pa(middle) < wanted else (low, middle)
    return (low + high) / 2


def _share(sucrose_pct: float) -> float:
    if not 0.0 <= sucrose_pct <= HIGHEST_PCT:
        raise OutOfRangeError(_("the share of sugar"), sucrose_pct, 0.0, HIGHEST_PCT, "%")
    return sucrose_pct


def _pressure(pressure_pa: float) -> float:
    if not LOWEST_PA <= pressure_pa <= HIGHEST_PA:
        raise OutOfRangeError(_("the pressure"), pressure_pa / 100, LOWEST_PA / 100, HIGHEST_PA / 100, "hPa")
    return pressure_pa
