"""What was measured, as layers: the line, its dots, readings by hand, readings set aside, and the crossing brackets."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from holdwatch.charts.curves import CurveView
from holdwatch.charts.layers import LEVEL, PEN, Frame, Layer, both_units, layer
from holdwatch.charts.reduce import segments
from holdwatch.charts.theme import INK, MUTED
from holdwatch.charts.treads import BracketBar, bracket_bars
from holdwatch.clock import clock_time, clock_words
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
        round_: dict[str, Any] = {"strokeJoin": "round", "strokeCap": "round"}
        made.append(layer("line", points, "line", PEN, color=INK, strokeWidth=look.stroke, clip=True, **round_))
    tip = {"when": _("at"), "temperature": _("reading")}
    dots = pairs if curve.sparse or _far_apart(curve, frame) else [pairs[i] for i in _alone(number)]
    if dots:
        told = [_point(*pair, frame) for pair in dots]
        size = look.stroke**2 * 5 + 4
        made.append(layer("dots", told, "point", tip=tip, filled=True, color=INK, opacity=1, size=size))
    if points and not look.paper:
        told = [_point(*pair, frame) for pair in pairs]
        made.append(layer("hover", told, "point", tip=tip, filled=True, color=INK, opacity=0, size=220))
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
        layer(
            "set aside",
            points,
            "point",
            tip={"when": _("at"), "temperature": _("set aside"), "why": _("why")},
            filled=False,
            color=MUTED,
            fill=frame.look.ground,
            opacity=1,
            strokeWidth=1.4,
            size=22 if frame.look.paper else 46,
        )
    ]


def _by_hand(curve: CurveView, frame: Frame) -> list[Layer]:
    points = [_point(int(at), float(c), frame) for at, c in zip(curve.hand.at_ms, curve.hand.celsius, strict=True)]
    if not points:
        return []
    return [
        layer(
            "by hand",
            points,
            "point",
            tip={"when": _("at"), "temperature": _("by hand")},
            shape="diamond",
            filled=True,
            color=INK,
            stroke=frame.look.ground,
            strokeWidth=1.5,
            opacity=1,
            size=70 if frame.look.paper else 190,
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
    tip = {"what": " ", "when": _("when"), "clause": _("clause")}
    made: list[Layer] = [
        layer(name, values, "rule", LEVEL, tip=tip, color=INK, strokeWidth=2 if paper else 4, strokeDash=dash)
        for name, values, dash in (("brackets", whole, [1, 0]), ("open brackets", loose, [3, 3]))
        if values
    ]
    if ends:
        size, width = (70, 1.2) if paper else (190, 2)
        upright: dict[str, Any] = {"shape": "stroke", "angle": 90}
        made.append(layer("bracket ends", ends, "point", **upright, color=INK, opacity=1, size=size, strokeWidth=width))
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
