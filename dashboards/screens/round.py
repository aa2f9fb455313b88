"""Opening and closing: the day's round, and what comes to the door."""

import streamlit as st

from dashboards import data
from dashboards.parts import beginning, choosing, forms, sheet
from dashboards.parts import round as panels
from holdwatch.language import _

st.html(sheet.heading(_("Opening and closing")))
forms.confirmation()
beginning.nothing_yet()
names = {word: panel[0] for word, panel in panels.PANELS.items()}
chosen = choosing.part_of(names, label=_("Part of the round"), key="round-part")
st.html(sheet.heading(_(names[chosen]), 2))
panels.draw(chosen, data.site())
