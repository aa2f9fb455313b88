"""Deliveries: one form, and what came today."""

import streamlit as st

from dashboards import round_data
from dashboards.parts import forms, sheet
from holdwatch.language import N_, _, written_day
from holdwatch.storage.deliveries import Delivered
from holdwatch.views import words
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_CAME = {
    N_("cold"): "receiving-cold",
    N_("hot"): "receiving-hot",
    N_("shell eggs (air)"): "receiving-shell-eggs",
    N_("dry"): None,
}
_BETWEEN = N_(
    "Hold the thermometer between two packs, without piercing one. Of shell eggs measure the air around them."
)


def draw(site: SiteView) -> None:
    """Draw the form, and under it the deliveries of today."""
    _form(site)
    _today(site)


def _form(site: SiteView) -> None:
    key = "round-delivery"
    fresh = forms.fresh(key)
    st.html(sheet.small_print(_(_BETWEEN)))
    with st.form(fresh):
        came = st.segmented_control(_("It came"), list(_CAME), format_func=_, default="cold", key=f"{fresh}-came")
        what = st.text_input(_("What"), max_chars=120, key=f"{fresh}-what").strip()
        supplier = st.text_input(_("Supplier"), max_chars=120, key=f"{fresh}-supplier").strip()
        celsius = forms.temperature(fresh, site)
        use_by = st.text_input(_("Use by (empty: none)"), placeholder="2026-12-01", max_chars=10, key=f"{fresh}-use-by")
        lot = st.text_input(
            _("Begin a batch of it under this lot (empty: none)"), max_chars=60, key=f"{fresh}-lot"
        ).strip()
        why = st.text_input(
            _("Why it is refused, or taken beyond the limit"), max_chars=200, key=f"{fresh}-why"
        ).strip()
        by = forms.who(fresh)
        slot = st.empty()
        with st.container(horizontal=True):
            taken = st.form_submit_button(_("Take it"), type="primary")
            refused = st.form_submit_button(_("Refuse it"))
    typed = str(st.session_state.get(f"{fresh}-temperature", "")).strip()
    if not (taken or refused) or (typed and celsius is None):
        return
    if not by:
        with slot:
            forms.problem(_("Say who you are."))
        return
    came_as = Delivered(what, supplier, _CAME[str(came)], celsius, taken, why, use_by, lot)
    says = round_data.delivered(came_as, by=by)
    if says is not None:
        forms.recorded(
            key,
            (
                _("Recorded by {by}: {what} is taken. {says}")
                if taken
                else _("Recorded by {by}: {what} is refused. {says}")
            )
            .format(by=by, what=what, says=says)
            .strip(),
        )


def _today(site: SiteView) -> None:
    found = round_data.deliveries_today()
    st.html(sheet.heading(_("Today: {count}").format(count=len(found)), 2))
    if not found:
        st.html(sheet.line(_("No delivery was recorded today.")))
    for each in reversed(found):
        measured = _("not measured") if each.celsius is None else words.temperature(each.celsius, site.scale)
        facts = " · ".join(
            part
            for part in (
                each.supplier,
                measured,
                each.clause,
                _("use by {day}").format(day=written_day(each.use_by)) if each.use_by else "",
            )
            if part
        )
        st.html(
            '<div class="hw" style="border-top:1px solid var(--rule);padding:.5rem 0">'
            f'<div>{sheet.mark(each.mark)} <span class="hw-name">{sheet.esc(each.what)}</span></div>'
            f'<div class="hw-line">{sheet.esc(facts)}</div>'
            f'<div class="hw-line">{sheet.esc(sheet.sentence(each.became))}, '
            f"{sheet.esc(words.clock_time(each.at_ms, site.zone))}, {sheet.esc(each.by)}</div></div>"
        )
