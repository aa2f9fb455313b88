"""Now, and what lies ahead, as layers: the present instant, the last reading in figures, and the forecast's fan."""

import math
from typing import Any

from holdwatch.charts.curves import CurveView
from holdwatch.charts.layers import Frame, Layer, layer, words
from holdwatch.charts.marks import Mark
from holdwatch.charts.theme import INK, MUTED, SOON
from holdwatch.charts.treads import Tread, fan_to_draw
from holdwatch.clock import MS_PER_MINUTE, clock_time
from holdwatch.language import _
from holdwatch.quantities import format_temperature

__all__ = ["fan_layers", "latest_layers", "latest_over", "now_layers"]

_NOW_PX = 80
_BIG_LETTER = 0.55
_APART = 14
"""How far its figures keep from the last reading and from what follows them, together. [px]"""
_BIGGER = 4
"""So many px larger than a label the last reading is written."""


def fan_layers(curve: CurveView, steps: tuple[Tread, ...], frame: Frame) -> list[Layer]:
    """Return the forecast: a fan that widens, dashed in the middle; ochre where it will miss."""
    fan = fan_to_draw(curve)
    if fan is None or not curve.live:
        return []
    colour = SOON if any(step.mark is Mark.SOON for step in steps) else INK
    path = [
        {"x": frame.x(at), "low": frame.y(low), "mid": frame.y(mid), "high": frame.y(high)}
        for at, low, mid, high in fan.path
    ]
    spread, middle = {"x": "x", "y": "low", "y2": "high"}, {"x": "x", "y": "mid"}
    width = frame.look.stroke * 0.7
    return [
        layer("fan", path, "area", spread, color=colour, opacity=0.17, clip=True),
        layer("fan", path, "line", middle, color=colour, strokeDash=[7, 5], strokeWidth=width, clip=True),
    ]


def now_layers(curve: CurveView, frame: Frame) -> list[Layer]:
    """Return the present instant as a dotted upright."""
    if not curve.live:
        return []
    row = {
        "x": frame.x(curve.until_ms),
        "y": frame.high,
        "words": _("now {time}").format(time=clock_time(curve.until_ms, frame.look.zone)),
    }
    beyond = frame.px(curve.until_ms, frame.axis.until_ms) < _NOW_PX
    return [
        layer("now", [row], "rule", ("x",), color=MUTED, strokeWidth=1, strokeDash=[2, 3]),
        *words(
            "now words",
            [row],
            frame.look,
            size=frame.look.small,
            color=MUTED,
            baseline="top",
            dy=2,
            align="right" if beyond else "left",
            dx=-5 if beyond else 5,
        ),
    ]


def latest_layers(curve: CurveView, steps: tuple[Tread, ...], frame: Frame) -> list[Layer]:
    """Return the last reading in figures, beside its point where nothing stands in the way."""
    if not curve.live or curve.last_c is None or curve.last_ms is None:
        return []
    said = format_temperature(curve.last_c, frame.look.scale)
    place: dict[str, Any] = (
        {"align": "right", "baseline": "top", "dx": -9, "dy": 7}
        if _is_behind(curve.last_ms, _room(said, frame), curve, steps, frame)
        else {"align": "left", "baseline": "bottom", "dx": 9, "dy": -5}
    )
    row = {"x": frame.x(curve.last_ms), "y": frame.y(curve.last_c), "words": said}
    return [
        layer(
            "latest",
            [row],
            "point",
            filled=True,
            color=INK,
            opacity=1,
            size=60 if frame.look.paper else 130,
            stroke=frame.look.ground,
            strokeWidth=2,
        ),
        *words("latest words", [row], frame.look, size=frame.look.text + _BIGGER, bold=True, **place),
    ]


def latest_over(curve: CurveView, steps: tuple[Tread, ...], frame: Frame) -> list[tuple[int, float]]:
    """Return points (instant in ms, °C) along the figures of the last reading, for others to keep clear of."""
    if not curve.live or curve.last_c is None or curve.last_ms is None:
        return []
    need = _room(format_temperature(curve.last_c, frame.look.scale), frame)
    left, right = frame.axis.domain
    per_px = (right - left) * MS_PER_MINUTE / frame.look.room
    side = -1 if _is_behind(curve.last_ms, need, curve, steps, frame) else 1
    return [(curve.last_ms + side * round(px * per_px), curve.last_c) for px in range(0, math.ceil(need - _APART), 6)]


def _room(said: str, frame: Frame) -> float:
    """Return how wide the figures of the last reading are, about, with what they keep apart. [px]."""
    return len(said) * (frame.look.text + _BIGGER) * _BIG_LETTER + _APART


def _is_behind(last_ms: int, need: float, curve: CurveView, steps: tuple[Tread, ...], frame: Frame) -> bool:
    """Tell whether the figures stand to the left of the last reading, where something is in the way to its right."""
    ahead = any(0 <= frame.px(last_ms, at) < need for at in _uprights(steps, frame))
    behind = any(0 <= frame.px(hole.until_ms, last_ms) < need for hole in curve.holes)
    return ahead and not behind and frame.px(frame.axis.from_ms, last_ms) > need


def _uprights(steps: tuple[Tread, ...], frame: Frame) -> list[int]:
    """Return where a figure to the right would run into something: risers and the edge of the sheet."""
    return [*(step.ends_ms for step in steps), frame.axis.until_ms]
