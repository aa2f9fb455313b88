"""A switch that a browser keeps: what was chosen on the wall tablet is still chosen after a reload."""

import streamlit as st

from dashboards.parts.at_first import at_first

__all__ = ["switch"]

_KEPT_S = 365 * 24 * 3600


def switch(label: str, *, key: str, cookie: str) -> bool:
    """Draw a switch, off at first; its choice stays with this browser for a year."""
    chosen = f"{key}-chosen"
    was_on = at_first(key, st.context.cookies.get(cookie) == "on")
    on = st.toggle(label, was_on, key=key, on_change=lambda: st.session_state.update({chosen: True}))
    if st.session_state.get(chosen):
        st.html(
            f'<script>document.cookie="{cookie}={"on" if on else "off"}; path=/; max-age={_KEPT_S}; SameSite=Lax"</script>',
            unsafe_allow_javascript=True,
        )
    return bool(on)
