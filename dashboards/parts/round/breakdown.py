"""Breakdown: one failed unit, one sheet; each batch with a hand reading, what becomes of it, and where it is put."""

import streamlit as st

from dashboards import data, round_data
from dashboards.parts import forms, handling, sheet
from holdwatch.alerts.breakdown import Decided
from holdwatch.language import N_, _
from holdwatch.people.handling import Disposition
from holdwatch.views.breakdown import OnSheet
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_SHORT = {
    Disposition.DISCARD: N_("Discard"),
    Disposition.RE_CHILL: N_("Re-chill"),
    Disposition.HOLD: N_("Hold"),
    Disposition.KEEP: N_("Keep"),
    Disposition.REHEAT: N_("Reheat"),
}


def draw(site: SiteView) -> None:
    """Ask which unit broke down, and draw its sheet."""
    names = dict(data.units())
    if not names:
        st.html(sheet.line(_("There is no unit yet that could break down: add it under Set-up.")))
        return
    unit_id = st.selectbox(
        _("Which unit broke down?"), list(names), format_func=names.__getitem__, index=None, key="breakdown-unit"
    )
    if unit_id is None:
        return
    rows = round_data.on_sheet(unit_id)
    if not rows:
        st.html(
            f'<div class="hw hw-line">{_("No batch is recorded as standing in {unit}.").format(unit=sheet.esc(names[unit_id]))}</div>'
        )
        return
    st.html(
        sheet.small_print(
            _(
                "A batch without an answer waits: record the sheet as often as you like. Throwing away, and setting apart, needs no PIN; to keep food is the manager's, with a reason."
            )
        )
    )
    _form(unit_id, rows, [name for each, name in names.items() if each != unit_id], site)


def _form(unit_id: int, rows: list[OnSheet], places: list[str], site: SiteView) -> None:
    key = f"breakdown-{unit_id}"
    fresh = forms.fresh(key)
    with st.form(fresh):
        lines = [_row(f"{fresh}-{row.lot}", row, places, site) for row in rows]
        everywhere = st.selectbox(_("Put what is not discarded into"), places, index=None, key=f"{fresh}-place")
        text = st.text_area(_("What was done, and why"), max_chars=500, key=f"{fresh}-text").strip()
        by, pin = forms.signer(fresh)
        slot = st.empty()
        pressed = st.form_submit_button(_("Record the sheet"), type="primary")
    if not pressed:
        return
    decided = [_with(line, everywhere or "", text) for line in lines if isinstance(line, Decided)]
    if not decided or None in lines or not by:
        with slot:
            wrong = (
                _("A temperature cannot be read.") if None in lines else _("Say what becomes of at least one batch.")
            )
            forms.problem(wrong if None in lines or not decided else _("Say who you are."))
        return
    unsigned = all(line.disposition in handling.UNSIGNED for line in decided)
    heaviest = decided[0].disposition if unsigned else Disposition.KEEP
    said = round_data.broke_down(unit_id, decided, by=by, pin=pin, disposition=heaviest)
    if said is not None:
        forms.recorded(key, _("Recorded by {by}: {said}.").format(by=by, said=said))


def _row(key: str, row: OnSheet, places: list[str], site: SiteView) -> Decided | str | None:
    """Draw a line; return what is decided, an empty text where nothing is, ``None`` where it cannot be read."""
    perhaps = " · " + _("perhaps here: nobody wrote down where it stands") if row.perhaps else ""
    st.html(
        '<div class="hw" style="border-top:1px solid var(--rule);padding:.4rem 0 0">'
        f'<span class="hw-name">{sheet.esc(row.title)}</span>'
        f'<div class="hw-line">{sheet.mark(row.mark)} · {sheet.esc(row.last)}{sheet.esc(perhaps)}</div></div>'
    )
    left, middle, right = st.columns([1, 3, 1.4])
    with left:
        celsius = forms.temperature(key, site)
        typed = str(st.session_state.get(f"{key}-temperature", "")).strip()
        vessel = None
        if row.vessels > 1:
            vessel = st.number_input(_("Vessel"), 1, row.vessels, 1, key=f"{key}-vessel")
    food = middle.segmented_control(
        _("Becomes"), list(_SHORT), format_func=lambda each: _(_SHORT[each]), key=f"{key}-food"
    )
    place = right.selectbox(_("New place"), places, index=None, key=f"{key}-place")
    if typed and celsius is None:
        return None
    if food is None:
        return ""
    return Decided(row.lot, food, celsius, vessel if celsius is not None else None, place or "")


def _with(line: Decided, place: str, text: str) -> Decided:
    """Return a line with what was said of all of them."""
    there = line.place or ("" if line.disposition is Disposition.DISCARD else place)
    return Decided(line.lot, line.disposition, line.celsius, line.vessel, there, text)
