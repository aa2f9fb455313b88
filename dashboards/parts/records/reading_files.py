"""A logger's file as evidence: of a unit that it stood in, or of a probe where it stood."""

import streamlit as st

from dashboards import data, records_data
from dashboards.parts import forms, logger_file, sheet
from holdwatch.language import N_, _
from holdwatch.views import words
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_OWN = N_("where the probe is recorded")


def draw(site: SiteView) -> None:
    """Draw the form; what is wrong with a file is told row by row, and then nothing of it is kept."""
    st.html(
        sheet.small_print(
            _(
                "Its readings are judged and sealed like others, and marked on screen and paper as read from a logger’s file, with the file, its digest and who brought it. A time without an offset is that of {zone}. A logger that travelled with a batch is read back under Away on the batch’s page."
            ).format(zone=site.zone)
        )
    )
    key = "logger-file"
    fresh = forms.fresh(key)
    with st.form(fresh):
        asked = logger_file.fields(fresh)
        unit = str(
            st.selectbox(
                _("It stood in"),
                [*records_data.unit_names(), _OWN],
                format_func=lambda each: _(each) if each == _OWN else each,
                key=f"{fresh}-unit",
            )
        )
        medium = str(
            st.radio(
                _("What it measured"),
                ["food", "air", "product"],
                format_func=words.medium,
                key=f"{fresh}-medium",
                horizontal=True,
            )
        )
        slot = st.empty()
        by = forms.who(fresh)
        if not st.form_submit_button(_("Keep its readings"), type="primary"):
            return
        with slot:
            if asked.file is None or not asked.logger:
                forms.problem(_("Choose the file, and say what the logger is called."))
                return
            with logger_file.aside(asked.file) as kept:
                said = data.read_file(
                    kept,
                    logger=asked.logger,
                    medium=medium,
                    unit=None if unit == _OWN else unit,
                    dates=asked.dates,
                    leave_out=asked.leave_out,
                    by=by,
                )
        if said:
            forms.recorded(key, said)
