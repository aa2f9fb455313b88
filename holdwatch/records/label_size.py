"""How large a label is: a roll of some width, one label of a width and height, or several on a sheet."""

import re
from dataclasses import dataclass
from decimal import Decimal

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, decimals

__all__ = ["DEFAULT_SIZE", "LabelSize", "read_size"]

DEFAULT_SIZE = "57mm"
"""The usual roll of a small thermal printer; common practice, no source."""

_MM_PER_INCH = 25.4
_NARROWEST_MM, _WIDEST_MM = 25.0, 300.0
_MOST_A_SHEET = 20
_SHEETS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_ONE = re.compile(r"(?P<width>\d+(?:\.\d+)?)(?:x(?P<height>\d+(?:\.\d+)?))?(?P<unit>mm|in)?")
_SHEET = re.compile(r"(?P<paper>a4|letter)/(?P<columns>\d{1,2})x(?P<rows>\d{1,2})")
_HOW = N_("write 57mm (a roll), 2x3in or 50x76mm (width by height), or letter/3x10 or a4/3x8 (labels on a sheet)")


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
            raise ConfigError(_("{text!r} is no sheet of labels: {how}").format(text=text, how=_(_HOW)))
        _check(text, width / columns)
        return LabelSize(width, height, columns, rows)
    one = _ONE.fullmatch(said)
    if one is None:
        raise ConfigError(_("{text!r} is no size of a label: {how}").format(text=text, how=_(_HOW)))
    scale = _MM_PER_INCH if one["unit"] == "in" else 1.0
    width = float(Decimal(one["width"])) * scale
    tall = None if one["height"] is None else float(Decimal(one["height"])) * scale
    for side in (width, *([] if tall is None else [tall])):
        _check(text, side)
    return LabelSize(width, tall)


def _check(text: str, side_mm: float) -> None:
    if not _NARROWEST_MM <= side_mm <= _WIDEST_MM:
        raise ConfigError(
            _("{text!r} is no size of a label: each side is {narrowest_mm} to {widest_mm} mm; {how}").format(
                text=text,
                narrowest_mm=decimals(f"{_NARROWEST_MM:g}"),
                widest_mm=decimals(f"{_WIDEST_MM:g}"),
                how=_(_HOW),
            )
        )
