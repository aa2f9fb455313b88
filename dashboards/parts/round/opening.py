"""Opening: what the night did, what must go, and an empty day explained."""

from datetime import timedelta

import streamlit as st

from dashboards import data, round_data
from dashboards.parts import forms, sheet
from dashboards.parts.round import listed
from holdwatch.language import N_, _
from holdwatch.storage.tables import EventKind
from holdwatch.views.daily import local_date
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Draw the list, and take that it was gone through; under it, that nothing was cooled."""
    found = round_data.opening()
    st.html(sheet.small_print(found.said))
    listed.show(found.parts)
    listed.gone_through(EventKind.OPENING, found)
    _nothing_cooled(site)


def _nothing_cooled(site: SiteView) -> None:
    key = "round-nothing"
    fresh = forms.fresh(key)
    today = local_date(data.now_ms(), site.zone)
    days = {N_("today"): today, N_("yesterday"): today - timedelta(days=1)}
    st.html(sheet.heading(_("Nothing cooled"), 2))
    with st.form(fresh):
        day = st.radio(_("Nothing was cooled"), list(days), format_func=_, key=f"{fresh}-day", horizontal=True)
        text = st.text_input(_("Why (closed, a holiday)"), max_chars=200, key=f"{fresh}-text").strip()
        by = forms.who(fresh)
        slot = st.empty()
        pressed = st.form_submit_button(_("Record that nothing was cooled"))
    if not pressed:
        return
    if not by:
        with slot:
            forms.problem(_("Say who you are."))
    elif round_data.nothing_cooled(days[str(day)], by=by, text=text):
        forms.recorded(key, _("Recorded by {by}: nothing was cooled {day}.").format(by=by, day=day))
