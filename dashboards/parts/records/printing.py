"""The inspection log on paper: set when it is asked for, then there to be taken."""

import streamlit as st

from dashboards import records_data, signedin
from dashboards.parts import sheet
from dashboards.parts.records import spans
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_PAPERS = {"US Letter": "letter", "A4": "a4"}


def draw(site: SiteView) -> None:
    """Draw what can be printed, and the file once it is set."""
    st.html(sheet.small_print(f"Days are those of {site.zone}. The paper says what it does not cover."))
    size = str(st.radio("Paper", list(_PAPERS), horizontal=True, key="records-paper"))
    days = spans.chosen("records-print", over=False)
    if days is None:
        return
    if st.button("Set the pages", type="primary", key="records-print-set"):
        signed = signedin.here()
        by = signed.name if signed is not None and not signed.kitchen else ""
        with st.status("Gathering the record", expanded=False) as status:
            pdf = records_data.printed(
                *days, paper=_PAPERS[size], printed_by=by, tell=lambda what: status.update(label=what or "Done")
            )
        st.session_state["records-log"] = None if pdf is None else (days, size, pdf)
    made = st.session_state.get("records-log")
    if made is not None and made[:2] == (days, size):
        name = f"log-{days[0]}-{days[1]}.pdf" if days[0] != days[1] else f"log-{days[0]}.pdf"
        st.download_button(f"Take {name}", made[2], name, "application/pdf", type="primary", key="records-print-take")
