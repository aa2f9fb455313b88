"""The water activity of a filling or frosting from its recipe, held against tables A and B with its uncertainty."""

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.calculators.tcs import DONE, Measured, between
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, decimals
from holdwatch.rules.tcs import TABLE_A, TABLE_B, Control, Heated
from holdwatch.science.recipe import INGREDIENTS, Ingredient, Mixture, mix
from holdwatch.science.water_activity import LOWEST, Estimate, estimate_water_activity

__all__ = ["water_answer"]

CAUTION = N_(
    "An estimate clears no food: where a table says that it is not TCS food, have the water activity and the pH measured before you rely on it. Cream, fruit and crumb that weep, sugar that is not yet dissolved, and the place where filling and cake meet are wetter than the reckoning. Your authority decides."
)
FEW_SUGARS_PCT = 65.0
"""K. Blakeslee, Kansas State University Extension, MF3544: of about fifty frostings that were measured."""
_HIGHEST_PH = (Decimal(14), Decimal(14))
_SOLUTES = {
    "sucrose": N_("sucrose"),
    "glucose": N_("glucose"),
    "fructose": N_("fructose"),
    "glycerol": N_("glycerol"),
}
_UNKNOWN = ("memory", "estimate")


def water_answer(
    recipe: Sequence[Ingredient],
    *,
    final_g: float | None = None,
    ph: Measured | None = None,
    heated: Heated | None = None,
) -> Answer:
    """Return what three methods make of a recipe, and what the tables say of the whole range.

    Parameters
    ----------
    recipe : sequence of Ingredient
    final_g : float, optional. [g] that it weighs when it is done, where water has boiled away.
    ph : Measured, optional. Without it the column of the highest pH is taken.
    heated : Heated, optional. Without it every way of making is told.

    Raises
    ------
    ConfigError
        If the recipe is empty or has no water, or more has boiled away than there was.
    OutOfRangeError
        If a weight or a share cannot be, or pH is outside 0 to 14.
    """
    made = mix(recipe, final_g)
    if made.water_g <= 0:
        raise ConfigError(_("there is no water in the recipe: without water there is no water activity to reckon"))
    found = estimate_water_activity(made.solutes_g, made.water_g)
    ends = _outward(found)
    acid = _HIGHEST_PH if ph is None else ph.ends(Decimal(14))
    asked = [heated] if heated is not None else list(Heated)
    told = {each: between(acid, ends, each) for each in asked}
    return Answer(
        says=_says(found, ends),
        basis=Basis(
            formula=_(
                "Norrish: aw = xw · exp(−Σ K x²); Ross: aw = Π aw of each alone; Money and Born: aw = 1/(1 + {factor} n)"
            ).format(factor=decimals("0.27")),
            covers=_("water with sucrose, glucose, fructose and glycerol, down to {end}, at room temperature").format(
                end=decimals(f"{LOWEST:g}")
            ),
            error=_("the spread of the three, with 5 % more and less water, and {beyond} beyond").format(
                beyond=decimals("0.01")
            ),
            source="J. Food Technol. 1 (1966) 25; Food Technol. 29(3) (1975) 26; J. Sci. Food Agric. 2 (1951) 180; "
            + _("tables: {tables}").format(tables=f"{TABLE_A.source}; {TABLE_B.source}"),
        ),
        heads=(_("The food is"), _("Table"), _("It says")),
        rows=tuple((_(DONE[each]), _name(each), _told(*told[each])) for each in asked),
        notes=(*_notes(recipe, made, found, ph), *_few_sugars(made, told)),
        caution=_(CAUTION),
        data={**_numbers(made, found), **_tables(ph, told)},
    )


def _outward(found: Estimate) -> tuple[Decimal, Decimal]:
    """Return the range in thousandths, rounded away from the middle, so that rounding never clears a food."""
    low, high = math.floor(found.low * 1000 + 1e-6), math.ceil(found.high * 1000 - 1e-6)
    return Decimal(max(low, 0)) / 1000, Decimal(min(high, 1000)) / 1000


