"""Cooking an egg mixture: the rows of the code, and what the heat is estimated to have done."""

import streamlit as st

from dashboards import data
from dashboards.parts import pictures
from dashboards.parts.calculators import fields
from holdwatch.calculators.cook import cook_answer
from holdwatch.calculators.course import read_lines
from holdwatch.language import _
from holdwatch.limits.model import CookingLimits, Limits
from holdwatch.measures import difference_c
from holdwatch.quantities import Scale, format_difference, to_scale
from holdwatch.readings import Series
from holdwatch.rules.verdicts import Process
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
    off_c = fields.field(_("The probe may be off by"), "cook-tolerance", difference_c, begins="1C")
    if egg is None or course is None or off_c is None:
        return
    limits, scale = data.limits_in_force(), Scale(site.scale)
    fields.show(
        lambda: cook_answer(course, MEDIA[egg], limits, tolerance_c=off_c, scale=scale),
        lambda _answer: _picture(course, limits, off_c, scale),
    )


def _picture(course: Series, limits: Limits, off_c: float, scale: Scale) -> pictures.Picture:
    """Draw the course as it was read and as the gates take it, and every row of the code."""
    table = limits.part(Process.COOK_EGGS.value, CookingLimits)
    rows = [] if table is None else table.rows
    less = _("less {error}").format(error=format_difference(off_c, scale, 1))
    return pictures.courses(
        [
            pictures.Course(name, fields.points(course, scale, -part_c))
            for name, part_c in ((_("as read"), 0.0), (less, off_c))
        ],
        title=f"°{scale}",
        minutes=_("Minutes"),
        marks=[pictures.Mark(float(to_scale(row.level.celsius, scale)), str(row)) for row in rows],
    )
