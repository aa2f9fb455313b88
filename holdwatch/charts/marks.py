"""The words that screens and papers show, each with a shape of its own, so that no colour has to be told from another.

A shape is an outline in the square from −1 to 1, filled in one colour; charts, screens and papers draw the same one.
"""

from enum import StrEnum

from holdwatch.charts.theme import DEVIATION, INK, MUTED, SOON
from holdwatch.language import N_, _
from holdwatch.rules.verdicts import Verdict

__all__ = ["COLOURS", "SHAPES", "Mark", "mark_of", "mark_svg"]


class Mark(StrEnum):
    """The word that a screen or paper shows."""

    KEPT = N_("kept")
    DEVIATION = N_("deviation")
    NOT_SHOWN = N_("not shown")
    RUNNING = N_("running")
    NO_LIMIT = N_("no limit asked")
    SOON = N_("soon")

    @property
    def said(self) -> str:
        """The word in the language that is spoken."""
        return _(self.value)


_MARKS = {
    Verdict.MET: Mark.KEPT,
    Verdict.MISSED: Mark.DEVIATION,
    Verdict.UNPROVEN: Mark.NOT_SHOWN,
    Verdict.OPEN: Mark.RUNNING,
    Verdict.NONE: Mark.NO_LIMIT,
}

# Outer edge one way round, inner edge the other: what lies between is filled.
_FRAME = "M-1,-1L1,-1L1,1L-1,1ZM-0.72,-0.72L-0.72,0.72L0.72,0.72L0.72,-0.72Z"
_HATCH = (
    "M-0.9,-0.2L-0.2,-0.9L0.08,-0.9L-0.9,0.08ZM-0.9,0.62L0.62,-0.9L0.9,-0.9L-0.9,0.9Z"
    "M-0.4,0.9L0.9,-0.4L0.9,-0.12L-0.12,0.9ZM0.42,0.9L0.9,0.42L0.9,0.7L0.7,0.9Z"
)

SHAPES = {
    Mark.KEPT: _FRAME,
    Mark.DEVIATION: "M-1,-1L1,-1L1,1L-1,1Z",
    Mark.SOON: "M-1,-1L1,-1L1,1L-1,1ZM0,-0.72L0,0.72L0.72,0.72L0.72,-0.72Z",
    Mark.NOT_SHOWN: _FRAME + _HATCH,
    Mark.RUNNING: "M-1,0A1,1,0,1,1,1,0A1,1,0,1,1,-1,0ZM-0.7,0A0.7,0.7,0,1,0,0.7,0A0.7,0.7,0,1,0,-0.7,0Z",
    Mark.NO_LIMIT: "M-1,-0.14L1,-0.14L1,0.14L-1,0.14Z",
}

COLOURS = {
    Mark.KEPT: INK,
    Mark.DEVIATION: DEVIATION,
    Mark.SOON: SOON,
    Mark.NOT_SHOWN: MUTED,
    Mark.RUNNING: INK,
    Mark.NO_LIMIT: MUTED,
}


def mark_of(verdict: Verdict) -> Mark:
    """Return the screen word of a verdict."""
    return _MARKS[verdict]


def mark_svg(mark: Mark, size: int = 18) -> str:
    """Return the shape as a small inline SVG, named for screen readers; not shown also carries its question mark."""
    asks = (
        '<text x="0" y="0.62" text-anchor="middle" font-size="1.75" font-weight="700" '
        f'stroke="#FFFFFF" stroke-width="0.5" paint-order="stroke" fill="{INK}">?</text>'
        if mark is Mark.NOT_SHOWN
        else ""
    )
    return (
        f'<svg width="{size}" height="{size}" viewBox="-1.1 -1.1 2.2 2.2" role="img" aria-label="{mark.said}">'
        f'<path d="{SHAPES[mark]}" fill="{COLOURS[mark]}"/>{asks}</svg>'
    )