def _says(found: Estimate, ends: tuple[Decimal, Decimal]) -> str:
    if found.estimate is None:
        return _("Water activity at most {most}; {reason}.").format(
            most=decimals(f"{ends[1]:.3f}"), reason=found.reason
        )
    return _("Water activity about {estimate}, between {low} and {high}.").format(
        estimate=decimals(f"{found.estimate:.2f}"), low=decimals(f"{ends[0]:.3f}"), high=decimals(f"{ends[1]:.3f}")
    )


def _told(control: Control, one_answer: bool) -> str:
    if control is Control.NOT_TCS:
        return _("not TCS food by the table, if measurements confirm the estimate")
    return (
        _("product assessment needed")
        if one_answer
        else _("within its uncertainty of a boundary: product assessment needed")
    )


def _name(heated: Heated) -> str:
    return TABLE_A.name if heated is Heated.AND_PACKAGED else TABLE_B.name


def _notes(recipe: Sequence[Ingredient], made: Mixture, found: Estimate, ph: Measured | None) -> list[str]:
    methods = {"Norrish": found.norrish, "Ross": found.ross, "Money and Born": found.money_born}
    shown = ", ".join(
        f"{name} {_('ends') if value is None else decimals(f'{value:.3f}')}" for name, value in methods.items()
    )
    solved = ", ".join(f"{grams:.0f} g {_(_SOLUTES[name])}" for name, grams in made.solutes_g.items() if grams > 0)
    held = _("In {total} g there are {water} g of water and {solutes}.").format(
        total=f"{made.total_g:.0f}", water=f"{made.water_g:.0f}", solutes=solved or _("no sugar")
    )
    notes = [f"{shown}.", held]
    if found.undissolved_g > 0:
        notes.append(
            _("{grams} g of the sugar stay undissolved at 20 °C and do not count.").format(
                grams=f"{found.undissolved_g:.0f}"
            )
        )
    if ph is None:
        notes.append(_("Without a pH the column of the highest pH is taken."))
    doubtful = [each.composition.name for each in recipe if _doubtful(each)]
    if doubtful:
        notes.append(
            _("Not read from a table: {names}. State what the label says.").format(
                names=", ".join(dict.fromkeys(doubtful))
            )
        )
    return notes


def _few_sugars(made: Mixture, told: dict[Heated, tuple[Control, bool]]) -> list[str]:
    """Warn where the tables would ask for nothing, but measured frostings of so little sugar were not dry enough."""
    share = 100 * sum(made.solutes_g.values()) / made.total_g
    if share >= FEW_SUGARS_PCT or all(control is Control.ASSESS for control, _sure in told.values()):
        return []
    warning = _(
        "It is {share} % sugar by weight: Kansas State University Extension found that a frosting needs {least} % or more before it may be thought of for room temperature."
    )
    return [warning.format(share=f"{share:.0f}", least=f"{FEW_SUGARS_PCT:.0f}")]


def _doubtful(each: Ingredient) -> bool:
    known = INGREDIENTS.get(each.composition.name)
    return known is not None and any(word in each.composition.source for word in _UNKNOWN)


def _numbers(made: Mixture, found: Estimate) -> dict[str, Any]:
    return {
        "water_g": made.water_g,
        "solutes_g": made.solutes_g,
        "total_g": made.total_g,
        "undissolved_g": found.undissolved_g,
        "norrish": found.norrish,
        "ross": found.ross,
        "money_born": found.money_born,
        "water_activity": found.estimate,
        "low": found.low,
        "high": found.high,
    }


def _tables(ph: Measured | None, told: dict[Heated, tuple[Control, bool]]) -> dict[str, Any]:
    return {
        "ph": None if ph is None else float(ph.value),
        "tables": [
            {"made": each.value, "table": _name(each), "control": control.value, "sure": sure}
            for each, (control, sure) in told.items()
        ],
    }
