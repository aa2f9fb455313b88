"""How cold it is where food is put to cool: asked once, for every calculator that needs it."""

import streamlit as st

from dashboards.parts.calculators import fields
from holdwatch.calculators.cooling_places import PLACES, Way
from holdwatch.language import N_, _
from holdwatch.quantities import format_temperature
from holdwatch.views.model import SiteView

__all__ = ["ask"]

_WAYS = {
    N_("Room"): (Way.BENCH,),
    N_("Walk-in"): (Way.WALK_IN,),
    N_("Freezer"): (Way.FREEZER,),
    N_("Blast chiller"): (Way.BLAST,),
    N_("Ice bath"): (Way.ICE, Way.STIRRED),
}


def ask(site: SiteView) -> dict[Way, float] | None:
    """Ask how cold it is where, as far as somebody knows, in °C; ``None`` where a field cannot be read."""
    known: dict[Way, float] = {}
    wrong = False
    with st.expander(_("How cold it is there, where you know it")):
        for name, ways in _WAYS.items():
            usual = format_temperature(PLACES[ways[0]].celsius, site.scale, 0)
            written = fields.optional(
                f"{_(name)} (°{site.scale})",
                f"place-{ways[0]}",
                fields.degrees(site),
                hint=_("taken as {usual}").format(usual=usual),
            )
            wrong = wrong or written.wrong
            if written.value is not None:
                known.update(dict.fromkeys(ways, written.value))
    return None if wrong else known
