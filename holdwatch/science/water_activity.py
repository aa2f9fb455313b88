"""Water activity of sugared mixtures, reckoned in three ways; how far they differ is the uncertainty.

Everything here takes what is dissolved in the water of a food, not the food: fat, starch, protein and undissolved
crystals do not count. What the methods do not know is left out, which makes the estimate too high, that is, towards
"needs control". An estimate is no measurement: a laboratory measures water activity in an hour.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import _, decimals

__all__ = [
    "SOLUTES",
    "SUCROSE_SOLUBILITY",
    "Estimate",
    "Solute",
    "estimate_water_activity",
    "money_born_water_activity",
    "norrish_water_activity",
    "ross_water_activity",
]

WATER_G_MOL = 18.01528
LOWEST = 0.80
"""Where the methods end. Norrish's constants were fitted above 0.85; down to 0.80 that of sucrose holds to 0.003."""
SURE = 0.85
"""Where the constants were fitted, and how low an estimate goes."""
MARGIN = 0.01
"""Ross's method was found within 0.01 in nearly all of 120 mixtures; no estimate here claims to be better."""
WATER_SHARE = 0.05
"""How far the water of a recipe may be off: ingredients, evaporation, scales. No source: our estimate."""
SUCROSE_SOLUBILITY = 2.039
"""Grams of sucrose that a gram of water dissolves at 20 °C: F. A. Mohos, *Confectionery and Chocolate Engineering*,
2010, table A2.2. At 25 °C it is 2.114; the cooler figure gives the higher, more careful estimate."""


@dataclass(frozen=True)
class Solute:
    """What is dissolved: its molar mass, and how it holds water back."""

    name: str
    g_mol: float
    norrish_k: float
    sugar: bool
    """Whether the method of Money and Born, made for sugars, counts it."""
    source: str


_BAEZA = "Norrish's constant as accepted in R. Baeza and others, Food Bioprocess Technol. 3 (2010) 87–92"
SOLUTES = {
    each.name: each
    for each in (
        Solute("sucrose", 342.2965, 6.47, sugar=True, source=_BAEZA),
        Solute("glucose", 180.156, 2.25, sugar=True, source=f"{_BAEZA}; the figure from memory"),
        Solute("fructose", 180.156, 2.15, sugar=True, source=_BAEZA),
        Solute("glycerol", 92.094, 1.16, sugar=False, source=_BAEZA),
    )
}


@dataclass(frozen=True)
class Estimate:
    """What three methods make of one mixture."""

    norrish: float | None
    ross: float | None
    money_born: float | None
    estimate: float | None
    """Their mean; none where they end."""
    low: float
    high: float
    undissolved_g: float
    """Sucrose that the water does not dissolve at 20 °C, and that therefore was not counted."""
    reason: str
    """Why there is no estimate, or what the range rests on."""


def norrish_water_activity(grams: Mapping[str, float], water_g: float) -> float:
    r"""Return the water activity of a solution after Norrish.

    .. math:: a_w = x_w \exp\left(-\sum_i K_i x_i^2\right)

    Parameters
    ----------
    grams : mapping of name of a solute in `SOLUTES` to float. [g], each 0 or more.
    water_g : float. [g], above 0.

    Returns
    -------
    float. [–]

    Raises
    ------
    OutOfRangeError
        If the result is below 0.80, where the constants do not hold, or a weight is negative.
    ConfigError
        If a solute is unknown.

    Notes
    -----
    The sum is the form for mixtures in general use; another squares the sum of √K x, which for 100 g sucrose and
    30 g glucose in 100 g water gives 0.899 instead of 0.908.

    Examples
    --------
    >>> round(norrish_water_activity({"sucrose": 100.0, "glucose": 30.0}, 100.0), 3)
    0.908

    References
    ----------
    R. S. Norrish, *J. Food Technol.* 1 (1966) 25–39; R. Baeza and others, *Food Bioprocess Technol.* 3 (2010) 87–92.
    """
    moles = _moles(grams, water_g)
    total = sum(moles.values()) + water_g / WATER_G_MOL
    held = sum(SOLUTES[name].norrish_k * (n / total) ** 2 for name, n in moles.items())
    return _in_range((water_g / WATER_G_MOL / total) * math.exp(-held), "Norrish")


def ross_water_activity(grams: Mapping[str, float], water_g: float) -> float:
    r"""Return the water activity of a solution after Ross: each solute alone in all the water, multiplied.

    .. math:: a_w = \prod_i a_{w,i}

    Parameters
    ----------
    grams : mapping of name of a solute in `SOLUTES` to float. [g], each 0 or more.
    water_g : float. [g], above 0.

    Returns
    -------
    float. [–]

    Raises
    ------
    OutOfRangeError
        If the result is below 0.80, or a weight is negative.
    ConfigError
        If a solute is unknown.

    Examples
    --------
    >>> round(ross_water_activity({"sucrose": 100.0, "glucose": 30.0}, 100.0), 3)
    0.906

    References
    ----------
    K. D. Ross, Estimation of water activity in intermediate moisture foods, *Food Technol.* 29(3) (1975) 26–34; each
    solute alone by `norrish_water_activity`.
    """
    alone = (norrish_water_activity({name: weight}, water_g) for name, weight in grams.items())
    return _in_range(math.prod(alone), "Ross")


