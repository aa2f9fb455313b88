"""pH and water activity against tables A and B."""

import streamlit as st

from dashboards.parts.calculators import fields
from holdwatch.calculators.tcs import DONE, Measured, read_number, tables_answer
from holdwatch.language import _
from holdwatch.rules.tcs import Heated
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:  # noqa: ARG001  every calculator is drawn with the site
    """Ask for pH, water activity and what was done with the food, and show what the tables say."""
    left, right = st.columns(2)
    with left:
        ph = fields.field("pH", "control-ph", read_number, hint="4.6")
        ph_error = fields.field(_("pH may be off by"), "control-ph-error", read_number, at_first="0.1")
    with right:
        water = fields.field(_("Water activity"), "control-aw", read_number, hint="0.91")
        water_error = fields.field(_("Water activity may be off by"), "control-aw-error", read_number, at_first="0.005")
    heated = st.radio(
        _("The food was"), list(DONE), index=None, format_func=lambda each: _(DONE[each]), key="control-heated"
    )
    if ph is None or ph_error is None or water is None or water_error is None:
        return
    made = Heated(heated) if heated is not None else None
    fields.show(lambda: tables_answer(Measured(ph, ph_error), Measured(water, water_error), made))
