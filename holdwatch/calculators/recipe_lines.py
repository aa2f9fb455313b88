"""A recipe as people write it: one ingredient a line, with its weight, and with what its label says where need be.

::

    powdered sugar = 454 g
    butter = 227 g
    raspberry jam = 80 g; water 30 %; sucrose 35 %; glucose 12 %; fructose 12 %
"""

from collections.abc import Iterable

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.measures import grams, percent
from holdwatch.science.recipe import Composition, Ingredient, find_ingredient
from holdwatch.science.water_activity import SOLUTES

__all__ = ["STATED", "read_lines"]

STATED = "as stated in the recipe"
_WHOLE_PCT = 100.0
_PARTS = ("water", *SOLUTES)


def read_lines(lines: Iterable[str]) -> list[Ingredient]:
    """Read a recipe; empty lines and what follows a ``#`` are passed over.

    Raises
    ------
    ConfigError
        If a line is no ingredient with a weight, or one is in no table and its parts are not stated.
    """
    found = []
    for number, line in enumerate(lines, start=1):
        text = line.partition("#")[0].strip()
        if not text:
            continue
        try:
            found.append(_read(text))
        except ConfigError as exc:
            raise ConfigError(_("line {number} of the recipe: {exc}").format(number=number, exc=exc)) from None
    return found


def _read(text: str) -> Ingredient:
    name, equals, rest = text.partition("=")
    plain = " ".join(name.split())
    if not equals or not plain:
        raise ConfigError(_("{text!r} is no ingredient with a weight, such as 'butter = 227 g'").format(text=text))
    weight, *parts = (part.strip() for part in rest.split(";"))
    return Ingredient(_stated(plain, parts) if any(parts) else find_ingredient(plain), grams(weight))


def _stated(name: str, parts: list[str]) -> Composition:
    """Read what a label says; what it does not name counts as nothing dissolved."""
    shares: dict[str, float] = {}
    for part in filter(None, parts):
        word, _space, share = part.partition(" ")
        if word.lower() not in _PARTS:
            raise ConfigError(
                _("{part!r} is no part of {name}: write one of {known}, such as 'water 30%'").format(
                    part=part, name=name, known=", ".join(_PARTS)
                )
            )
        if word.lower() in shares:
            raise ConfigError(_("{word} of {name} is stated twice").format(word=word.lower(), name=name))
        shares[word.lower()] = _share(share)
    if "water" not in shares:
        raise ConfigError(_("how much water is in {name}? Add '; water 30%'").format(name=name))
    water = shares.pop("water")
    return Composition(name, water, STATED, **shares)


def _share(text: str) -> float:
    """Read a share of the weight, 0 to 100 %."""
    share = percent(text)
    if not 0 <= share <= _WHOLE_PCT:
        raise ConfigError(_("{text!r} is no share of a weight: write 0% to 100%").format(text=text.strip()))
    return share
