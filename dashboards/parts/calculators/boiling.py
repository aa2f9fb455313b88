"""The boiling check of a probe."""

import streamlit as st

from dashboards.parts.calculators import fields, room
from holdwatch.calculators.boil import boiling_answer
from holdwatch.language import _
from holdwatch.quantities import Scale
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Ask where the kitchen is and what the probe shows, and tell where water boils and how far the probe is off."""
    here = room.ask(site)
    left, right = st.columns(2)
    with left:
        shows = fields.optional(
            _("In boiling water it shows (°{scale})").format(scale=site.scale), "boiling-shows", fields.degrees(site)
        )
    with right:
        in_ice = fields.optional(
            _("In melting ice it shows (°{scale})").format(scale=site.scale), "boiling-ice", fields.degrees(site)
        )
    if here is None or shows.wrong or in_ice.wrong:
        return
    fields.show(lambda: boiling_answer(here, shows_c=shows.value, in_ice_c=in_ice.value, scale=Scale(site.scale)))
