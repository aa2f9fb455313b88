"""The stages of cooked sugar."""

from dashboards.parts.calculators import fields, room
from holdwatch.calculators.syrup import syrup_answer
from holdwatch.language import _
from holdwatch.quantities import Scale
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Ask where the kitchen is and what the thermometer shows, and tell the stages here."""
    here = room.ask(site)
    shows = fields.optional(
        _("The thermometer in the syrup shows (°{scale})").format(scale=site.scale), "sugar-shows", fields.degrees(site)
    )
    if here is None or shows.wrong:
        return
    fields.show(lambda: syrup_answer(here, at_c=shows.value, scale=Scale(site.scale)))
