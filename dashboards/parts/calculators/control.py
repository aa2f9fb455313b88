"""pH and water activity against tables A and B."""

from decimal import Decimal
from itertools import pairwise

import streamlit as st

from dashboards.parts import pictures
from dashboards.parts.calculators import fields
from holdwatch.calculators.tcs import DONE, Measured, read_number, tables_answer
from holdwatch.language import N_, _
from holdwatch.rules.tcs import TABLE_A, TABLE_B, Control, Heated, Table
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_SHORT = {Control.NOT_TCS: N_("not TCS"), Control.ASSESS: N_("assess")}


def draw(site: SiteView) -> None:  # noqa: ARG001  every calculator is drawn with the site
    """Ask for pH, water activity and what was done with the food, and show what the tables say."""
    left, right = st.columns(2)
    with left:
        ph = fields.field("pH", "control-ph", read_number, hint="4.6")
        ph_error = fields.field(_("pH may be off by"), "control-ph-error", read_number, begins="0.1")
    with right:
        water = fields.field(_("Water activity"), "control-aw", read_number, hint="0.91")
        water_error = fields.field(_("Water activity may be off by"), "control-aw-error", read_number, begins="0.005")
    heated = st.radio(
        _("The food was"), list(DONE), index=None, format_func=lambda each: _(DONE[each]), key="control-heated"
    )
    if ph is None or ph_error is None or water is None or water_error is None:
        return
    made = Heated(heated) if heated is not None else None
    acid, free = Measured(ph, ph_error), Measured(water, water_error)
    table = TABLE_A if made is Heated.AND_PACKAGED else TABLE_B  # where nobody has said, the table that asks for more
    fields.show(lambda: tables_answer(acid, free, made), lambda _answer: _picture(table, acid, free))


def _picture(table: Table, ph: Measured, water: Measured) -> pictures.Picture:
    """Draw the table as a map, with the food in it."""
    across = _edges([end.figure for end in table.ph], ph, Decimal(14), Decimal("0.8"))
    up = _edges([end.figure for end in table.water_activity], water, Decimal(1), Decimal("0.05"))
    cells = [
        pictures.Cell((left, right), (low, high), _(_SHORT[said]), said is Control.ASSESS)
        for (low, high), row in zip(pairwise(up), table.rows, strict=True)
        for (left, right), said in zip(pairwise(across), row, strict=True)
    ]
    food = _span(ph, Decimal(14)), _span(water, Decimal(1))
    title = _("pH, in table {table} of the code").format(table=table.name)
    return pictures.plane(cells, food, across=title, up=_("Water activity"))


def _span(food: Measured, most: Decimal) -> pictures.Span:
    low, high = food.ends(most)
    return pictures.Span("", float(low), float(high), float(food.value))


def _edges(inner: list[Decimal], food: Measured, most: Decimal, room: Decimal) -> list[float]:
    """Return where the fields of a table begin and end; the outer ones are as wide as the food needs."""
    low, high = food.ends(most)
    return [float(min(inner[0] - room, low)), *map(float, inner), float(max(min(inner[-1] + room, most), high))]
