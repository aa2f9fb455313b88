"""Foods that a pastry kitchen cools: what they are made of, and how heat runs through them."""

import re
from dataclasses import dataclass

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import N_, _, decimals
from holdwatch.measures import percent
from holdwatch.science.properties import Makeup, Properties, thermal_properties

__all__ = ["FOODS", "Food", "properties_of", "read_food", "read_makeup"]

MIDDLE_C = 35.0
"""Between hot and cold: over the whole way the properties differ from those here by 2 %."""

_MAY_BE_LIQUID = 3.0
_FROM_MEMORY = N_("composition of a usual recipe from US Department of Agriculture tables, from memory")
_CRUMB = N_(
    "density and conductivity of the order that Sweat (ASHRAE RP-341, 1985) measured for yellow cake, from memory: weigh yours; heat capacity from composition"
)


@dataclass(frozen=True)
class Food:
    """A food, and by which share of itself each property may be off."""

    title: str
    makeup: Makeup
    source: str
    turns_over: float = 1.0
    """Of a liquid: by what its conductivity may be multiplied, because warm food rises in it. Ours."""
    stirs: bool = False
    """It can be stirred while it cools, without harm."""
    density_kg_m3: float | None = None
    """Measured, where there is air in it."""
    conductivity_w_mk: float | None = None
    conductivity_off: float = 0.10
    """Ours, from the spread of models for unfrozen foods without pores (Carson 2006, abstract: within ±10 %)."""
    capacity_off: float = 0.10
    """From printed values of egg and yolk, which are 10 to 13 % off (Geankoplis, table A.4-1)."""


FOODS = {
    "pastry-cream": Food(N_("pastry cream"), Makeup(0.66, 0.045, 0.065, 0.222, 0.0, 0.008), _FROM_MEMORY, stirs=True),
    "custard-sauce": Food(
        N_("custard sauce"), Makeup(0.68, 0.04, 0.12, 0.153, 0.0, 0.007), _FROM_MEMORY, 3.0, stirs=True
    ),
    "curd": Food(N_("fruit curd"), Makeup(0.42, 0.045, 0.20, 0.33, 0.0, 0.005), _FROM_MEMORY, stirs=True),
    "milk": Food(N_("milk"), Makeup(0.881, 0.0315, 0.0325, 0.048, 0.0, 0.007), _FROM_MEMORY, 10.0, stirs=True),
    "cream": Food(N_("cream"), Makeup(0.577, 0.021, 0.37, 0.027, 0.0, 0.005), _FROM_MEMORY, 5.0, stirs=True),
    "baked-custard": Food(N_("baked custard"), Makeup(0.787, 0.05, 0.047, 0.11, 0.0, 0.006), _FROM_MEMORY),
    "cheesecake": Food(N_("cheesecake"), Makeup(0.455, 0.055, 0.225, 0.253, 0.0, 0.012), _FROM_MEMORY),
    "sponge": Food(
        N_("sponge cake"),
        Makeup(0.30, 0.07, 0.05, 0.56, 0.01, 0.01),
        _CRUMB,
        density_kg_m3=260.0,
        conductivity_w_mk=0.10,
        conductivity_off=0.35,
        capacity_off=0.30,
    ),
    "butter-cake": Food(
        N_("butter cake"),
        Makeup(0.25, 0.055, 0.17, 0.50, 0.01, 0.015),
        _CRUMB,
        density_kg_m3=350.0,
        conductivity_w_mk=0.11,
        conductivity_off=0.35,
        capacity_off=0.30,
    ),
}
"""By the word of the command line."""

_PART = re.compile(r"\s*(?P<name>[a-z]+)\s*[ =:]\s*(?P<share>[\d.]+\s*%?)\s*", re.IGNORECASE)
_NAMES = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")


def read_food(text: str) -> Food:
    """Read the name of a food, or what one is made of: ``water 66, protein 4.5, fat 6.5, …`` in per cent.

    Raises
    ------
    ConfigError
        If it is neither.
    """
    word = text.strip().lower().replace(" ", "-")
    if word in FOODS:
        return FOODS[word]
    if not any(character.isdigit() for character in text):
        raise ConfigError(
            _("{text!r} is no food known here; write one of: {known}; or what it is made of").format(
                text=text, known=", ".join(FOODS)
            )
        )
    return Food(N_("the food described"), read_makeup(text), N_("composition as given"), _MAY_BE_LIQUID, stirs=True)


def read_makeup(text: str) -> Makeup:
    """Read what a food is made of: per cent of the weight of each part; what is not named is 0.

    Raises
    ------
    ConfigError
        If a part is unknown, twice there or no share, or they do not add up to 100.
    """
    shares: dict[str, float] = {}
    for part in text.split(","):
        match = _PART.fullmatch(part)
        name = match["name"].lower().replace("fiber", "fibre") if match else ""
        if match is None or name not in _NAMES or name in shares:
            raise ConfigError(
                _("{part!r} is no part of a food: write water 66, protein 4.5, {known} …").format(
                    part=part.strip(), known=", ".join(_NAMES[2:])
                )
            )
        shares[name] = percent(match["share"]) / 100
    try:
        return Makeup(**shares)
    except OutOfRangeError as exc:
        total = 100 * sum(shares.values())
        raise ConfigError(
            _("the parts of the food add up to {total} %, not to 100 %: {text!r}").format(
                total=decimals(f"{total:g}"), text=text.strip()
            )
        ) from exc


def properties_of(food: Food) -> Properties:
    """Return what conduction depends on: from the composition, or measured where there is air in it."""
    made = thermal_properties(food.makeup, MIDDLE_C)
    return Properties(
        food.density_kg_m3 or made.density_kg_m3,
        made.heat_capacity_j_kgk,
        food.conductivity_w_mk or made.conductivity_w_mk,
    )
