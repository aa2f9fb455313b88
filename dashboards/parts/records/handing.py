"""Handing the record over: rows for another program, taken here or written on the machine; and to whom what is of use."""

import json

import streamlit as st

from dashboards import records_data
from dashboards.parts import sheet
from dashboards.parts.records import spans
from holdwatch.language import N_, _, thousands
from holdwatch.records.record import checker
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_WAYS = (
    (N_("An inspector, in print"), N_("the inspection log, under Print"), ""),
    (
        N_("A long time, or all of it"),
        N_("as below, on the machine itself"),
        "holdwatch export readings -o readings.csv",
    ),
    (
        N_("A technician who doubts"),
        N_("the whole record, and a program to check it"),
        "holdwatch export record -o record.jsonl",
    ),
)
_WHAT = {N_("Readings"): "readings", N_("Findings"): "findings", N_("What was done"): "events"}
_FORMS = {N_("CSV, for a spreadsheet"): "csv", N_("JSON lines"): "jsonl", N_("Parquet"): "parquet"}
_ROW_BYTES = {"csv": 90, "jsonl": 190, "parquet": 25}
"""Measured on readings; told as about."""
MOST_ROWS = 1_000_000
"""Ours: as many are made in this page's memory; more are written on the machine."""
_EVERY = N_("every probe")


def draw(_site: SiteView) -> None:
    """Draw what can be taken here, and the other ways."""
    _take()
    rows = [
        [sheet.esc(_(who)), sheet.esc(_(what)), f"<code>{sheet.esc(how)}</code>" if how else ""]
        for who, what, how in _WAYS
    ]
    st.html(sheet.table([_("For"), _("What"), _("On the machine")], rows))
    st.html(sheet.line(_("The program that checks a whole record needs neither Holdwatch nor this machine.")))
    st.download_button(
        _("Take {name}").format(name="check_record.py"),
        checker(),
        "check_record.py",
        "text/x-python",
        key="records-checker",
    )


def _take() -> None:
    """Ask what, of which days, in which form; tell how much it is, and make the file."""
    what = _WHAT[
        str(st.pills(_("What"), list(_WHAT), format_func=_, default="Readings", required=True, key="records-what"))
    ]
    days = spans.chosen("records-hand", over=False)
    if days is None:
        return
    form = _FORMS[str(st.radio(_("Form"), list(_FORMS), format_func=_, horizontal=True, key="records-form"))]
    probe = ""
    if what == "readings":
        chosen = st.selectbox(
            _("Probe"),
            [_EVERY, *records_data.probe_codes()],
            format_func=lambda code: _(code) if code == _EVERY else code,
            key="records-probe",
        )
        probe = "" if chosen == _EVERY else str(chosen)
    count = records_data.rows_there(what, days, probe)
    kilobytes = -(-count * _ROW_BYTES[form] // 1000)
    size = (
        _("{count} MB").format(count=thousands(round(kilobytes / 1000)))
        if kilobytes > 1000  # noqa: PLR2004  kB in an MB
        else _("{count} kB").format(count=thousands(kilobytes))
    )
    st.html(sheet.small_print(_("About {count} rows, {size}.").format(count=thousands(count), size=size)))
    if count > MOST_ROWS:
        st.html(sheet.trouble(_("That is too much for this page: choose fewer days, or write it on the machine.")))
        return
    asked = (what, days, form, probe)
    if st.button(_("Make the file"), type="primary", key="records-hand-make"):
        made = records_data.handed_over(what, days, form, probe)
        st.session_state["records-handed"] = None if made is None else (asked, *made)
    found = st.session_state.get("records-handed")
    if found is not None and found[0] == asked:
        name = f"{'-'.join([what, *dict.fromkeys(str(day) for day in days), *filter(None, [probe])])}.{form}"
        about = json.dumps(found[2], ensure_ascii=False, indent=2)
        st.download_button(_("Take {name}").format(name=name), found[1], name, type="primary", key="records-hand-take")
        st.download_button(
            _("Take what its columns mean"),
            about,
            f"{name}.dictionary.json",
            "application/json",
            key="records-hand-about",
        )
