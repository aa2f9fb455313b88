"""Papers of the record: set when they are asked for, then there to be taken."""

import streamlit as st

from dashboards import records_data, signedin
from dashboards.parts import sheet
from dashboards.parts.records import spans
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_PAPERS = {"US Letter": "letter", "A4": "a4"}
_LOG, _BATCH, _DAY = "The inspection log", "A batch", "A day"
_KINDS = {_LOG: "log", _BATCH: "batch", _DAY: "day", "Findings and actions": "findings", "Checks of probes": "checks"}


def draw(site: SiteView) -> None:
    """Draw what can be printed, and the file once it is set."""
    st.html(sheet.small_print(f"Days are those of {site.zone}. The paper says what it does not cover."))
    which = str(st.pills("Which paper", list(_KINDS), default=_LOG, required=True, key="records-kind"))
    size = str(st.pills("Paper", list(_PAPERS), default="US Letter", required=True, key="records-paper"))
    units: list[str] = []
    lots: list[str] = []
    if which == _BATCH:
        lot = st.selectbox("Batch", records_data.lots(), index=None, placeholder="Choose a lot", key="records-lot")
        if lot is None:
            return
        lots, days = [str(lot)], None
    else:
        days = spans.chosen("records-print", over=False)
        if days is None:
            return
        if which == _DAY and days[0] != days[1]:
            st.html(sheet.small_print("A day’s sheet is of one day: the last of these is taken."))
            days = days[1], days[1]
    if which == _LOG:
        with st.expander("Only some units or batches"):
            units = st.multiselect("Units (none: all of them)", records_data.unit_names(), key="records-units")
            lots = st.multiselect("Batches (none: all of them)", records_data.lots(), key="records-lots")
            st.html(sheet.small_print("Once one is chosen the paper has only these, and its first page says so."))
    asked = (which, size, days, tuple(units), tuple(lots))
    if st.button("Print", type="primary", key="records-print-set"):
        signed = signedin.here()
        by = signed.name if signed is not None and not signed.kitchen else ""
        with st.status("Gathering the record", expanded=False) as status:
            pdf = records_data.printed(
                _KINDS[which],
                days,
                tuple(units),
                tuple(lots),
                paper=_PAPERS[size],
                printed_by=by,
                tell=lambda what: status.update(label=what or "Done"),
            )
        st.session_state["records-log"] = None if pdf is None else (asked, pdf)
    made = st.session_state.get("records-log")
    if made is not None and made[0] == asked:
        of = lots if days is None else [str(day) for day in dict.fromkeys(days)]
        name = f"{'-'.join([_KINDS[which], *of])}.pdf"
        st.download_button(
            f"Take {sheet.plain(name)}", made[1], name, "application/pdf", type="primary", key="records-print-take"
        )
