"""What waits for a signature, by person; several entries are signed with one PIN."""

import streamlit as st

from dashboards import data, shift_data
from dashboards.parts import forms, sheet
from dashboards.signedin import SignedIn
from holdwatch.language import _
from holdwatch.views import words
from holdwatch.views.unsigned import Unsigned

__all__ = ["draw"]


def draw(signed: SignedIn) -> None:
    """Draw what waits, for each person; the form for those who record."""
    st.html(sheet.heading(_("To be signed"), 2))
    found = shift_data.to_be_signed()
    if not found:
        st.html(sheet.line(_("Nothing waits for a signature.")))
    for name in dict.fromkeys(each.person for each in found):
        waiting = [each for each in found if each.person == name]
        if name and signed.records and (signed.kitchen or signed.name == name):
            with st.expander(
                _("{name}: {count} to sign").format(name=sheet.plain(name), count=len(waiting)),
                expanded=signed.name == name,
            ):
                _form(name, waiting)
        else:
            said = name or _("Of nobody who works here any more")
            lines = "".join(f'<div class="hw-line">{sheet.esc(_line(each))}</div>' for each in waiting)
            st.html(f'<div class="hw"><b>{sheet.esc(said)}</b>{lines}</div>')


def _form(name: str, waiting: list[Unsigned]) -> None:
    key = forms.fresh(f"sign-{name}")
    with st.form(key):
        chosen = [
            each.id for each in waiting if st.checkbox(sheet.plain(_line(each)), value=True, key=f"{key}-{each.id}")
        ]
        pin = st.text_input(
            _("PIN of {name}").format(name=sheet.plain(name)),
            type="password",
            key=f"{key}-pin",
            max_chars=12,
            autocomplete="off",
        )
        pressed = st.form_submit_button(_("Sign what is ticked"), type="primary")
    if not pressed:
        return
    if not chosen:
        forms.problem(_("Tick what you sign."))
    elif shift_data.sign(chosen, by=name, pin=pin):
        forms.recorded(f"sign-{name}", _("{count} signed by {name}.").format(count=len(chosen), name=name))


def _line(each: Unsigned) -> str:
    """Write an entry in one line; under another name than today's, that name is told."""
    by = "" if each.person else _("by {name}").format(name=each.by)
    at = words.clock_words(each.at_ms, data.site().zone)
    return " · ".join(part for part in (at, each.about, each.words, each.text, by) if part)
