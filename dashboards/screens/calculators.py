"""Calculators: what the trade reckons by guess, each with its formula, range, error, source and caution."""

import streamlit as st

from dashboards import data
from dashboards.parts import calculators, choosing, sheet

st.html(sheet.heading("Calculators"))
st.html(sheet.small_print("Estimates to work by: none of them is a verdict, and none changes a limit."))
chosen = choosing.part_of(calculators.PANELS, label="Calculator", key="calculator", parameter="calculator")
st.html(sheet.heading(calculators.PANELS[chosen], 2))
calculators.draw(chosen, data.site())
