"""Where the kitchen is: what the calculators ask that depend on the pressure of the air."""

import streamlit as st

from dashboards.parts.calculators import fields
from holdwatch.calculators.place import Place, place
from holdwatch.errors import HoldwatchError
from holdwatch.language import _
from holdwatch.measures import altitude_m, pressure_pa
from holdwatch.views.model import SiteView

__all__ = ["ask"]


def ask(site: SiteView) -> Place | None:
    """Ask for the altitude, at first the site's, or the pressure; ``None`` until it is known.

    Both calculators share what was typed. A pressure in the room stands in the place of the altitude.
    """
    left, middle, right = st.columns(3)
    with left:
        height = fields.optional(
            _("Altitude of the kitchen"), "room-altitude", altitude_m, begins=site.altitude, hint="5280ft"
        )
    with middle:
        room = fields.optional(_("Or barometer in the room"), "room-pressure", pressure_pa, hint="834hPa")
    with right:
        report = fields.optional(_("Weather report, with altitude"), "room-report", pressure_pa, hint="1013hPa")
    if height.wrong or room.wrong or report.wrong:
        return None
    if height.value is None and room.value is None and report.value is None:
        return None
    said = None if room.value is not None else height.value
    try:
        return place(pressure_pa=room.value, altitude_m=said, reported_pa=report.value)
    except HoldwatchError as exc:
        fields.trouble(exc)
        return None
