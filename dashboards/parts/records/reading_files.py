"""A logger's file as evidence: of a unit that it stood in, or of a probe where it stood."""

from typing import Any

import streamlit as st

from dashboards import data, records_data
from dashboards.parts import logger_file, sheet
from holdwatch.language import N_, _
from holdwatch.views import words
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_OWN = N_("where the probe is recorded")


def draw(site: SiteView) -> None:
    """Draw the form."""
    st.html(
        sheet.small_print(
            _(
                "Its readings are judged and sealed like others, and marked on screen and paper as read from a logger’s file, with the file, its digest and who brought it. A time without an offset is that of {zone}. A logger that travelled with a batch is read back under Away on the batch’s page."
            ).format(zone=site.zone)
        )
    )
    logger_file.draw("logger-file", _("Keep its readings"), _where, data.read_file)


def _where(key: str) -> dict[str, Any]:
    """Ask where it stood and what it measured."""
    unit = st.selectbox(
        _("It stood in"),
        [*records_data.unit_names(), _OWN],
        format_func=lambda each: _(each) if each == _OWN else each,
        key=f"{key}-unit",
    )
    medium = st.radio(
        _("What it measured"),
        ["food", "air", "product"],
        format_func=words.medium,
        key=f"{key}-medium",
        horizontal=True,
    )
    return {"unit": None if unit == _OWN else unit, "medium": medium}
