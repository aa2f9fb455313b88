"""Calculators: what the trade reckons by guess, each with its formula, range, error, source and caution."""

import streamlit as st

from dashboards import data
from dashboards.parts import calculators, choosing, sheet
from holdwatch.language import _

st.html(sheet.heading(_("Calculators")))
st.html(sheet.small_print(_("Estimates to work by: none of them is a verdict, and none changes a limit.")))
chosen = choosing.part_of(calculators.PANELS, label=_("Calculator"), key="calculator", parameter="calculator")
st.html(sheet.heading(_(calculators.PANELS[chosen]), 2))
st.html(sheet.small_print(_("Fill in what you know: the answer stands below.")))
calculators.draw(chosen, data.site())
