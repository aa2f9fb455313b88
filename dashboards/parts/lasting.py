"""What lets a page stand for weeks: it says in words that the server is lost, and is loaded afresh every hour.

Streamlit joins a page to its server again by itself, with what was being typed. A browser that is told something new
every two seconds keeps a little of each, so a page that nobody has touched for a while is loaded anew, never
while a field holds text and only when the server has just answered. Where the page was scrolled to is kept, what is
chosen stands in the address.
"""

import json
from importlib.resources import files

import streamlit as st

from dashboards import data
from dashboards.parts.unheard import COOKIE
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import N_, _

__all__ = ["script"]

_QUIET_MS = 2 * MS_PER_MINUTE
_LOST = N_(
    "The server of these screens is not heard since {at}. What stands here is of then. It comes back by itself; leave "
    "what you are writing as it is."
)


def script() -> None:
    """Put it on the page; the first page that a browser opens starts it, and it runs on from page to page."""
    afresh_ms = data.settings().reload_every_ms
    told = {"lost": _(_LOST), "sound": COOKIE, "afreshMs": afresh_ms, "quietMs": min(_QUIET_MS, afresh_ms // 4)}
    code = files("dashboards.parts").joinpath("lasting.js").read_text(encoding="utf-8")
    written = json.dumps(told).replace("</", "<\\/")
    st.html(f"<script>{code.replace('HOLDWATCH_TOLD', written)}</script>", unsafe_allow_javascript=True)
