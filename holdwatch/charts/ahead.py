"""Now, and what lies ahead, as layers: the present instant, the last reading in figures, and the forecast's fan."""

from typing import Any

from holdwatch.charts.curves import CurveView
from holdwatch.charts.layers import Frame, Layer, layer, words
from holdwatch.charts.localtime import clock_time
from holdwatch.charts.marks import Mark
from holdwatch.charts.theme import INK, MUTED, SOON
from holdwatch.charts.treads import Tread, fan_to_draw
from holdwatch.language import _
from holdwatch.quantities import format_temperature

__all__ = ["fan_layers", "latest_layers", "now_layers"]

_NOW_PX = 80
_BIG_LETTER = 0.55


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
    size = frame.look.text + 4
    need = len(said) * size * _BIG_LETTER + 14
    left = frame.px(frame.axis.from_ms, curve.last_ms)
    ahead = any(0 <= frame.px(curve.last_ms, at) < need for at in _uprights(steps, frame))
    behind = any(0 <= frame.px(hole.until_ms, curve.last_ms) < need for hole in curve.holes)
    below = ahead and not behind and left > need
    place: dict[str, Any] = (
        {"align": "right", "baseline": "top", "dx": -9, "dy": 7}
        if below
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
        *words("latest words", [row], frame.look, size=size, bold=True, **place),
    ]


def _uprights(steps: tuple[Tread, ...], frame: Frame) -> list[int]:
    """Return where a figure to the right would run into something: risers and the edge of the sheet."""
    return [*(step.ends_ms for step in steps), frame.axis.until_ms]
