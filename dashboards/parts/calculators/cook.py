"""Cooking an egg mixture: the rows of the code, and what the heat is estimated to have done."""

import streamlit as st

from dashboards import data
from dashboards.parts.calculators import fields
from holdwatch.calculators.cook import cook_answer
from holdwatch.calculators.course import read_lines
from holdwatch.language import _
from holdwatch.measures import difference_c
from holdwatch.science.lethality import MEDIA
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Ask for the mixture, its course on the heat and what the probe may be off."""
    egg = st.selectbox(
        _("What is cooked"), list(MEDIA), index=None, key="cook-egg", format_func=lambda n: _(MEDIA[n].title)
    )
    course = fields.lines(
        _("Its temperature, at which minute, or for how long"),
        "cook-course",
        read_lines,
        hint="68F at 0\n140F at 4\n160F at 9",
    )
    off_c = fields.field(_("The probe may be off by"), "cook-tolerance", difference_c, at_first="1C")
    if egg is None or course is None or off_c is None:
        return
    fields.show(lambda: cook_answer(course, MEDIA[egg], data.limits_in_force(), tolerance_c=off_c, scale=site.scale))
