"""Pictures of reckoned answers: spans beside each other, courses over time, and a table of the code as a map.

Nothing is told by colour alone: a span has its name and its middle, a line its dashes and its name. Every figure stands
in the answer's words and table too, which is what a screen reader reads.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Literal

import altair as alt
import streamlit as st

from dashboards import loaded
from holdwatch.charts.theme import DEVIATION, FILL, INK, MUTED, PAPER, RULE, Look

__all__ = ["Cell", "Course", "Mark", "Picture", "Span", "courses", "draw", "plane", "spans"]

# Altair looks whether pandas is loaded, and takes it for whole while another thread still loads it, as Streamlit does to
# draw. So it is loaded here, before anything can be drawn.
import_module("pandas")
loaded.settle()

Picture = alt.LayerChart
Kind = Literal["temporal", "quantitative"]

_ROW_PX = 46
_COURSE_PX = 300
_DASHES = ([1, 0], [7, 4], [2, 3])
_TEXT, _SMALL = 15, 13
"""Sizes of words. [px]"""


@dataclass(frozen=True)
class Span:
    """One row: from where to where it may be, and its middle; an end that nobody can tell is infinite."""

    name: str
    low: float
    high: float
    middle: float | None = None


@dataclass(frozen=True)
class Mark:
    """What spans or courses are held against: a limit, or what a thermometer shows."""

    at: float
    words: str


@dataclass(frozen=True)
class Course:
    """A temperature over time, as (minutes, degrees)."""

    name: str
    points: Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Cell:
    """A rectangle of a map, and what holds there."""

    across: tuple[float, float]
    up: tuple[float, float]
    words: str
    strict: bool


def draw(picture: Picture, *, said: str, key: str) -> None:
    """Draw a picture under an answer; `said` is what it shows, for whoever does not see it."""
    st.altair_chart(picture.properties(description=said, width="container"), theme=None, width="stretch", key=key)


def spans(rows: Sequence[Span], *, title: str, marks: Sequence[Mark] = (), clock: bool = False) -> Picture:
    """Return spans one below the other on one axis, each under its name.

    Parameters
    ----------
    rows : at least one; in what the axis counts, which is ms of the site's wall clock where `clock` is set.
    title : what the axis counts, with its unit.
    marks : lines through all rows, each with its words on top.
    clock : whether the axis is a time of day.
    """
    ends = [at for row in rows for at in (row.low, row.high, row.middle) if at is not None and math.isfinite(at)]
    ends += [mark.at for mark in marks]
    room = 0.05 * (max(ends) - min(ends)) or 1.0
    left, right = min(ends) - room, max(ends) + room
    scale = alt.Scale(domain=[left, right], nice=False, zero=False, type="utc" if clock else "linear")
    axis = alt.Axis(format="%H:%M") if clock else alt.Axis()
    kind: Kind = "temporal" if clock else "quantitative"
    told = [
        {
            "row": n,
            "name": row.name,
            "low": row.low,
            "high": min(row.high, right),
            "middle": row.middle,
            "open": math.isinf(row.high),
        }
        for n, row in enumerate(rows)
    ]
    base = alt.Chart(alt.InlineData(values=told)).encode(y=alt.Y("row", type="ordinal", axis=None))
    across = alt.X("low", type=kind, scale=scale, axis=axis, title=title)
    names = base.encode(x=alt.value(2), text="name:N")
    layers = [
        base.mark_bar(color=FILL, stroke=INK, strokeWidth=1, height=14, yOffset=9, aria=False).encode(
            across, x2="high"
        ),
        *_upright(marks, kind, scale),
        base.transform_filter("datum.middle !== null")
        .mark_tick(color=INK, thickness=3, height=22, yOffset=9, aria=False)
        .encode(alt.X("middle", type=kind, scale=scale)),
        base.transform_filter("datum.open")
        .mark_text(text="→", align="right", fontSize=_TEXT, color=INK, dy=9, aria=False)
        .encode(alt.X("high", type=kind, scale=scale)),
        *_words(names, INK, align="left", fontSize=_TEXT, dy=-2),
    ]
    return _laid(layers, _ROW_PX * len(rows))


def _upright(marks: Sequence[Mark], kind: Kind, scale: alt.Scale) -> list[alt.Chart]:
    """Return a dashed line through all rows for each mark, its words on top."""
    if not marks:
        return []
    told = [{"at": mark.at, "words": mark.words} for mark in marks]
    base = alt.Chart(alt.InlineData(values=told)).encode(alt.X("at", type=kind, scale=scale))
    return [
        base.mark_rule(color=DEVIATION, strokeDash=[5, 3], strokeWidth=2, aria=False),
        base.mark_text(color=DEVIATION, fontSize=_SMALL, baseline="bottom", dy=-4, aria=False).encode(
            y=alt.value(0), text="words:N"
        ),
    ]


def courses(
    lines: Sequence[Course],
    *,
    title: str,
    minutes: str,
    marks: Sequence[Mark] = (),
    fan: Sequence[Sequence[float]] = (),
) -> Picture:
    """Return courses of temperature over minutes, each with its own dashes, named above.

    Parameters
    ----------
    lines : at least one; the first is drawn unbroken.
    title, minutes : what the axes count, with their units.
    marks : levels, each with its words.
    fan : where a course may go on: (minutes, low, middle, high).
    """
    told = [
        {"minute": minute, "degrees": degrees, "name": line.name} for line in lines for minute, degrees in line.points
    ]
    across = alt.X("minute:Q", title=minutes, scale=alt.Scale(nice=False))
    up = alt.Y("degrees:Q", title=title, scale=alt.Scale(zero=False))
    key = alt.Legend(orient="top", title=None, symbolType="stroke", symbolSize=900, labelFontSize=_TEXT)
    shown = alt.Scale(domain=[line.name for line in lines], range=[list(dash) for dash in _DASHES[: len(lines)]])
    measured = (
        alt.Chart(alt.InlineData(values=told))
        .mark_line(color=INK, strokeWidth=2.6, aria=False)
        .encode(across, up, alt.StrokeDash("name:N", legend=key, scale=shown))
    )
    layers = [*_fan(fan), *_level(marks), measured]
    return _laid(layers, _COURSE_PX)


def _fan(fan: Sequence[Sequence[float]]) -> list[alt.Chart]:
    if not fan:
        return []
    told = [dict(zip(("minute", "low", "middle", "high"), point, strict=True)) for point in fan]
    base = alt.Chart(alt.InlineData(values=told)).encode(alt.X("minute:Q"))
    return [
        base.mark_area(color=FILL, stroke=RULE, aria=False).encode(alt.Y("low:Q"), alt.Y2("high:Q")),
        base.mark_line(color=INK, strokeDash=[7, 4], aria=False).encode(alt.Y("middle:Q")),
    ]


def _level(marks: Sequence[Mark]) -> list[alt.Chart]:
    if not marks:
        return []
    told = [{"degrees": mark.at, "words": mark.words, "odd": n % 2} for n, mark in enumerate(sorted(marks, key=_at))]
    base = alt.Chart(alt.InlineData(values=told)).encode(alt.Y("degrees:Q"))
    return [
        base.mark_rule(color=DEVIATION, strokeDash=[5, 3], strokeWidth=2, aria=False),
        *(  # every second one further along: rows of a code lie close
            layer
            for odd in range(2)
            for layer in _words(
                base.transform_filter(f"datum.odd == {odd}").encode(x=alt.value(4 + 150 * odd), text="words:N"),
                DEVIATION,
                align="left",
                fontSize=_SMALL,
                dy=-2,
            )
        ),
    ]


def _words(base: alt.Chart, colour: str, **mark: Any) -> list[alt.Chart]:
    """Return words with a rim in the colour of the sheet under them, so that no line crosses them."""
    mark |= {"baseline": "bottom", "aria": False}
    return [base.mark_text(stroke=PAPER, strokeWidth=4, **mark), base.mark_text(color=colour, **mark)]


def _at(mark: Mark) -> float:
    return mark.at


def plane(cells: Sequence[Cell], here: tuple[Span, Span], *, across: str, up: str) -> Picture:
    """Return a table of the code as a map, with the food in it: as far as its two figures may be off.

    Parameters
    ----------
    cells : the table's fields; those that ask for more are darker, and say so.
    here : what the food has across and up.
    across, up : what the axes count.
    """
    told = [
        {"x": c.across[0], "x2": c.across[1], "y": c.up[0], "y2": c.up[1], "words": c.words, "strict": c.strict}
        for c in cells
    ]
    mid = [{"x": sum(c.across) / 2, "y": sum(c.up) / 2, "words": c.words} for c in cells]
    wide, tall = here
    food = [{"x": wide.low, "x2": wide.high, "y": tall.low, "y2": tall.high, "cx": wide.middle, "cy": tall.middle}]
    x = alt.X("x:Q", title=across, scale=alt.Scale(nice=False, zero=False))
    y = alt.Y("y:Q", title=up, scale=alt.Scale(nice=False, zero=False))
    fields, point = alt.Chart(alt.InlineData(values=told)), alt.Chart(alt.InlineData(values=food))
    colour = alt.condition("datum.strict", alt.value(RULE), alt.value(FILL))
    layers = [
        fields.mark_rect(stroke=INK, strokeWidth=0.5, aria=False).encode(x, y, color=colour, x2="x2", y2="y2"),
        alt.Chart(alt.InlineData(values=mid))
        .mark_text(fontSize=_SMALL, color=MUTED, aria=False)
        .encode(alt.X("x:Q"), alt.Y("y:Q"), text="words:N"),
        point.mark_rect(fillOpacity=0, stroke=DEVIATION, strokeWidth=2, aria=False).encode(
            alt.X("x:Q"), alt.Y("y:Q"), x2="x2", y2="y2"
        ),
        point.mark_point(color=DEVIATION, filled=True, size=90, opacity=1, aria=False).encode(
            alt.X("cx:Q"), alt.Y("cy:Q")
        ),
    ]
    return _laid(layers, _COURSE_PX)


def _laid(layers: Sequence[alt.Chart], height: int) -> Picture:
    """Lay the layers on the paper of all charts."""
    return alt.LayerChart(layer=list(layers), height=height, config=Look(zone="UTC").config())
