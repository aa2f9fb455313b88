"""In which language, and in which degrees, a page speaks: as chosen here, else the person's, else the site's.

Streamlit draws a page in a thread of its own, and what a page repeats without drawing the rest of it in another: so
the language is said at the beginning of both.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

import streamlit as st

from dashboards import signedin
from holdwatch.language import LANGUAGES, speak, spoken

__all__ = ["chooser", "repeated", "speak_here"]

_CHOSEN = "language-chosen"


def speak_here() -> None:
    """Speak from now on what is spoken on the browser of the page that is being drawn."""
    chosen = str(st.session_state.get(_CHOSEN) or "")
    speak(chosen or signedin.language_of(signedin.here()))


def repeated(every_s: float) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Make a part of a page that is drawn again every so often [s], in the language of the page."""

    def made(draw: Callable[..., None]) -> Callable[..., None]:
        @wraps(draw)
        def spoken_here(*args: Any, **kwargs: Any) -> None:
            speak_here()
            draw(*args, **kwargs)

        return st.fragment(spoken_here, run_every=every_s)

    return made


def chooser() -> None:
    """Offer the languages, each by its own name, for as long as this browser shows the page."""
    chosen = st.segmented_control(
        "Language · Idioma · Langue",
        list(LANGUAGES),
        format_func=LANGUAGES.__getitem__,
        default=spoken(),
        key=f"language-{spoken()}",  # another one each time, so that it shows what is spoken
        required=True,
        label_visibility="collapsed",
    )
    if chosen and chosen != spoken():
        st.session_state[_CHOSEN] = chosen
        st.rerun()
