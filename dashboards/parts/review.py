"""What a manager may look at when a finding is over and dealt with: how much worse it may have got."""

import streamlit as st

from dashboards import data, signedin
from dashboards.parts.calculators import fields
from holdwatch.language import _
from holdwatch.people.handling import Stage
from holdwatch.people.roles import Right, may
from holdwatch.views.model import FindingView

__all__ = ["draw"]


def draw(finding: FindingView) -> None:
    """Draw the growth that published models allow; for nobody but a manager, and never before the disposition."""
    now, signed = finding.handling, signedin.here()
    dealt_with = finding.closed_ms is not None and now.stage in {Stage.HANDLED, Stage.VERIFIED} and now.disposition
    if not dealt_with or signed is None or signed.kitchen or not may(signed.role, Right.VERIFY):
        return
    with st.expander(_("For your review: how much worse it may have got")):
        fields.show(lambda: data.growth_review(finding.id))
