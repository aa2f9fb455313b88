"""The boiling check of a probe."""

import streamlit as st

from dashboards.parts import pictures
from dashboards.parts.calculators import fields, room
from holdwatch.calculators.answer import Answer
from holdwatch.calculators.boil import ASKED_C, boiling_answer
from holdwatch.language import _
from holdwatch.quantities import Scale, to_scale
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
    scale = Scale(site.scale)
    fields.show(
        lambda: boiling_answer(here, shows_c=shows.value, in_ice_c=in_ice.value, scale=scale),
        lambda answer: _picture(answer, scale),
    )


def _picture(answer: Answer, scale: Scale) -> pictures.Picture:
    """Draw how far the probe is off against what is asked of it; before it was tried, where water boils here."""
    checks = answer.data["checks"]
    if not checks:
        at_c, error_c = answer.data["boils_at_c"], answer.data["error_c"]
        low, middle, high = (float(to_scale(at_c + part, scale)) for part in (-error_c, 0.0, error_c))
        sea_level = pictures.Mark(float(to_scale(100.0, scale)), _("at sea level"))
        return pictures.spans(
            [pictures.Span(_("Here"), low, high, middle)],
            title=_("Water boils at (°{scale})").format(scale=scale),
            marks=[sea_level],
        )
    degree = 1.8 if scale is Scale.F else 1.0
    asked = ASKED_C[scale] * degree
    return pictures.spans(
        [
            pictures.Span(
                row[0],
                degree * (check["off_c"] - check["error_c"]),
                degree * (check["off_c"] + check["error_c"]),
                degree * check["off_c"],
            )
            for row, check in zip(answer.rows, checks, strict=True)
        ],
        title=_("Off by (°{scale})").format(scale=scale),
        marks=[pictures.Mark(-asked, f"−{asked:g}"), pictures.Mark(asked, f"+{asked:g}")],
    )
