"""Opening and closing: the day's round, and what comes to the door."""

import streamlit as st

from dashboards import data
from dashboards.parts import forms, sheet
from dashboards.parts import round as panels


def choose() -> str:
    """Ask which part of the round; the choice stays in the address."""
    if "round-part" not in st.session_state:
        wanted = st.query_params.get("part", "")
        st.session_state["round-part"] = wanted if wanted in panels.PANELS else next(iter(panels.PANELS))
    chosen = st.pills(
        "Part of the round",
        list(panels.PANELS),
        format_func=lambda name: panels.PANELS[name][0],
        required=True,
        key="round-part",
        label_visibility="collapsed",
    )
    st.query_params["part"] = str(chosen)
    return str(chosen)


st.html(sheet.heading("Opening and closing"))
forms.confirmation()
chosen = choose()
st.html(sheet.heading(panels.PANELS[chosen][0], 2))
panels.draw(chosen, data.site())
