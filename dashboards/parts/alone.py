"""Working alone: declared with a touch, marked, and reviewed by somebody else."""

import streamlit as st

from dashboards import data, shift_data
from dashboards.parts import forms, sheet
from dashboards.signedin import SignedIn
from holdwatch.language import _, many
from holdwatch.views import words
from holdwatch.views.alone import LoneView

__all__ = ["draw", "told"]

_SHOWN = 5


def draw(signed: SignedIn) -> None:
    """Draw who works alone, and what of it waits for a review."""
    st.html(sheet.heading(_("Working alone"), 2))
    found = shift_data.done_alone()
    running = next((each for each in found if each.runs), None)
    if running is not None:
        _running(running, signed)
    elif signed.records and len(signed.on_shift) == 1:
        by = signed.on_shift[0]
        st.html(sheet.small_print(_("What a lone worker records is marked, and reviewed by somebody else afterwards.")))
        if st.button(_("{initials} works alone").format(initials=sheet.plain(by.initials))) and shift_data.alone(
            by=by.name
        ):
            forms.say(_("{by} works alone from now on.").format(by=by.name))
            st.rerun()
    waiting = [each for each in found if not each.runs and not each.reviewed_by]
    for each in waiting:
        _review(each, signed)
    for each in [each for each in found if each.reviewed_by][:_SHOWN]:
        st.html(
            f'<div class="hw hw-line">{sheet.esc(told(each))} {_("Reviewed by {name}.").format(name=sheet.esc(each.reviewed_by))}</div>'
        )
    if not found:
        st.html(sheet.line(_("Nobody works alone, and nothing waits for a review.")))


def told(found: LoneView) -> str:
    """Return one sentence: who, from when until when, and how much was recorded."""
    zone = data.site().zone
    until = _("now") if found.runs else words.clock_words(found.until_ms, zone)
    count = many("{count} entry", "{count} entries", len(found.entries))
    return _("{name} worked alone, {time} to {until}: {count}.").format(
        name=found.name, time=words.clock_words(found.from_ms, zone), until=until, count=count
    )


def _running(found: LoneView, signed: SignedIn) -> None:
    since = words.clock_words(found.from_ms, data.site().zone)
    st.html(
        f'<div class="hw hw-line">{_("<b>{name} works alone</b> since {time}.").format(name=sheet.esc(found.name), time=sheet.esc(since))}</div>'
    )
    by = next((each.name for each in signed.on_shift if each.name == found.name), "")
    by = by or (signed.on_shift[0].name if signed.on_shift else "")
    if by and signed.records and st.button(_("Alone no more")) and shift_data.alone_no_more(by=by):
        forms.say(_("{name} works alone no more.").format(name=found.name))
        st.rerun()


def _review(found: LoneView, signed: SignedIn) -> None:
    """Draw what was recorded alone, and the form of whoever reviews it."""
    key, zone = forms.fresh(f"alone-{found.id}"), data.site().zone
    st.html(f'<div class="hw hw-ask">{_("To be reviewed: {found}").format(found=sheet.esc(told(found)))}</div>')
    rows = [[sheet.esc(words.clock_words(at, zone)), sheet.esc(said)] for at, said in found.entries]
    st.html(sheet.table([_("When"), _("What")], rows))
    for number, title in found.findings:
        link = f'<a href="/findings?finding={number}" target="_self">{sheet.esc(title)}</a>'
        st.html(f'<div class="hw hw-line">{_("To be verified first: {finding}").format(finding=link)}</div>')
    if not signed.records:
        return
    with st.form(key):
        text = st.text_input(_("What was looked at, and how it was"), max_chars=500, key=f"{key}-text").strip()
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Reviewed"), type="primary")
    if pressed and shift_data.review(found.id, by=by, pin=pin, text=text):
        forms.recorded(f"alone-{found.id}", _("Reviewed by {by}.").format(by=by))
    with st.expander(_("For a manager who is not here")):
        if st.button(_("Make the link"), key=f"{key}-link"):
            st.code(shift_data.review_link(found.id), language=None, wrap_lines=True)
