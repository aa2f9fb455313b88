"""Whether a food needs time and temperature control: the interaction of pH and water activity.

Two tables of the FDA Food Code, 1-201.10(B), definition of time/temperature control for safety food. Table A is
for food heated to destroy vegetative cells and then packaged, table B for food not heated, or heated and not
packaged. Their ends differ: in table B the first row and the first column do not hold their figure. Misprints
are about (a table A with "<0.92", a table without signs of comparison, a table B under the heads of table A).

The tables do not speak of food made safe by preservatives or by combinations: that needs evidence of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from holdwatch.errors import OutOfRangeError

__all__ = ["TABLE_A", "TABLE_B", "Control", "Heated", "Table", "control_needed"]


class Control(StrEnum):
    """What a table says of a food."""

    NOT_TCS = "not-tcs"
    ASSESS = "assess"
    """Product assessment required: it is TCS food until somebody shows otherwise."""


class Heated(StrEnum):
    """What was done with the food, which decides the table."""

    AND_PACKAGED = "heated-and-packaged"
    NOT_PACKAGED = "heated-not-packaged"
    NOT_HEATED = "not-heated"


@dataclass(frozen=True)
class _End:
    """The upper end of a row or a column, and whether it holds its figure."""

    figure: Decimal
    inclusive: bool

    def holds(self, value: Decimal) -> bool:
        return value <= self.figure if self.inclusive else value < self.figure


@dataclass(frozen=True)
class Table:
    """A table of pH by water activity; beyond the last end there is one more column, or row."""

    name: str
    source: str
    water_activity: tuple[_End, ...]
    ph: tuple[_End, ...]
    rows: tuple[tuple[Control, ...], ...]


_NO, _PA = Control.NOT_TCS, Control.ASSESS


def _ends(*words: str) -> tuple[_End, ...]:
    """Read ends such as ``<=0.92`` and ``<4.2``."""
    return tuple(_End(Decimal(word.lstrip("<=")), word.startswith("<=")) for word in words)


TABLE_A = Table(
    "A",
    "FDA Food Code, 1-201.10(B), table A; read in the text of Tennessee, 2026-11-25",
    water_activity=_ends("<=0.92", "<=0.95"),
    ph=_ends("<=4.6", "<=5.6"),
    rows=(
        (_NO, _NO, _NO),  # aw ≤ 0.92
        (_NO, _NO, _PA),  # aw > 0.92 to 0.95
        (_NO, _PA, _PA),  # aw > 0.95
    ),
)
TABLE_B = Table(
    "B",
    "FDA Food Code, 1-201.10(B), table B; read in the texts of Tennessee and Texas, 2026-11-25",
    water_activity=_ends("<0.88", "<=0.90", "<=0.92"),
    ph=_ends("<4.2", "<=4.6", "<=5.0"),
    rows=(
        (_NO, _NO, _NO, _NO),  # aw < 0.88
        (_NO, _NO, _NO, _PA),  # aw 0.88 to 0.90
        (_NO, _NO, _PA, _PA),  # aw > 0.90 to 0.92
        (_NO, _PA, _PA, _PA),  # aw > 0.92
    ),
)


def control_needed(ph: float | Decimal, water_activity: float | Decimal, heated: Heated) -> Control:
    """Return what the tables say of a food.

    Parameters
    ----------
    ph : of the food; of a filled pastry where filling and pastry meet, if that is higher.
    water_activity : of the food, 0 to 1; of a filled pastry likewise.
    heated : whether it was heated to destroy vegetative cells, and then packaged.

    Raises
    ------
    OutOfRangeError
        If pH is outside 0 to 14 or the water activity outside 0 to 1, both ends allowed, or is no number.
    """
    acid, water = _checked("acidity", ph, 14, "pH"), _checked("water activity", water_activity, 1, "aw")
    table = TABLE_A if heated is Heated.AND_PACKAGED else TABLE_B
    return table.rows[_place(table.water_activity, water)][_place(table.ph, acid)]


def _checked(name: str, value: float | Decimal, most: int, unit: str) -> Decimal:
    """Return the figure as it was written: 4.6 is 4.6, not the nearest binary fraction."""
    figure = Decimal(str(value))
    if not figure.is_finite() or not 0 <= figure <= most:
        raise OutOfRangeError(name, float(value), 0, most, unit)
    return figure


def _place(ends: Sequence[_End], value: Decimal) -> int:
    return next((n for n, end in enumerate(ends) if end.holds(value)), len(ends))
