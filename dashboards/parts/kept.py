"""What a browser keeps: what was chosen on the wall tablet is still chosen after a reload."""

from urllib.parse import quote

import streamlit as st

from dashboards.parts.at_first import at_first

__all__ = ["keep", "switch"]

_KEPT_S = 365 * 24 * 3600


def switch(label: str, *, key: str, cookie: str) -> bool:
    """Draw a switch, off at first; its choice stays with this browser for a year."""
    chosen = f"{key}-chosen"
    was_on = at_first(key, st.context.cookies.get(cookie) == "on")
    on = st.toggle(label, was_on, key=key, on_change=lambda: st.session_state.update({chosen: True}))
    if st.session_state.get(chosen):
        keep(cookie, "on" if on else "off", _KEPT_S)
    return bool(on)


def keep(cookie: str, value: str, for_s: int) -> None:
    """Have the browser of this page keep a value, written without anything that a cookie cannot hold, for a time [s]."""
    st.html(
        f'<script>document.cookie="{cookie}={quote(value, safe="")}; path=/; max-age={for_s}; SameSite=Lax"</script>',
        unsafe_allow_javascript=True,
    )
