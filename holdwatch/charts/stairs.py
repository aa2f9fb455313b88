"""The limit, as layers: the staircase with its treads' words, the ground under it, and each clause's shape."""

from typing import Any

from holdwatch.charts.curves import CurveView
from holdwatch.charts.layers import BOX, LEVEL, Frame, Layer, layer, words
from holdwatch.charts.marks import COLOURS, SHAPES, Mark
from holdwatch.charts.theme import FILL, INK, MUTED
from holdwatch.charts.treads import HoldingTread, Tread
from holdwatch.clock import MS_PER_MINUTE, clock_time
from holdwatch.language import _
from holdwatch.quantities import format_temperature

__all__ = ["due_marks", "permitted_layers", "stair_layers", "tread_words", "words_over"]

_PER_LETTER = 0.5
"""Width of a letter of the family, about, as a part of its size."""
_STATE_LETTERS = 26
"""Letters of the longest line above a tread, about: a clause and a word."""


def permitted_layers(steps: tuple[Tread, ...], frame: Frame) -> list[Layer]:
    """Return the ground under the staircase: where the curve may be."""
    right = frame.axis.until_ms
    under = [(step.begins_ms, min(step.ends_ms, right), step.height_c) for step in steps]
    under += [(steps[-1].ends_ms, right, steps[-1].target_c)] if steps else []
    shaded = [
        {"x": frame.x(begin), "x2": frame.x(end), "y": frame.low, "y2": frame.y(height)}
        for begin, end, height in under
        if end > begin
    ]
    if not shaded:
        return []
    return [layer("permitted", shaded, "rect", BOX, color=FILL, opacity=0.75, clip=True)]


def stair_layers(steps: tuple[Tread, ...], holding: HoldingTread | None, curve: CurveView, frame: Frame) -> list[Layer]:
    """Return the staircase itself: each tread to its due instant, and the level asked from then on."""
    flat: list[dict[str, Any]] = []
    risers: list[dict[str, Any]] = []
    unsure: list[dict[str, Any]] = []
    for step in steps:
        y, y2 = frame.y(step.height_c), frame.y(step.target_c)
        flat.append({"x": frame.x(step.begins_ms), "x2": frame.x(step.ends_ms), "y": y, "clause": step.clause.clause})
        risers.append({"x": frame.x(step.ends_ms), "y": y, "y2": y2})
        unsure.append({"x": frame.x(step.ends_ms), "x2": frame.x(step.surely_due_ms), "y": y, "y2": y2})
    rest = _rest(steps, holding, frame)
    line: dict[str, Any] = {"color": INK, "strokeWidth": frame.look.stroke * 0.55, "clip": True}
    made: list[Layer] = []
    if steps:
        made = [
            layer("due between", unsure, "rect", BOX, color=INK, opacity=0.16, clip=True),
            layer("treads", flat, "rule", LEVEL, **line),
            layer("risers", risers, "rule", ("x", "y", "y2"), **line),
        ]
    if rest:
        made.append(layer("held from then on", rest, "rule", LEVEL, **line))
    return made + _waiting_level(steps, curve, frame)


def _rest(steps: tuple[Tread, ...], holding: HoldingTread | None, frame: Frame) -> list[dict[str, Any]]:
    right = frame.axis.domain[1]
    if steps:
        return [{"x": frame.x(steps[-1].ends_ms), "x2": right, "y": frame.y(steps[-1].target_c)}]
    if holding:
        return [{"x": frame.x(holding.begins_ms), "x2": right, "y": frame.y(holding.level_c)}]
    return []


def _waiting_level(steps: tuple[Tread, ...], curve: CurveView, frame: Frame) -> list[Layer]:
    """Return the starting level, dashed, while the food has not fallen through it."""
    starts = [c.start_level_c for c in curve.steps if c.start_level_c is not None]
    if steps or not starts:
        return []
    left, right = frame.axis.domain
    row = {"x": left, "x2": right, "y": frame.y(starts[0])}
    said = _("the clock starts at {temperature}").format(temperature=format_temperature(starts[0], frame.look.scale, 0))
    return [
        layer(
            "starting level", [row], "rule", LEVEL, color=INK, strokeDash=[6, 4], strokeWidth=frame.look.stroke * 0.5
        ),
        *words(
            "starting level words",
            [{"x": right, "y": row["y"], "words": said}],
            frame.look,
            size=frame.look.text,
            align="right",
            baseline="top",
            dx=-6,
            dy=7,
            color=MUTED,
        ),
    ]


