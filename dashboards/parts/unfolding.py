"""What is drawn once somebody unfolds it, and not at each refresh of a page on which nobody looks at it."""

from collections.abc import Callable

import streamlit as st

__all__ = ["unfold"]


def unfold(label: str, draw: Callable[[], object], *, key: str) -> None:
    """Offer something that is made when it is unfolded, and that stays unfolded while the page draws itself again.

    Parameters
    ----------
    label : what it is called. It has no count in it: under another name it would be another one, and folded again.
    draw : draws it.
    key : what it is known by, its own on a page.
    """
    part = st.expander(label, key=key, on_change="rerun")
    if part.open:
        with part:
            draw()
