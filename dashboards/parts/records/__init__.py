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
from holdwatch.views.model import SiteView

__all__ = ["PANELS", "draw"]

PANELS: dict[str, tuple[str, Callable[[SiteView], None]]] = {
    "print": ("Print", printing.draw),
    "sheet": ("Written by hand", typing_in.draw),
    "file": ("A logger's file", reading_files.draw),
    "days": ("Go over days", going_over.draw),
    "recall": ("Recall", recalling.draw),
    "probes": ("Check a probe", checking.draw),
    "whole": ("Is it whole?", wholeness.draw),
    "hand": ("Hand it over", handing.draw),
}


def draw(name: str, site: SiteView) -> None:
    """Draw one of them."""
    PANELS[name][1](site)
