"""Records: printing, going over days, checking probes, and whether all of it is whole."""

import streamlit as st

from dashboards import data
from dashboards.parts import forms, sheet
from dashboards.parts import records as panels


def choose() -> str:
    """Ask what is to be done; the choice stays in the address."""
    if "records-part" not in st.session_state:
        wanted = st.query_params.get("part", "")
        st.session_state["records-part"] = wanted if wanted in panels.PANELS else next(iter(panels.PANELS))
    chosen = st.pills(
        "What to do with the record",
        list(panels.PANELS),
        format_func=lambda name: panels.PANELS[name][0],
        required=True,
        key="records-part",
        label_visibility="collapsed",
    )
    st.query_params["part"] = str(chosen)
    return str(chosen)


st.html(sheet.heading("Records"))
forms.confirmation()
chosen = choose()
st.html(sheet.heading(panels.PANELS[chosen][0], 2))
panels.draw(chosen, data.site())
