"""Handing the record over: how, and to whom it is of use."""

import streamlit as st

from dashboards.parts import sheet
from holdwatch.records.record import checker
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_WAYS = (
    ("An inspector, in print", "the inspection log, under Print", ""),
    ("A spreadsheet", "readings, findings or events, a line each", "holdwatch export readings -o readings.csv"),
    ("Another program", "the same as JSON lines", "holdwatch export findings --format jsonl -o findings.jsonl"),
    (
        "A technician who doubts",
        "the whole record, and a program to check it",
        "holdwatch export record -o record.jsonl",
    ),
)


def draw(_site: SiteView) -> None:
    """Draw the ways; a whole record may be large, so it is written on the machine itself."""
    rows = [
        [sheet.esc(who), sheet.esc(what), f"<code>{sheet.esc(how)}</code>" if how else ""] for who, what, how in _WAYS
    ]
    st.html(sheet.table(["For", "What", "On the machine"], rows))
    st.html(
        '<div class="hw hw-line">The program that checks a whole record needs neither Holdwatch nor this machine.</div>'
    )
    st.download_button("Take check_record.py", checker(), "check_record.py", "text/x-python", key="records-checker")
