"""A unit's pen trace with the limit ruled through it, as on the sheet of a chart recorder."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from holdwatch.charts.curves import Hole, LevelView, TraceView
from holdwatch.charts.layers import (
    BOX,
    LEVEL,
    PEN,
    Chart,
    Frame,
    Layer,
    assemble,
    both_units,
    hole_layers,
    hole_words,
    layer,
    words,
)
from holdwatch.charts.localtime import TimeAxis
from holdwatch.charts.reduce import segments
from holdwatch.charts.theme import DEVIATION, INK, MUTED, Look
from holdwatch.clock import clock_words, zone_words
from holdwatch.language import N_, _
from holdwatch.quantities import format_temperature, to_scale

__all__ = ["pen_trace"]

ESTIMATE = N_("food, an estimate")
_LEAST_RISE = 8.0
"""The sheet spans at least so many degrees, so that noise does not look like a swing."""
_POINTS = 24
"""So many steps along the words of a limit are told to the labels of holes."""


def pen_trace(trace: TraceView, levels: Sequence[LevelView], look: Look, *, title: str = "") -> Chart:
    """Draw one probe over a span: its mean as a pen line, lowest to highest as its shadow, and the limits.

    Parameters
    ----------
    trace : TraceView
        Lowest, mean and highest of each stretch of time, and the holes between.
    levels : sequence of LevelView
        The limits to rule through it; their `marks` are the spells beyond.
    title : str
        What is traced, for whoever cannot see it, such as "Walk-in 1, food probe p1".
    """
    frame = _frame(trace, levels, look)
    layers = [
        *_beyond(levels, frame),
        *hole_layers(trace.holes, frame, _along_limits(levels, trace.holes, frame)),
        *_limits(levels, trace.holes, frame),
        *_pen(trace, frame),
        *_estimate(trace, frame),
    ]
    return assemble(layers, frame, [level.level_c for level in levels], _describe(trace, levels, look, title))


def _frame(trace: TraceView, levels: Sequence[LevelView], look: Look) -> Frame:
    known = [level.level_c for level in levels]
    if len(trace):
        known += [float(trace.min_c.min()), float(trace.max_c.max())]
    known = known or [0.0, 10.0]
    low, high = float(to_scale(min(known), look.scale)), float(to_scale(max(known), look.scale))
    missing = max(0.0, _LEAST_RISE - (high - low))
    low, high = low - missing / 2, high + missing / 2
    rise = high - low
    words_room = rise * (look.small + 10) / look.height
    below = words_room if any(not level.at_most for level in levels) else 0.0
    axis = TimeAxis(trace.from_ms, max(trace.until_ms, trace.from_ms + 60_000), look.zone)
    return Frame(axis, round(low - rise * 0.1 - below, 3), round(high + rise * 0.06 + words_room, 3), look)


def _beyond(levels: Sequence[LevelView], frame: Frame) -> list[Layer]:
    """Return the spells beyond a limit as bands from the limit to the edge of the sheet."""
    bands = [
        {
            "x": frame.x(begin),
            "x2": frame.x(end),
            "y": frame.y(level.level_c),
            "y2": frame.high if level.at_most else frame.low,
            "words": _("beyond {level}").format(level=format_temperature(level.level_c, frame.look.scale, 0)),
            "when": _("{first} to {last}").format(
                first=clock_words(begin, frame.look.zone), last=clock_words(end, frame.look.zone)
            ),
        }
        for level in levels
        for begin, end in level.marks
    ]
    if not bands:
        return []
    tip = {"words": " ", "when": _("when")}
    edge = {"stroke": DEVIATION, "strokeWidth": 1}
    return [layer("spells", bands, "rect", BOX, tip=tip, color=DEVIATION, opacity=0.16, clip=True, **edge)]


def _limits(levels: Sequence[LevelView], holes: Sequence[Hole], frame: Frame) -> list[Layer]:
    left, right = frame.axis.domain
    made: list[Layer] = []
    for number, level in enumerate(levels, start=1):
        said = _limit_words(level, frame.look)
        row = {"x": left, "x2": right, "y": frame.y(level.level_c), "words": said}
        made.append(layer(f"limit {number}", [row], "rule", LEVEL, color=INK, strokeWidth=frame.look.stroke * 0.55))
        made += words(
            f"limit {number} words",
            [{**row, "x": frame.x(_clear(said, holes, frame)[0][0])}],
            frame.look,
            size=frame.look.small,
            color=MUTED,
            align="left",
            baseline="bottom" if level.at_most else "top",
            dx=6,
            dy=-5 if level.at_most else 6,
        )
    return made


def _along_limits(levels: Sequence[LevelView], holes: Sequence[Hole], frame: Frame) -> list[tuple[int, float]]:
    """Return points (instant in ms, °C) along the words of the limits, for the labels of holes to keep clear of."""
    points = []
    for level in levels:
        said = _limit_words(level, frame.look)
        first, length = _clear(said, holes, frame)[0][0], _long_ms(said, frame)
        points += [(first + n * length // _POINTS, level.level_c) for n in range(_POINTS + 1)]
    return points


def _clear(said: str, holes: Sequence[Hole], frame: Frame) -> list[tuple[int, int]]:
    """Return the stretches (ms) without a hole in which words have room, in order; where there is none, the whole sheet."""
    left, right = frame.axis.from_ms, frame.axis.until_ms
    length, at, found = _long_ms(said, frame), left, []
    for first, last in [*sorted((hole.from_ms, hole.until_ms) for hole in holes), (right, right)]:
        if min(first, right) - at >= length:
            found.append((at, min(first, right)))
        at = max(at, last)
    return found or [(left, right)]


def _long_ms(said: str, frame: Frame) -> int:
    """Return so much time as words take on the sheet."""
    return round(
        (len(said) * frame.look.small * 0.5 + 12) * (frame.axis.until_ms - frame.axis.from_ms) / frame.look.room
    )


def _limit_words(level: LevelView, look: Look) -> str:
    said = _("{temperature} or less") if level.at_most else _("{temperature} or above")
    return f"{said.format(temperature=format_temperature(level.level_c, look.scale, 0))} · {level.clause}"


def _pen(trace: TraceView, frame: Frame) -> list[Layer]:
    if len(trace) == 0:
        return []
    number = segments(trace.at_ms, trace.holes)
    columns = (trace.at_ms, trace.min_c, trace.mean_c, trace.max_c)
    stretches = list(zip(*(column.tolist() for column in columns), strict=True))
    points = [
        {"x": frame.x(at), "low": frame.y(low), "y": frame.y(mean), "high": frame.y(high), "segment": n}
        for (at, low, mean, high), n in zip(stretches, number.tolist(), strict=True)
    ]
    _numbers, first, count = np.unique(number, return_index=True, return_counts=True)
    alone = [points[int(i)] for i in first[count == 1]]
    plain: dict[str, Any] = {"color": INK, "clip": True}
    made: list[Layer] = []
    if not trace.raw:
        shadow = {"x": "x", "y": "low", "y2": "high", "detail": "segment"}
        made.append(layer("trace", points, "area", shadow, opacity=0.22, **plain))
    width = frame.look.stroke * 0.6
    made.append(layer("trace", points, "line", PEN, strokeWidth=width, strokeJoin="round", **plain))
    if alone:
        made.append(layer("lone", alone, "point", filled=True, opacity=1, size=16, **plain))
    if not frame.look.paper:
        tip = {"when": _("at"), "temperature": _("reading")}
        told = [
            {
                "x": point["x"],
                "y": point["y"],
                "when": clock_words(at, frame.look.zone),
                "temperature": both_units(mean, frame.look),
            }
            for point, (at, _low, mean, _high) in zip(points, stretches, strict=True)
        ]
        if not trace.raw:
            tip["range"], between = _("lowest to highest"), _("{low} to {high}")
            for each, (_at, low, _mean, high) in zip(told, stretches, strict=True):
                each["range"] = between.format(low=both_units(low, frame.look), high=both_units(high, frame.look))
        made.append(layer("hover", told, "point", tip=tip, filled=True, color=INK, opacity=0, size=180))
    return made


def _estimate(trace: TraceView, frame: Frame) -> list[Layer]:
    """Draw the food estimated from the air: dashed, and said to be an estimate; paper shows what was read alone."""
    if trace.food_c is None or len(trace) == 0 or frame.look.paper:
        return []
    number = segments(trace.at_ms, trace.holes)
    points = [
        {"x": frame.x(int(at)), "y": frame.y(float(c)), "segment": int(n)}
        for at, c, n in zip(trace.at_ms, trace.food_c, number, strict=True)
    ]
    width = frame.look.stroke * 0.6
    line = layer("estimate", points, "line", PEN, color=MUTED, strokeWidth=width, strokeDash=[5, 4], clip=True)
    said = f"– – {_(ESTIMATE)}"
    right = frame.x(_clear(said, trace.holes, frame)[-1][1])
    label = {"x": right, "y": round(frame.low + frame.degrees(3), 4), "words": said}
    side: dict[str, Any] = {"align": "right", "baseline": "bottom", "dx": -6}
    return [line, *words("estimate words", [label], frame.look, size=frame.look.small, color=MUTED, **side)]


def _describe(trace: TraceView, levels: Sequence[LevelView], look: Look, title: str) -> str:
    begin, end = clock_words(trace.from_ms, look.zone), clock_words(trace.until_ms, look.zone)
    zone = zone_words(trace.from_ms, trace.until_ms, look.zone)
    said = [
        _("{title}, from {begin} to {end}, {zone}.").format(
            title=title or _("Temperature"), begin=begin, end=end, zone=zone
        )
    ]
    if len(trace):
        said.append(
            _("Lowest {lowest}, highest {highest}.").format(
                lowest=both_units(float(trace.min_c.min()), look), highest=both_units(float(trace.max_c.max()), look)
            )
        )
    if trace.food_c is not None and len(trace) and not look.paper:
        said.append(
            _("Dashed, {estimate} from this air with a lag of {length}: at the end {temperature}.").format(
                estimate=_(ESTIMATE),
                length=f"{trace.food_lag_min:.0f} min",
                temperature=both_units(float(trace.food_c[-1]), look),
            )
        )
    said += [_("Limit {limit}.").format(limit=_limit_words(level, look)) for level in levels]
    said += [f"{hole_words(hole, look.zone).capitalize()}." for hole in trace.holes]
    return " ".join(said)
