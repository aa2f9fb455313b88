"""What is done in the course of a day beside the batches: one file each, drawn by name."""

from collections.abc import Callable

from dashboards.parts.round import breakdown, closing, deliveries, opening, out_of_use, visits
from holdwatch.language import N_
from holdwatch.views.model import SiteView

__all__ = ["PANELS", "draw"]

PANELS: dict[str, tuple[str, Callable[[SiteView], None]]] = {
    "closing": (N_("Closing"), closing.draw),
    "opening": (N_("Opening"), opening.draw),
    "deliveries": (N_("Deliveries"), deliveries.draw),
    "breakdown": (N_("Breakdown"), breakdown.draw),
    "out-of-use": (N_("Out of use"), out_of_use.draw),
    "visits": (N_("Officer's visit"), visits.draw),
}


def draw(name: str, site: SiteView) -> None:
    """Draw one of them."""
    PANELS[name][1](site)
