"""Shift: who is signed in at this screen; begin a shift with a PIN, leave it with a touch."""

import streamlit as st

from dashboards import data, shift_data, signedin
from dashboards.parts import alone, forms, sheet, unsigned
from dashboards.signedin import SignedIn
from holdwatch.clock import MS_PER_HOUR
from holdwatch.language import _
from holdwatch.storage.shifts import IDLE_LASTS_MS, SHIFT_LASTS_MS
from holdwatch.views import words

_HOURS = SHIFT_LASTS_MS // MS_PER_HOUR


def page() -> None:
    """Draw who is on shift, and what can be done about it here."""
    st.html(sheet.heading(_("Shift")))
    forms.confirmation()
    signed = signedin.here()
    if signed is None:
        st.html(
            f'<div class="hw hw-line">{_("Nobody has been entered yet, so nobody signs in.")} '
            f'<a href="/setup" target="_self">{_("Enter the first manager")}</a>.</div>'
        )
    elif signed.kitchen:
        _kitchen(signed)
        alone.draw(signed)
        unsigned.draw(signed)
    else:
        said = _(
            "{name} ({role}) is signed in on this browser, until {time}, or until it was not touched for {length}."
        )
        said = said.format(
            name=signed.name,
            role=_(signed.role),
            time=words.clock_time(signed.on_shift[0].until_ms, data.site().zone),
            length=words.length(IDLE_LASTS_MS),
        )
        st.html(f"{sheet.line(said)}{_way_out()}")
        alone.draw(signed)
        unsigned.draw(signed)


def _kitchen(signed: SignedIn) -> None:
    """Draw the shifts of the kitchen's own screen."""
    zone = data.site().zone
    st.html(
        sheet.small_print(
            _(
                "Whoever is on shift here may start, move and read, with one touch on their name. What becomes of food, a correction and a verification take the PIN each time. A shift ends by itself after {hours} h."
            ).format(hours=_HOURS)
        )
    )
    if not signed.on_shift:
        st.html(sheet.line(_("Nobody is on shift here.")))
    for each in signed.on_shift:
        with st.container(horizontal=True, key=f"shift-{each.person}", vertical_alignment="center"):
            st.html(
                f'<div class="hw hw-name">{sheet.esc(each.initials)} · {sheet.esc(each.name)}</div>'
                + sheet.line(
                    _("since {time}, until {until} at the latest").format(
                        time=words.clock_time(each.from_ms, zone), until=words.clock_time(each.until_ms, zone)
                    )
                )
            )
            if st.button(
                _("{initials} leaves").format(initials=sheet.plain(each.initials)), key=f"leave-{each.person}"
            ) and shift_data.leave(by=each.name):
                forms.say(_("{name} is on shift here no more.").format(name=each.name))
                st.rerun()
    _begin(signed)
    st.html(_way_out())


def _way_out() -> str:
    return f'<div class="hw hw-line"><a href="/sign-out" target="_self">{_("Sign out here")}</a></div>'


def _begin(signed: SignedIn) -> None:
    """Draw the names of those who are not on shift, a touch each, and the PIN."""
    here = {each.name for each in signed.on_shift}
    absent = [name for name in data.people() if name not in here]
    if not absent:
        return
    key = forms.fresh("begin")
    st.html(sheet.heading(_("Begin a shift"), 2))
    with st.form(key):
        name = st.pills(_("Who"), absent, format_func=sheet.plain, key=f"{key}-name")
        pin = st.text_input("PIN", type="password", key=f"{key}-pin", max_chars=12, autocomplete="off")
        pressed = st.form_submit_button(_("Begin my shift"), type="primary")
    if pressed and shift_data.begin(by=str(name or ""), pin=pin):
        forms.recorded("begin", _("{name} is on shift here.").format(name=name))


page()
