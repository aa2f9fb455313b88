"""Calculators: what the trade reckons by guess, each with its formula, range, error, source and caution."""

import streamlit as st

from dashboards import data
from dashboards.parts import calculators, sheet


def choose() -> str:
    """Ask which calculator; the choice stays in the address."""
    if "calculator" not in st.session_state:
        wanted = st.query_params.get("calculator", "")
        st.session_state["calculator"] = wanted if wanted in calculators.PANELS else next(iter(calculators.PANELS))
    chosen = st.pills(
        "Calculator",
        list(calculators.PANELS),
        format_func=calculators.PANELS.__getitem__,
        required=True,
        key="calculator",
        label_visibility="collapsed",
    )
    st.query_params["calculator"] = str(chosen)
    return str(chosen)


st.html(sheet.heading("Calculators"))
st.html(sheet.small_print("Estimates to work by: none of them is a verdict, and none changes a limit."))
chosen = choose()
st.html(sheet.heading(calculators.PANELS[chosen], 2))
calculators.draw(chosen, data.site())