def money_born_water_activity(grams: Mapping[str, float], water_g: float) -> float:
    r"""Return the water activity of a solution of sugars after Money and Born.

    .. math:: a_w = \frac{1}{1 + 0.27 n}

    with n the moles of sugars in 100 g of water.

    Parameters
    ----------
    grams : mapping of name of a solute in `SOLUTES` to float. [g], each 0 or more; only sugars count.
    water_g : float. [g], above 0.

    Returns
    -------
    float. [–]

    Raises
    ------
    OutOfRangeError
        If the result is below 0.80, or a weight is negative.
    ConfigError
        If a solute is unknown.

    Examples
    --------
    >>> round(money_born_water_activity({"sucrose": 100.0}, 100.0), 3)
    0.927

    References
    ----------
    R. W. Money and R. Born, Equilibrium humidity of sugar solutions, *J. Sci. Food Agric.* 2 (1951) 180–185; the
    equation as handed down in confectionery texts.
    """
    sugars = sum(n for name, n in _moles(grams, water_g).items() if SOLUTES[name].sugar)
    return _in_range(1 / (1 + 0.27 * sugars * 100 / water_g), "Money and Born")


def estimate_water_activity(grams: Mapping[str, float], water_g: float) -> Estimate:
    """Return what the three methods make of a mixture, and the range that holds them.

    Sucrose beyond what the water dissolves at 20 °C is not counted: crystals do not hold water back. The range goes
    from the lowest to the highest method, with 5 % more and less water, and 0.01 beyond.

    Parameters
    ----------
    grams : mapping of name of a solute in `SOLUTES` to float. [g], each 0 or more.
    water_g : float. [g], above 0.

    Returns
    -------
    Estimate
        Where a method ends (below 0.80), no estimate but only what it is at most: 0.86, or more where another method
        says more.

    Raises
    ------
    OutOfRangeError
        If a weight is negative, or there is no water.
    ConfigError
        If a solute is unknown.

    Examples
    --------
    >>> made = estimate_water_activity({"sucrose": 100.0}, 100.0)
    >>> round(made.estimate, 2)
    0.93

    References
    ----------
    Those of the three methods; solubility of sucrose from F. A. Mohos, *Confectionery and Chocolate Engineering*,
    2010, table A2.2.
    """
    _moles(grams, water_g)
    sucrose = grams.get("sucrose", 0.0)
    dissolved = {**grams, "sucrose": min(sucrose, SUCROSE_SOLUBILITY * water_g)}
    left = sucrose - dissolved["sucrose"]
    methods = (norrish_water_activity, ross_water_activity, money_born_water_activity)
    named = [_or_none(method, dissolved, water_g) for method in methods]
    # more water dissolves more of what was left, up to the same solution
    around = [
        _or_none(method, {**grams, "sucrose": min(sucrose, SUCROSE_SOLUBILITY * water)}, water)
        for method in methods
        for water in (water_g * (1 - WATER_SHARE), water_g * (1 + WATER_SHARE))
    ]
    norrish, ross, money_born = named
    known = [value for value in (*named, *around) if value is not None]
    if norrish is None or ross is None or money_born is None:
        high = max([SURE, *known]) + MARGIN
        reason = _("more is dissolved than the methods cover: they end at {end}").format(end=decimals(f"{LOWEST:g}"))
        return Estimate(norrish, ross, money_born, None, 0.0, high, left, reason)
    low = 0.0 if len(known) < len(named) + len(around) else min(known) - MARGIN
    high = min(max(known) + MARGIN, 1.0)
    mean = (norrish + ross + money_born) / len(named)
    reason = _("the spread of three methods, with 5 % more and less water, and {beyond} beyond").format(
        beyond=decimals("0.01")
    )
    return Estimate(norrish, ross, money_born, mean, low, high, left, reason)


def _or_none(
    method: Callable[[Mapping[str, float], float], float], grams: Mapping[str, float], water_g: float
) -> float | None:
    try:
        return method(grams, water_g)
    except OutOfRangeError:
        return None


def _moles(grams: Mapping[str, float], water_g: float) -> dict[str, float]:
    if not 0 < water_g < math.inf:
        raise OutOfRangeError(_("the water"), water_g, 0, math.inf, "g")
    for name, weight in grams.items():
        if name not in SOLUTES:
            raise ConfigError(
                _("{name!r} is no solute that the methods know; they know {known}").format(
                    name=name, known=", ".join(SOLUTES)
                )
            )
        if not 0 <= weight < math.inf:
            raise OutOfRangeError(_("the weight of {name}").format(name=name), weight, 0, math.inf, "g")
    return {name: weight / SOLUTES[name].g_mol for name, weight in grams.items()}


def _in_range(value: float, method: str) -> float:
    if not LOWEST <= value <= 1:
        raise OutOfRangeError(_("the water activity after {method}").format(method=method), value, LOWEST, 1, "")
    return value
