"""A recall, answered in one step: what contains a lot, or what stood in a unit between two instants."""

import streamlit as st

from dashboards import data, records_data
from dashboards.parts import forms, sheet
from dashboards.records_data import RecallRow
from holdwatch.errors import HoldwatchError
from holdwatch.language import N_, _
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_LOT, _UNIT = N_("What contains a lot"), N_("What stood in a unit")


def draw(site: SiteView) -> None:
    """Ask which question it is, and answer it; whoever looks may ask."""
    question = st.radio(_("Question"), [_LOT, _UNIT], format_func=_, horizontal=True, key="recall-question")
    found = _lot() if question == _LOT else _unit(site)
    if found is None:
        st.html(sheet.small_print(_("Once that is said, every batch that it may concern is listed here.")))
        return
    rows = [
        [
            f'<a href="/batches?batch={each.batch_id}" target="_self">{sheet.esc(each.lot)}</a>',
            *map(sheet.esc, (each.product, each.why, each.when, each.outcome, each.allergens)),
        ]
        for each in found
    ]
    if rows:
        st.html(sheet.table([_("Lot"), _("Product"), _("Why"), _("When"), _("Outcome"), _("Allergens")], rows))
    else:
        st.html(sheet.small_print(_("Nothing stood there, by what was recorded.")))
    if question == _UNIT:
        st.html(
            sheet.small_print(
                _(
                    "Where moves were not recorded a batch may have stood anywhere: it is listed so, rather than left out."
                )
            )
        )


def _lot() -> list[RecallRow] | None:
    lot = st.selectbox(
        _("The lot"),
        records_data.lots(),
        index=None,
        key="recall-lot",
        placeholder=_("Choose the lot that is recalled"),
    )
    return None if lot is None else records_data.recalled_lot(str(lot))


def _unit(site: SiteView) -> list[RecallRow] | None:
    unit = st.selectbox(
        _("The unit"), records_data.unit_names(), index=None, key="recall-unit", placeholder=_("Choose it")
    )
    first = st.text_input(_("From"), key="recall-from", placeholder="2026-11-24 02:00", max_chars=25).strip()
    last = st.text_input(_("To (empty: now)"), key="recall-to", placeholder="2026-11-24 06:30", max_chars=25).strip()
    if unit is None or not first:
        return None
    now = data.now_ms()
    try:
        span = forms.read_time(first, site.zone, now), forms.read_time(last, site.zone, now) if last else now
    except HoldwatchError as exc:
        forms.problem(str(exc))
        return None
    if span[1] < span[0]:
        forms.problem(_("It ends before it begins: exchange the two."))
        return None
    return records_data.recalled_unit(str(unit), *span)
