"""What tables A and B say of a food, of its pH and water activity and how sure these are."""

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, decimals
from holdwatch.rules.tcs import TABLE_A, TABLE_B, Control, Heated, Table, control_needed

__all__ = ["CAUTION", "DONE", "Measured", "between", "read_made", "read_number", "tables_answer"]

DONE = {
    Heated.NOT_HEATED: N_("not heated, or raw"),
    Heated.NOT_PACKAGED: N_("heated, then handled or filled in the open"),
    Heated.AND_PACKAGED: N_("heated to destroy vegetative cells, then packaged"),
}
WORDS = {
    Control.NOT_TCS: N_("not TCS food by the table"),
    Control.ASSESS: N_("product assessment needed: TCS food until somebody shows otherwise"),
}
CAUTION = N_(
    "Of a filled pastry the figures are those where filling and pastry meet. The tables do not speak of preservatives or of combinations: that needs evidence of its own. Your authority decides."
)
_ONE, _FOURTEEN, _NOTHING = Decimal(1), Decimal(14), Decimal(0)


@dataclass(frozen=True)
class Measured:
    """A figure as it was written, and how far it may be off either way."""

    value: Decimal
    error: Decimal = _NOTHING

    def __post_init__(self) -> None:
        if not 0 <= self.error <= _FOURTEEN:
            raise ConfigError(
                _("an uncertainty of {error} cannot be: write 0 or more, and no more than the scale has").format(
                    error=self.error
                )
            )

    def ends(self, most: Decimal) -> tuple[Decimal, Decimal]:
        """Return the least and the most that it may be; nothing is below 0 or above `most`."""
        return max(self.value - self.error, _NOTHING), min(self.value + self.error, most)

    def __str__(self) -> str:
        return f"{self.value} ± {self.error}" if self.error else str(self.value)


def read_number(text: str, what: str = N_("the figure")) -> Decimal:
    """Read a bare number exactly as it is written, with a point or a comma.

    Raises
    ------
    ConfigError
        If the text is no number.
    """
    try:
        figure = Decimal(text.strip().replace(",", ".").replace("\u2212", "-"))
    except InvalidOperation:
        figure = Decimal("NaN")
    if not figure.is_finite():
        raise ConfigError(_("{what} is {text!r}: that is not a number such as 4.6").format(what=_(what), text=text))
    return figure


def read_made(text: str) -> Heated:
    """Read what was done with the food.

    Raises
    ------
    ConfigError
        If the word is none of `Heated`.
    """
    try:
        return Heated(text)
    except ValueError:
        raise ConfigError(
            _("{text!r} is not how a food is made; write one of: {known}").format(text=text, known=", ".join(Heated))
        ) from None


def between(ph: tuple[Decimal, Decimal], water: tuple[Decimal, Decimal], heated: Heated) -> tuple[Control, bool]:
    """Return what a table says of everything between two ends, and whether it says one thing of all of it.

    The tables ask for more at every step to a higher pH or water activity, so that the highest corner is the
    strictest; where the lowest corner says otherwise, a boundary lies between.
    """
    strictest = control_needed(ph[1], water[1], heated)
    return strictest, control_needed(ph[0], water[0], heated) is strictest


def tables_answer(ph: Measured, water_activity: Measured, heated: Heated | None = None) -> Answer:
    """Return what the tables say; both, where nobody has said how the food was made.

    Raises
    ------
    OutOfRangeError
        If pH is outside 0 to 14 or water activity outside 0 to 1.
    """
    control_needed(ph.value, water_activity.value, Heated.NOT_HEATED)  # refuses what is outside
    ends = ph.ends(_FOURTEEN), water_activity.ends(_ONE)
    asked = [heated] if heated is not None else list(Heated)
    found = {each: between(*ends, each) for each in asked}
    rows = tuple((_(DONE[each]), _table(each).name, _told(*found[each])) for each in asked)
    told = {row[2] for row in rows}
    first = _("pH {ph}, water activity {water}").format(ph=decimals(str(ph)), water=decimals(str(water_activity)))
    data: dict[str, Any] = {
        "ph": float(ph.value),
        "ph_error": float(ph.error),
        "water_activity": float(water_activity.value),
        "water_activity_error": float(water_activity.error),
        "tables": [
            {"made": each.value, "table": _table(each).name, "control": found[each][0].value, "sure": found[each][1]}
            for each in asked
        ],
    }
    return Answer(
        says=f"{first}: {told.pop() if len(told) == 1 else _('what was done with the food decides')}.",
        basis=Basis(
            formula=_(
                "two tables of pH by water activity, each end as printed: table B's first row is below {water} and its first column below {ph}, all other ends hold their figure"
            ).format(water=decimals("0.88"), ph=decimals("4.2")),
            covers=_("pH 0 to 14, water activity 0 to 1"),
            error=_("none of the tables' own; what the meter may be off is given with the figure"),
            source=f"{TABLE_A.source}; {TABLE_B.source}",
        ),
        heads=(_("The food was"), _("Table"), _("It says")),
        rows=rows,
        caution=_(CAUTION),
        data=data,
    )


def _table(heated: Heated) -> Table:
    return TABLE_A if heated is Heated.AND_PACKAGED else TABLE_B


def _told(control: Control, one_answer: bool) -> str:
    if one_answer:
        return _(WORDS[control])
    return _("within its uncertainty of a boundary: product assessment needed")
