"""A list that somebody goes through, and the form under it that records that they did."""

import streamlit as st

from dashboards import round_data
from dashboards.parts import forms, sheet
from dashboards.round_data import Listed
from holdwatch.language import _, many
from holdwatch.storage.tables import EventKind
from holdwatch.views.daily import Part

__all__ = ["gone_through", "show"]


def show(parts: tuple[Part, ...]) -> None:
    """Draw the parts: what needs somebody first, what is in order in one line each."""
    for part in parts:
        if part.lines:
            st.html(sheet.heading(f"{part.title}: {len(part.lines)}", 2) + "".join(_line(part)))
    for part in parts:
        if not part.lines:
            st.html(f'<div class="hw hw-line"><b>{sheet.esc(part.title)}</b> – {sheet.esc(part.none)}</div>')


def gone_through(kind: EventKind, listed: Listed, back: int | None = None) -> None:
    """Draw who has gone through it; what is recorded is the list as it stood on the screen when it was."""
    key = f"round-{kind.value}"
    fresh = forms.fresh(key)
    seen = st.session_state.get(f"{fresh}-drawn", listed)
    st.session_state[f"{fresh}-drawn"] = listed
    with st.form(fresh):
        text = st.text_input(_("In words (empty: nothing to add)"), max_chars=500, key=f"{fresh}-text").strip()
        by = forms.who(fresh)
        slot = st.empty()
        pressed = st.form_submit_button(
            _("Record the {kind} as gone through").format(kind=_(kind.value)), type="primary"
        )
    if not pressed:
        return
    if not by:
        with slot:
            forms.problem(_("Say who you are."))
    elif round_data.gone_through(kind, seen, by=by, text=text, back=back):
        count = sum(len(part.lines) for part in seen.parts)
        lines = many("{count} line stood on it", "{count} lines stood on it", count)
        forms.recorded(
            key, _("Recorded: {kind} gone through by {by}; {lines}.").format(kind=_(kind.value), by=by, lines=lines)
        )


def _line(part: Part) -> list[str]:
    """Return the lines of a part as HTML."""
    found = []
    for line in part.lines:
        about = sheet.esc(line.about)
        name = (
            f'<a class="hw-name" href="{sheet.esc(line.link)}" target="_self">{about}</a>'
            if line.link
            else f'<span class="hw-name">{about}</span>'
        )
        todo = f'<div class="hw-line"><b>{sheet.esc(line.todo)}</b></div>' if line.todo else ""
        found.append(
            '<div class="hw" style="border-top:1px solid var(--rule);padding:.5rem 0">'
            f'{name}<div class="hw-line">{sheet.esc(sheet.sentence(line.words))}</div>{todo}</div>'
        )
    return found