def tread_words(steps: tuple[Tread, ...], holding: HoldingTread | None, curve: CurveView, frame: Frame) -> list[Layer]:
    """Return what each tread says: the level, the local time by which, the clause and how it stands."""
    look = frame.look
    made: list[Layer] = []
    for number, step in enumerate(steps, start=1):
        first = number == 1
        at = _after_start(step, frame) if first else step.ends_ms
        where = {"x": frame.x(at), "y": frame.y(step.height_c)}
        said = _("{temperature} by {time}").format(
            temperature=format_temperature(step.target_c, look.scale, 0), time=clock_time(step.ends_ms, look.zone)
        )
        state = f"{step.clause.clause} · {step.mark.said}"
        room = frame.px(at, frame.axis.until_ms) if first else frame.px(_fallen_below(step, curve), step.ends_ms)
        if len(state) * look.small * _PER_LETTER > room:
            state = step.clause.clause
        place: dict[str, Any] = {"align": "left" if first else "right", "baseline": "bottom", "dx": 10 if first else -4}
        colour = COLOURS[step.mark] if step.mark in {Mark.DEVIATION, Mark.SOON} else MUTED
        made += words(
            f"tread {number}",
            [{**where, "words": said}],
            look,
            size=look.text + 1,
            bold=True,
            dy=-look.small - 9,
            **place,
        )
        made += words(
            f"tread {number} clause", [{**where, "words": state}], look, size=look.small, color=colour, dy=-5, **place
        )
    return made + _holding_words(steps, holding, frame)


def words_over(steps: tuple[Tread, ...], frame: Frame) -> list[tuple[int, float]]:
    """Return points (instant in ms, °C) along the words above the later treads, for others to keep clear of."""
    left, right = frame.axis.domain
    per_px = (right - left) * MS_PER_MINUTE / frame.look.room
    long = int(_STATE_LETTERS * frame.look.small * _PER_LETTER)
    return [(round(step.ends_ms - px * per_px), step.height_c) for step in steps[1:] for px in range(0, long, 8)]


def _after_start(step: Tread, frame: Frame) -> int:
    """Return where the words of the first tread begin: behind the bracket in which the clock started."""
    known = [at for at in step.clause.started or () if at is not None]
    return max([*known, step.begins_ms, frame.axis.from_ms])


def _fallen_below(step: Tread, curve: CurveView) -> int:
    """Return from when on the curve is no longer in the way of the words above a tread."""
    above = curve.readings.at_ms[curve.readings.celsius > step.height_c]
    return max(step.begins_ms, int(above[-1])) if len(above) else step.begins_ms


def _holding_words(steps: tuple[Tread, ...], holding: HoldingTread | None, frame: Frame) -> list[Layer]:
    """Name the holding clause where its level is drawn long enough."""
    if holding is None:
        return []
    said, size = holding.clause.clause, frame.look.small
    begins = steps[-1].ends_ms if steps else holding.begins_ms
    if frame.px(begins, frame.axis.until_ms) < len(said) * size * _PER_LETTER + 24:
        return []
    row = {"x": frame.axis.domain[1], "y": frame.y(holding.level_c), "words": said}
    return words("holding clause", [row], frame.look, size=size, color=MUTED, align="right", baseline="bottom", dy=-6)


def due_marks(steps: tuple[Tread, ...], frame: Frame) -> list[Layer]:
    """Return the shape of each clause's word at the foot of its riser."""
    size = 70 if frame.look.paper else 130 if frame.look.narrow else 210
    made: list[Layer] = []
    for number, step in enumerate(steps, start=1):
        row = {
            "x": frame.x(step.ends_ms),
            "y": frame.y(step.target_c),
            "word": step.mark.said,
            "requires": step.clause.requires,
            "clause": step.clause.clause,
            "reason": step.clause.reason,
        }
        made.append(
            layer(
                f"due mark {number}",
                [row],
                "point",
                tip={"word": _("the record shows"), "requires": _("asked"), "clause": _("clause"), "reason": _("why")},
                shape=SHAPES[step.mark],
                filled=True,
                color=COLOURS[step.mark],
                opacity=1,
                size=size,
                strokeWidth=0,
            )
        )
    return made
