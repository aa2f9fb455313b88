"""What a field or a choice begins with."""

from typing import TypeVar

import streamlit as st

__all__ = ["at_first"]

T = TypeVar("T")


def at_first(key: str, value: T) -> T:
    """Return what the widget of this key is drawn with: the same for as long as it is drawn, then the value anew.

    It is handed to the widget, and not put under its key: Streamlit sends what stands there to the browser in that run
    alone, and a fast hand elsewhere on the page breaks that run off. The browser would show nothing, and say so next.
    """
    begun = f"{key}-at-first"
    if key not in st.session_state or begun not in st.session_state:
        st.session_state[begun] = value
    begins: T = st.session_state[begun]
    return begins
