"""Records: printing, going over days, checking probes, and whether all of it is whole."""

import streamlit as st

from dashboards import data
from dashboards.parts import choosing, forms, sheet
from dashboards.parts import records as panels

st.html(sheet.heading("Records"))
forms.confirmation()
names = {word: panel[0] for word, panel in panels.PANELS.items()}
chosen = choosing.part_of(names, label="What to do with the record", key="records-part")
st.html(sheet.heading(names[chosen], 2))
panels.draw(chosen, data.site())
