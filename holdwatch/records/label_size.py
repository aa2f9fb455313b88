"""How large a label is: a roll of some width, one label of a width and height, or several on a sheet."""

import re
from dataclasses import dataclass
from decimal import Decimal

from holdwatch.errors import ConfigError

__all__ = ["DEFAULT_SIZE", "LabelSize", "read_size"]

DEFAULT_SIZE = "57mm"
"""The usual roll of a small thermal printer; common practice, no source."""

_MM_PER_INCH = 25.4
_NARROWEST_MM, _WIDEST_MM = 25.0, 300.0
_MOST_A_SHEET = 20
_SHEETS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_ONE = re.compile(r"(?P<width>\d+(?:\.\d+)?)(?:x(?P<height>\d+(?:\.\d+)?))?(?P<unit>mm|in)?")
_SHEET = re.compile(r"(?P<paper>a4|letter)/(?P<columns>\d{1,2})x(?P<rows>\d{1,2})")
_HOW = "write 57mm (a roll), 2x3in or 50x76mm (width by height), or letter/3x10 or a4/3x8 (labels on a sheet)"


@dataclass(frozen=True)
class LabelSize:
    """The paper that labels are printed on, in mm."""

    page_width_mm: float
    page_height_mm: float | None
    """``None`` for a roll, which is cut where the label ends."""
    columns: int = 1
    rows: int = 1


def read_size(text: str) -> LabelSize:
    """Read a size: ``57mm``, ``2x3in``, ``letter/3x10``.

    Raises
    ------
    ConfigError
        If it is no size, or a label of it would be narrower than 25 mm or wider than 300 mm.
    """
    said = text.strip().lower().replace("×", "x").replace(" ", "")
    sheet = _SHEET.fullmatch(said)
    if sheet is not None:
        width, height = _SHEETS[sheet["paper"]]
        columns, rows = int(sheet["columns"]), int(sheet["rows"])
        if not (1 <= columns <= _MOST_A_SHEET and 1 <= rows <= _MOST_A_SHEET):
            raise ConfigError(f"{text!r} is no sheet of labels: {_HOW}")
        _check(text, width / columns)
        return LabelSize(width, height, columns, rows)
    one = _ONE.fullmatch(said)
    if one is None:
        raise ConfigError(f"{text!r} is no size of a label: {_HOW}")
    scale = _MM_PER_INCH if one["unit"] == "in" else 1.0
    width = float(Decimal(one["width"])) * scale
    tall = None if one["height"] is None else float(Decimal(one["height"])) * scale
    for side in (width, *([] if tall is None else [tall])):
        _check(text, side)
    return LabelSize(width, tall)


def _check(text: str, side_mm: float) -> None:
    if not _NARROWEST_MM <= side_mm <= _WIDEST_MM:
        raise ConfigError(
            f"{text!r} is no size of a label: each side is {_NARROWEST_MM:g} to {_WIDEST_MM:g} mm; {_HOW}"
        )
