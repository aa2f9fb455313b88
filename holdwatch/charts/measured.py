"""What was measured, as layers: the line, its dots, readings by hand, readings set aside, and the crossing brackets."""

from typing import Any

import altair as alt
import numpy as np
from numpy.typing import NDArray

from holdwatch.charts.curves import CurveView
from holdwatch.charts.layers import Frame, Layer, both_units, rows
from holdwatch.charts.localtime import clock_time, clock_words
from holdwatch.charts.reduce import segments
from holdwatch.charts.theme import INK, MUTED
from holdwatch.charts.treads import BracketBar, bracket_bars
from holdwatch.language import _

__all__ = ["bracket_layers", "measured_layers"]

_DOT_ROOM_PX = 9
"""Readings that stand at least so far apart are drawn as dots too."""


def measured_layers(curve: CurveView, frame: Frame) -> list[Layer]:
    """Return the measured line, never across a hole, with its dots and what to tell when it is touched."""
    look = frame.look
    number = segments(curve.readings.at_ms, curve.holes)
    pairs = list(zip(curve.readings.at_ms.tolist(), curve.readings.celsius.tolist(), strict=True))
    points = [
        {"x": frame.x(at), "y": frame.y(c), "segment": n} for (at, c), n in zip(pairs, number.tolist(), strict=True)
    ]
    made: list[Layer] = []
    if points and not curve.sparse:
        made.append(
            alt.Chart(rows("line", points))
            .mark_line(
                color=INK,
                strokeWidth=look.stroke,
                strokeJoin="round",
                strokeCap="round",
                aria=False,
                tooltip=None,
                clip=True,
            )
            .encode(x=alt.X("x:Q"), y=alt.Y("y:Q"), detail=alt.Detail("segment:N"), order=alt.Order("x:Q"))
        )
    tip = [alt.Tooltip("when:N", title=_("at")), alt.Tooltip("temperature:N", title=_("reading"))]
    dots = pairs if curve.sparse or _far_apart(curve, frame) else [pairs[i] for i in _alone(number)]
    if dots:
        made.append(
            alt.Chart(rows("dots", [_point(*pair, frame) for pair in dots]))
            .mark_point(filled=True, color=INK, opacity=1, size=look.stroke**2 * 5 + 4, aria=False)
            .encode(x=alt.X("x:Q"), y=alt.Y("y:Q"), tooltip=tip)
        )
    if points and not look.paper:
        made.append(
            alt.Chart(rows("hover", [_point(*pair, frame) for pair in pairs]))
            .mark_point(filled=True, color=INK, opacity=0, size=220, aria=False)
            .encode(x=alt.X("x:Q"), y=alt.Y("y:Q"), tooltip=tip)
        )
    return [*made, *_aside(curve, frame), *_by_hand(curve, frame)]


def _far_apart(curve: CurveView, frame: Frame) -> bool:
    steps = np.diff(curve.readings.at_ms)
    return len(steps) > 0 and frame.px(0, int(np.median(steps))) >= _DOT_ROOM_PX


def _alone(number: NDArray[np.int64]) -> list[int]:
    """Return the readings that are the only one of their stretch: a line would not show them."""
    _, first, count = np.unique(number, return_index=True, return_counts=True)
    return [int(i) for i in first[count == 1]]


def _point(at_ms: int, celsius: float, frame: Frame) -> dict[str, Any]:
    return {
        "x": frame.x(at_ms),
        "y": frame.y(celsius),
        "when": clock_words(at_ms, frame.look.zone, seconds=True),
        "temperature": both_units(celsius, frame.look),
    }


def _aside(curve: CurveView, frame: Frame) -> list[Layer]:
    """Return the readings kept but not judged, as hollow marks; one far off the sheet sits on its edge."""
    edge = frame.degrees(6)
    points = []
    for reading in curve.set_aside:
        point = _point(reading.at_ms, reading.celsius, frame) | {"why": reading.reason}
        point["y"] = round(min(max(point["y"], frame.low + edge), frame.high - edge), 4)
        points.append(point)
    if not points:
        return []
    return [
        alt.Chart(rows("set aside", points))
        .mark_point(
            filled=False,
            color=MUTED,
            fill=frame.look.ground,
            opacity=1,
            strokeWidth=1.4,
            aria=False,
            size=22 if frame.look.paper else 46,
        )
        .encode(
            x=alt.X("x:Q"),
            y=alt.Y("y:Q"),
            tooltip=[
                alt.Tooltip("when:N", title=_("at")),
                alt.Tooltip("temperature:N", title=_("set aside")),
                alt.Tooltip("why:N", title=_("why")),
            ],
        )
    ]


def _by_hand(curve: CurveView, frame: Frame) -> list[Layer]:
    points = [_point(int(at), float(c), frame) for at, c in zip(curve.hand.at_ms, curve.hand.celsius, strict=True)]
    if not points:
        return []
    return [
        alt.Chart(rows("by hand", points))
        .mark_point(
            shape="diamond",
            filled=True,
            color=INK,
            stroke=frame.look.ground,
            strokeWidth=1.5,
            opacity=1,
            size=70 if frame.look.paper else 190,
            aria=False,
        )
        .encode(
            x=alt.X("x:Q"),
            y=alt.Y("y:Q"),
            tooltip=[alt.Tooltip("when:N", title=_("at")), alt.Tooltip("temperature:N", title=_("by hand"))],
        )
    ]


def bracket_layers(curve: CurveView, frame: Frame) -> list[Layer]:
    """Return a bar for each crossing, from the last reading on the one side to the first on the other."""
    whole: list[dict[str, Any]] = []
    loose: list[dict[str, Any]] = []
    ends: list[dict[str, Any]] = []
    for bar in bracket_bars(curve):
        known = None not in bar.ends
        (whole if known else loose).append(_bar(bar, curve, frame))
        ends += [{"x": frame.x(at), "y": frame.y(bar.level_c)} for at in bar.ends if at is not None]
    paper = frame.look.paper
    tip = [
        alt.Tooltip("what:N", title=" "),
        alt.Tooltip("when:N", title=_("when")),
        alt.Tooltip("clause:N", title=_("clause")),
    ]
    made: list[Layer] = [
        alt.Chart(rows(name, values))
        .mark_rule(color=INK, strokeWidth=2 if paper else 4, strokeDash=dash, aria=False)
        .encode(x=alt.X("x:Q"), x2=alt.X2("x2:Q"), y=alt.Y("y:Q"), tooltip=tip)
        for name, values, dash in (("brackets", whole, [1, 0]), ("open brackets", loose, [3, 3]))
        if values
    ]
    if ends:
        made.append(
            alt.Chart(rows("bracket ends", ends))
            .mark_point(
                shape="stroke",
                angle=90,
                color=INK,
                opacity=1,
                size=70 if paper else 190,
                strokeWidth=1.2 if paper else 2,
                aria=False,
                tooltip=None,
            )
            .encode(x=alt.X("x:Q"), y=alt.Y("y:Q"))
        )
    return made


def _bar(bar: BracketBar, curve: CurveView, frame: Frame) -> dict[str, Any]:
    first, last = bar.ends
    shown = [clock_time(at, frame.look.zone, seconds=True) if at is not None else _("not known") for at in bar.ends]
    return {
        "x": frame.x(first) if first is not None else frame.axis.domain[0],
        "x2": frame.x(last if last is not None else min(curve.until_ms, frame.axis.until_ms)),
        "y": frame.y(bar.level_c),
        "what": bar.what,
        "when": _("between {first} and {last}").format(first=shown[0], last=shown[1]),
        "clause": bar.clause,
    }
