"""The Bench at night: the same sheet with light ink on dark paper, so that a tablet on the wall dazzles nobody.

One filter turns all of it, words, charts and fields, and turns the hues back: plum stays reddish and ochre yellowish.
So nothing has to know a second set of colours, and nothing can be forgotten.
"""

import streamlit as st

from dashboards.parts import kept
from holdwatch.language import _

__all__ = ["COOKIE", "switch"]

COOKIE = "holdwatch-dark"
_STYLE = "<style>html { filter: invert(.93) hue-rotate(180deg); background: #fff; }</style>"


def switch() -> None:
    """Draw the switch; where it is on, the page is dark."""
    if kept.switch(_("Dark, for the night"), key="dark", cookie=COOKIE):
        st.html(_STYLE)
