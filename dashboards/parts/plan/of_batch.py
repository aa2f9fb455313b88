"""What the plan says of a batch, on its page: what is still to be checked, and where it usually stands."""

import streamlit as st

from dashboards import data, plan_data
from dashboards.parts import sheet
from holdwatch.language import _
from holdwatch.views.model import BatchView

__all__ = ["draw"]


def draw(batch: BatchView) -> None:
    """Draw what is to be checked of a running batch's product; nothing where the plan has none, or all is answered."""
    found = plan_data.by_the_plan(batch.product, data.now_ms()) if batch.running else None
    if found is None:
        return
    start = found.start
    if start.to_check:
        until = " " + _("Until then {assumed}.").format(assumed="; ".join(start.taken_as)) if start.taken_as else ""
        st.html(sheet.trouble(_("To check: {to_check}{until}").format(to_check=" ".join(start.to_check), until=until)))
        st.page_link("screens/setup.py", label=_("Answer on the Set-up page"))
    if start.place:
        st.html(
            sheet.small_print(
                _("By the plan it usually stands in {place}; record where it does.").format(place=start.place)
            )
        )
