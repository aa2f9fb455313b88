"""An officer's visit: recorded, their readings beside the probe's, food detained and released."""

import streamlit as st

from dashboards import data, round_data
from dashboards.parts import forms, sheet
from holdwatch.language import _
from holdwatch.views import words
from holdwatch.views.model import SiteView
from holdwatch.views.visits import VisitView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Draw the visits, the latest first; forms for the latest one; and the form for another."""
    found = list(reversed(round_data.visited(site)))
    for each in found[:5]:
        st.html(_visit(each, site))
    if found:
        st.html(
            sheet.small_print(_("What follows is recorded of the visit of {officer}.").format(officer=found[0].officer))
        )
        _reading(found[0], site)
        _held(found[0])
    _record()


def _visit(visit: VisitView, site: SiteView) -> str:
    lines = "".join(f'<div class="hw-line">{sheet.esc(sheet.sentence(line))}</div>' for line in visit.lines(site))
    return (
        '<div class="hw" style="border-top:1px solid var(--rule);padding:.5rem 0">'
        f'<span class="hw-name">{sheet.esc(f"{visit.officer}, {visit.authority}")}</span>'
        f'<div class="hw-line">{sheet.esc(words.clock_words(visit.at_ms, site.zone))}</div>{lines}</div>'
    )


def _record() -> None:
    key = "round-visit"
    fresh = forms.fresh(key)
    st.html(sheet.heading(_("An officer is here"), 2))
    with st.form(fresh):
        officer = st.text_input(_("Who"), max_chars=120, key=f"{fresh}-officer").strip()
        authority = st.text_input(_("From which authority"), max_chars=120, key=f"{fresh}-authority").strip()
        samples = st.text_area(_("Samples taken, one a line"), max_chars=500, key=f"{fresh}-samples")
        notice = st.text_input(_("Notice given"), max_chars=300, key=f"{fresh}-notice").strip()
        again = st.text_input(_("Next visit"), placeholder="2026-12-01", max_chars=10, key=f"{fresh}-next").strip()
        text = st.text_input(_("In words"), max_chars=300, key=f"{fresh}-text").strip()
        by = forms.who(fresh)
        pressed = st.form_submit_button(_("Record the visit"), type="primary")
    said = {"samples": samples.splitlines(), "notice": notice, "next_visit": again, "text": text}
    if pressed and by and round_data.visit(officer, authority, by=by, said=said):
        forms.recorded(key, _("Recorded by {by}: {officer} was here.").format(by=by, officer=officer))


def _reading(visit: VisitView, site: SiteView) -> None:
    key = "round-officer-reading"
    fresh = forms.fresh(key)
    batches = {f"{product} {lot}": lot for product, lot in data.running_lots()}
    names = [name for _id, name in data.units()]
    with st.form(fresh):
        about = st.selectbox(_("The officer measured"), [*batches, *names], index=None, key=f"{fresh}-about")
        celsius = forms.temperature(fresh, site)
        by, at = forms.who(fresh), forms.when(fresh, site)
        slot = st.empty()
        pressed = st.form_submit_button(_("Record the officer's reading"))
    if not pressed or at is None:
        return
    if about is None or celsius is None or not by:
        with slot:
            forms.problem(_("Say what was measured, how warm it was, and who you are."))
    elif round_data.officer_read(visit.id, celsius, lot=batches.get(about), unit=about, at_ms=at, by=by):
        forms.recorded(
            key,
            _("Recorded by {by}: what {officer} measured of {about}.").format(
                by=by, officer=visit.officer, about=about
            ),
        )


def _held(visit: VisitView) -> None:
    key = "round-detained"
    fresh = forms.fresh(key)
    batches = {f"{product} {lot}": lot for product, lot in data.running_lots()}
    with st.form(fresh):
        about = st.selectbox(_("Food detained, or released"), list(batches), index=None, key=f"{fresh}-about")
        text = st.text_input(_("Until when, or who released it and how"), max_chars=300, key=f"{fresh}-text").strip()
        by = forms.who(fresh)
        slot = st.empty()
        with st.container(horizontal=True):
            taken = st.form_submit_button(_("It is detained"))
            freed = st.form_submit_button(_("It is released"))
    if not (taken or freed):
        return
    if about is None or not by:
        with slot:
            forms.problem(_("Choose the batch, and say who you are."))
    elif round_data.hold(visit.id, batches[about], text, taken=taken, by=by):
        forms.recorded(
            key,
            (
                _("Recorded by {by}: {about} is detained.") if taken else _("Recorded by {by}: {about} is released.")
            ).format(by=by, about=about),
        )
