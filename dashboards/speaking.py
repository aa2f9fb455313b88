"""In which language, and in which degrees, a page speaks: as chosen here, else the person's, else the site's.

Streamlit draws a page in a thread of its own, and what a page repeats without drawing the rest of it in another: so
the language is said at the beginning of both.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import unquote

import streamlit as st

from dashboards import signedin, speaking_data
from dashboards.parts import kept, sheet
from holdwatch.errors import HoldwatchError
from holdwatch.language import LANGUAGES, _, speak, spoken
from holdwatch.quantities import Scale

__all__ = ["COOKIE", "chooser", "repeated", "speak_here"]

_LANGUAGE, _DEGREES = "language-chosen", "degrees-chosen"
COOKIE = "holdwatch-speaks"
_KEPT_S = 12 * 3600  # a shift: most links of a page open the next one anew


def speak_here() -> None:
    """Speak from now on what is spoken on the browser of the page that is being drawn."""
    here = signedin.here()
    language, scale = _chosen(signedin.alone(here))
    speak(language or signedin.language_of(here), scale or signedin.scale_of(here))


def _chosen(name: str) -> tuple[str, str]:
    """Return language and degrees chosen on this page, or on one before it while the same person was alone before it."""
    language, _bar, rest = unquote(str(st.context.cookies.get(COOKIE, ""))).partition("|")
    scale, _bar, whose = rest.partition("|")
    if whose != name or language not in {"", *LANGUAGES} or scale not in {"", *Scale}:
        language = scale = ""
    return str(st.session_state.get(_LANGUAGE, language)), str(st.session_state.get(_DEGREES, scale))


def repeated(every_s: float) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Make a part of a page that is drawn again every so often [s], in the language of the page."""

    def made(draw: Callable[..., None]) -> Callable[..., None]:
        @wraps(draw)
        def spoken_here(*args: Any, **kwargs: Any) -> None:
            speak_here()
            draw(*args, **kwargs)

        return st.fragment(spoken_here, run_every=every_s)

    return made


def chooser(shown: str) -> None:
    """Offer the languages, each by its own name, and °F or °C: for this browser, and for as long as a shift.

    Whoever is alone before it may keep what they chose, for every screen of theirs. Where the degrees are not the site's,
    it says in which the watch's own sentences are.
    """
    with st.container(horizontal=True, key="speaking"):
        _choice("Language · Idioma · Langue", dict(LANGUAGES), spoken(), _LANGUAGE)
        _choice("°F °C", {"F": "°F", "C": "°C"}, shown, _DEGREES)
        _keep()
    own = speaking_data.site_speaks()[1]
    if own != shown:
        stand = _("reasons that were kept stand as they were written, in °{scale}").format(scale=own)
        st.html(sheet.quiet(f"{sheet.sentence(stand)}."))


def _keep() -> None:
    here = signedin.here()
    name = signedin.alone(here)
    language, scale = _chosen(name)
    if _LANGUAGE in st.session_state or _DEGREES in st.session_state:
        kept.keep(COOKIE, f"{language}|{scale}|{name}", _KEPT_S)
    before = signedin.language_of(here), signedin.scale_of(here)
    if not name or (language or before[0], scale or before[1]) == before:
        return
    if st.button(_("Keep it so for {name}").format(name=sheet.plain(name)), key="speaking-keep"):
        try:
            speaking_data.keep_for_myself(language, scale)
        except HoldwatchError as exc:
            st.error(sheet.plain(exc))
            return
        st.rerun()


def _choice(label: str, choices: dict[str, str], now: str, kept_as: str) -> None:
    chosen = st.segmented_control(
        label,
        list(choices),
        format_func=choices.__getitem__,
        default=now,
        key=f"{kept_as}-{now}",  # another one each time, so that it shows what holds
        required=True,
        label_visibility="collapsed",
    )
    if chosen and chosen != now:
        st.session_state[kept_as] = chosen
        st.rerun()
