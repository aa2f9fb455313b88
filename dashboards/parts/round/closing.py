"""Closing: what will not make it through the night, decided while somebody is there to do it."""

import streamlit as st

from dashboards import data, round_data
from dashboards.parts import forms, sheet
from dashboards.parts.calculators import cool_faster
from dashboards.parts.round import listed
from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage.tables import EventKind
from holdwatch.views import words
from holdwatch.views.daily import read_back
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Ask when somebody is back, draw the list, and take that it was gone through."""
    back = _back(site)
    if back is None:
        return
    found = round_data.closing(back)
    st.html(
        sheet.small_print(
            _("Until {time} nobody is here: decide now. {hot}").format(
                time=words.clock_words(back, site.zone), hot=_(sheet.HOT)
            )
        )
    )
    listed.show(found.parts)
    if found.parts[0].lines:
        with st.expander(_("What would cool it fast enough?")):
            cool_faster.draw(site)
    listed.gone_through(EventKind.CLOSING, found, back)


def _back(site: SiteView) -> int | None:
    expected = round_data.back_ms()
    text = st.text_input(
        _("When is somebody here again?"),
        key="round-back",
        placeholder=words.clock_time(expected, site.zone),
        help=_("Local time, {zone}; empty: the time of the last opening.").format(zone=site.zone),
        max_chars=25,
    )
    if not text.strip():
        return expected
    try:
        return read_back(text, data.now_ms(), site.zone)
    except ConfigError as exc:
        forms.problem(f"{sheet.sentence(str(exc))}.")
        return None
