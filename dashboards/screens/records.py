"""Records: printing, going over days, checking probes, and whether all of it is whole."""

import streamlit as st

from dashboards import data
from dashboards.parts import beginning, choosing, forms, sheet
from dashboards.parts import records as panels
from holdwatch.language import _

st.html(sheet.heading(_("Records")))
forms.confirmation()
beginning.nothing_yet()
names = {word: panel[0] for word, panel in panels.PANELS.items()}
chosen = choosing.part_of(names, label=_("What to do with the record"), key="records-part")
st.html(sheet.heading(_(names[chosen]), 2))
panels.draw(chosen, data.site())
