"""Colours, type and sizes: a ruled log sheet, alive. Screens and papers take them from here."""

from dataclasses import dataclass
from typing import Any

from holdwatch.quantities import Scale

__all__ = [
    "DEVIATION",
    "FAMILY",
    "FILL",
    "HATCH",
    "INK",
    "MUTED",
    "PAPER",
    "RULE",
    "SOON",
    "WHITE",
    "Look",
]

PAPER = "#FBF8F2"
WHITE = "#FFFFFF"
INK = "#1F2A33"
RULE = "#D9D2C5"
DEVIATION = "#7A1F4B"
SOON = "#966700"
"""Ochre, as light as a contrast of 4.5:1 on the sheet allows."""
MUTED = "#5B6369"
"""Secondary words and "not shown"."""
HATCH = "#8D9296"
"""Lines of a hatch; never text."""
FILL = "#EFE9DD"
"""What lies under the staircase: where the curve may be."""

NARROW_PX = 460

FAMILY = "'Source Sans', 'Source Sans Pro', 'Liberation Sans', Arial, sans-serif"


@dataclass(frozen=True)
class Look:
    """Where a chart will stand: whose time and unit, on what, and how large."""

    zone: str
    """IANA name of the site's time zone."""
    scale: Scale = Scale.F
    paper: bool = False
    width: int | None = None
    """In px; ``None`` fills the place it stands in (screens only)."""
    height: int = 380
    compact: bool = False
    """For a phone: fewer ticks, smaller words."""

    @property
    def room(self) -> int:
        """The width to plan labels for, in px."""
        if self.width is not None:
            return self.width
        return 300 if self.compact else 760

    @property
    def narrow(self) -> bool:
        """Whether words must be few."""
        return self.room < NARROW_PX

    @property
    def text(self) -> float:
        """Size of labels, in px."""
        if self.paper:
            return 10.5
        return 13 if self.narrow else 16

    @property
    def small(self) -> float:
        """Size of secondary labels, in px."""
        if self.paper:
            return 9
        return 12 if self.narrow else 14

    @property
    def stroke(self) -> float:
        """Width of the measured line, in px."""
        if self.paper:
            return 1.4
        return 2.6 if self.narrow else 3.2

    @property
    def ground(self) -> str:
        """The colour that the chart stands on."""
        return WHITE if self.paper else PAPER

    def config(self) -> dict[str, Any]:
        """Return the settings that every chart shares."""
        return {
            "background": self.ground,
            "font": FAMILY,
            "view": {"stroke": None},
            "axis": {
                "labelColor": INK,
                "labelFontSize": self.text,
                "titleColor": MUTED,
                "titleFontSize": self.small,
                "titleFontWeight": "normal",
                "gridColor": RULE,
                "gridWidth": 0.6 if self.paper else 1,
                "domainColor": INK,
                "tickColor": INK,
            },
            "text": {"fontSize": self.text, "color": INK},
        }
