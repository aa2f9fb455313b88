"""What is done with the record as a whole: one file each, drawn by name."""

from collections.abc import Callable

from dashboards.parts.records import (
    checking,
    going_over,
    handing,
    printing,
    reading_files,
    recalling,
    typing_in,
    wholeness,
)
from holdwatch.language import N_
from holdwatch.views.model import SiteView

__all__ = ["PANELS", "draw"]

PANELS: dict[str, tuple[str, Callable[[SiteView], None]]] = {
    "print": (N_("Print"), printing.draw),
    "sheet": (N_("Written by hand"), typing_in.draw),
    "file": (N_("A logger's file"), reading_files.draw),
    "days": (N_("Go over days"), going_over.draw),
    "recall": (N_("Recall"), recalling.draw),
    "probes": (N_("Check a probe"), checking.draw),
    "whole": (N_("Is it whole?"), wholeness.draw),
    "hand": (N_("Hand it over"), handing.draw),
}


def draw(name: str, site: SiteView) -> None:
    """Draw one of them."""
    PANELS[name][1](site)
