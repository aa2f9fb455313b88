"""What every chart is built of: named rows, the ruled sheet, hatched holes, and words that stay readable on a line.

A chart is a specification of the Vega-Lite grammar, as plain dictionaries. On a screen the browser draws it, and its words.
For paper `render` draws the same shapes, and writes the words from where `assemble` says that they stand.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from holdwatch.charts.curves import Hole
from holdwatch.charts.localtime import TimeAxis
from holdwatch.charts.theme import HATCH, INK, MUTED, Look
from holdwatch.clock import clock_time, clock_words, day_words, local, span_words, zone_words
from holdwatch.language import _, decimals, spoken
from holdwatch.quantities import Scale, format_temperature, to_scale

__all__ = [
    "BOX",
    "LEVEL",
    "PEN",
    "Chart",
    "Frame",
    "Layer",
    "Written",
    "assemble",
    "both_units",
    "hole_layers",
    "hole_words",
    "layer",
    "numbers",
    "time_axis",
    "value_axis",
    "words",
]

Chart = dict[str, Any]
"""A whole specification."""
Shapes = dict[str, Any]
"""A layer of it."""

BOX = ("x", "x2", "y", "y2")
"""The channels of a rectangle, or of a slanted line, whose rows have columns of these names."""
LEVEL = ("x", "x2", "y")
"""Those of a level line."""
PEN = {"x": "x", "y": "y", "detail": "segment", "order": "x"}
"""Those of a line through readings, lifted between segments."""
_TYPES = {"x": "quantitative", "y": "quantitative", "order": "quantitative", "detail": "nominal", "text": "nominal"}
"""How the values of a channel are read; the far ends of x and y are read as these are."""

_MOST_HATCH_LINES = 400
_TICK = 6


def layer(
    name: str,
    values: Sequence[dict[str, Any]],
    mark: str,
    channels: Sequence[str] | Mapping[str, str] = ("x", "y"),
    *,
    tip: Mapping[str, str] | None = None,
    **settings: Any,
) -> Shapes:
    """Return one layer of a chart: a shape for each row, or one line or area through all.

    Parameters
    ----------
    name : str, under which a test, or a person, finds the rows again in the specification.
    values : sequence of dict, the rows.
    mark : str, the grammar's word for the shape.
    channels : the channels that are taken from the rows; of a mapping, with the column of each.
    tip : the columns that are told when a shape is touched, each with its title.
    settings : how the shape looks, in the grammar's words.
    """
    columns = channels if isinstance(channels, Mapping) else {channel: channel for channel in channels}
    encoding: dict[str, Any] = {
        channel: {"field": column} | ({"type": _TYPES[channel]} if channel in _TYPES else {})
        for channel, column in columns.items()
    }
    if tip:
        encoding["tooltip"] = [{"field": field, "title": title, "type": "nominal"} for field, title in tip.items()]
    told = {} if tip else {"tooltip": None}
    return {
        "data": {"name": name, "values": list(values)},
        "mark": {"type": mark, "aria": False, **told, **settings},
        "encoding": encoding,
    }


def both_units(celsius: float, look: Look, digits: int = 1) -> str:
    """Write a temperature in the site's unit, with the other one behind it."""
    return _both_units(celsius, look.scale, digits, spoken())


@lru_cache(maxsize=4096)
def _both_units(celsius: float, scale: Scale, digits: int, _language: str) -> str:
    """Write it once: a chart that draws itself again writes much the same hundreds."""
    other = Scale.C if scale is Scale.F else Scale.F
    return f"{format_temperature(celsius, scale, digits)} ({format_temperature(celsius, other, digits)})"


@dataclass(frozen=True)
class Frame:
    """The ruled sheet: its time axis, its span of temperatures in the site's unit, and how it looks."""

    axis: TimeAxis
    low: float
    high: float
    look: Look

    def y(self, celsius: float) -> float:
        """Return where a temperature stands, in the site's unit."""
        return round(float(to_scale(celsius, self.look.scale)), 4)

    def x(self, at_ms: int) -> float:
        """Return where an instant stands, in minutes."""
        return round(self.axis.place(at_ms), 4)

    def px(self, from_ms: int, until_ms: int) -> float:
        """Return how wide a stretch of time is, about, in px."""
        left, right = self.axis.domain
        return (until_ms - from_ms) / 60_000 / max(right - left, 1e-9) * self.look.room

    def degrees(self, px: float) -> float:
        """Return the span of temperature that so many px cover, in the site's unit."""
        return (self.high - self.low) * px / self.look.height


@dataclass(frozen=True)
class Written:
    """Words for paper: rows with ``words`` at their ``x`` and ``y``, and how they are written, in the library's terms."""

    rows: tuple[dict[str, Any], ...]
    settings: dict[str, Any]

    def placed(self, frame: Frame) -> list[dict[str, Any]]:
        """Return each with its place in px from the upper left corner of the sheet."""
        (left, right), look = frame.axis.domain, frame.look
        across, up = look.room / max(right - left, 1e-9), look.height / (frame.high - frame.low)
        return [
            {
                "words": row["words"],
                "x": round((row["x"] - left) * across, 2),
                "y": round((frame.high - row["y"]) * up, 2),
                **self.settings,
            }
            for row in self.rows
        ]


Layer = Shapes | Written
"""What a chart is laid of: shapes, and on paper words."""


def numbers(low: float, high: float, levels: Sequence[float], look: Look) -> list[float]:
    """Return the figures on the temperature axis: every level, and round numbers that do not crowd them."""
    need = (high - low) * look.text * 1.75 / look.height
    step = next((s for s in (1, 2, 5, 10, 20, 40, 50, 100) if s >= need), 200)
    kept = sorted({round(level, 4) for level in levels if low <= level <= high})
    for k in range(math.ceil(low / step), math.floor(high / step) + 1):
        if all(abs(k * step - level) >= need for level in kept):
            kept.append(float(k * step))
    return sorted(kept)


def value_axis(frame: Frame, levels_c: Sequence[float]) -> dict[str, Any]:
    """Return the temperature axis: limits in bold, as the code prints them."""
    levels = [frame.y(level) for level in levels_c]
    ticks = numbers(frame.low, frame.high, levels, frame.look)
    # Without a count the renderer leaves out every second value where it finds them many, a limit among them.
    ruled = {"values": ticks, "tickCount": len(ticks), "domain": False, "ticks": False}
    if frame.look.paper:
        return {**ruled, "labels": False, "title": None}
    bold = sorted({round(level, 4) for level in levels})
    labels = [_degree(tick) for tick in ticks]
    is_level = {"test": f"indexof({bold!r}, datum.value) >= 0", "value": "bold"}
    return {
        **ruled,
        "labelExpr": f"{labels!r}[indexof({ticks!r}, datum.value)]",
        "labelFontWeight": {"condition": is_level, "value": "normal"},
        "title": f"°{frame.look.scale.value}",
        "titleAngle": 0,
        "titleAlign": "right",
        "titleAnchor": "end",
        "titleY": -10,
        "titleX": -6,
        "titleBaseline": "bottom",
        "labelPadding": 6,
    }


def _degree(tick: float) -> str:
    return decimals(f"{tick:.1f}".removesuffix(".0")).replace("-", "\u2212") + "°"


def _value_words(frame: Frame, levels_c: Sequence[float]) -> list[Written]:
    """Return the words of the temperature axis for paper."""
    left, levels = frame.axis.domain[0], {round(frame.y(level), 4) for level in levels_c}
    side = {"align": "right", "dx": -6}
    ticks = numbers(frame.low, frame.high, [frame.y(level) for level in levels_c], frame.look)
    return [
        Written(
            ({"x": left, "y": tick, "words": _degree(tick)},),
            {"size": frame.look.text, "bold": round(tick, 4) in levels, "baseline": "middle", **side},
        )
        for tick in ticks
    ] + [
        Written(
            ({"x": left, "y": frame.high, "words": f"°{frame.look.scale.value}"},),
            {"size": frame.look.small, "color": MUTED, "baseline": "bottom", "dy": -10, **side},
        )
    ]


def _clock_labels(frame: Frame) -> tuple[list[float], list[list[str]]]:
    """Return where the time axis is labelled, and each label's lines, on the site's own clock."""
    look = frame.look
    ticks = frame.axis.ticks(max(2, int(look.room / (look.text * 4.6))))
    labels = [list(tick.label) for tick in ticks]
    if look.narrow and len(ticks) > 1 and ticks[1].day and ":" in labels[0][0]:
        labels[0] = labels[0][:1]  # no room for two days side by side: the midnight names its own
    return [tick.minutes for tick in ticks], labels


def _clock_words(frame: Frame) -> tuple[list[Written], float]:
    """Return the words of the time axis for paper, and how far down they reach. [px]."""
    axis, look = frame.axis, frame.look
    values, labels = _clock_labels(frame)
    most = max(map(len, labels), default=0)
    line, top = look.text * 1.15, _TICK + 2
    lines = [
        Written(
            tuple(
                {"x": x, "y": frame.low, "words": label[n]}
                for x, label in zip(values, labels, strict=True)
                if n < len(label)
            ),
            {"size": look.text, "align": "center", "baseline": "top", "dy": top + n * line},
        )
        for n in range(most)
    ]
    zone = Written(
        ({"x": axis.domain[0], "y": frame.low, "words": zone_words(axis.from_ms, axis.until_ms, axis.zone)},),
        {"size": look.small, "color": MUTED, "baseline": "top", "dy": top + most * line + 3},
    )
    return [*lines, zone], top + most * line + 3 + look.small * 1.3


def time_axis(frame: Frame) -> dict[str, Any]:
    """Return the time axis, with every label written on the site's own clock."""
    axis, look = frame.axis, frame.look
    values, labels = _clock_labels(frame)
    ruled = {"values": values, "tickSize": _TICK, "grid": True, "gridOpacity": 0.55}
    if look.paper:
        return {**ruled, "labels": False, "title": None}
    return {
        **ruled,
        "labelExpr": f"{labels!r}[indexof({values!r}, datum.value)]",
        "title": zone_words(axis.from_ms, axis.until_ms, axis.zone),
        "titleAnchor": "start",
        "titleAlign": "left",
        "labelOverlap": False,
        "labelFlush": False,
        "labelLineHeight": look.text * 1.15,
    }


def assemble(layers: Sequence[Layer], frame: Frame, levels_c: Sequence[float], description: str) -> Chart:
    """Lay the layers on the ruled sheet, the axes written for the site, with a description for screen readers."""
    left, right = frame.axis.domain
    look = frame.look
    sheet = layer("sheet", [{"x": left, "y": frame.low}], "point", opacity=0)
    for channel, domain, axis in (
        ("x", [round(left, 4), round(right, 4)], time_axis(frame)),
        ("y", [frame.low, frame.high], value_axis(frame, levels_c)),
    ):
        sheet["encoding"][channel] |= {"scale": {"domain": domain, "nice": False, "zero": False}, "axis": axis}
    written = [each for each in layers if isinstance(each, Written)]
    paper: dict[str, Any] = {}
    padding = {"left": 4.0, "right": 8.0, "top": 4.0, "bottom": 4.0}
    if look.paper:
        beneath, reach = _clock_words(frame)
        written = [*_value_words(frame, levels_c), *beneath, *written]
        paper["usermeta"] = {"words": [word for each in written for word in each.placed(frame)]}
        paper["autosize"] = {"type": "none"}
        padding = {"left": 40.0, "right": 26.0, "top": 24.0, "bottom": round(reach, 1)}
    return {
        "layer": [sheet, *(each for each in layers if not isinstance(each, Written))],
        "width": "container" if look.width is None else look.width,
        "height": look.height,
        "description": description,
        "padding": padding,
        "config": look.config(),
        **paper,
    }


def hole_words(hole: Hole, zone: str) -> str:
    """Say when nothing was read, as in ``no readings 02:10–02:40``."""
    if not hole.still:
        return _("no readings {span}").format(span=span_words(hole.from_ms, hole.until_ms, zone))
    since = clock_time(hole.from_ms, zone)
    if local(hole.from_ms, zone).date() != local(hole.until_ms, zone).date():
        since = f"{day_words(hole.from_ms, zone)} {since}"
    return _("no readings since {time}").format(time=since)


def words(
    name: str, values: Sequence[dict[str, Any]], look: Look, *, size: float, bold: bool = False, **mark: Any
) -> list[Layer]:
    """Return text from the rows' ``words`` at their ``x`` and ``y``, with a rim in the colour of the sheet."""
    if not values:
        return []
    if look.paper:
        return [Written(tuple(values), {"size": size, "bold": bold, "rim": look.ground, **mark})]
    weight = {"fontWeight": "bold"} if bold else {}
    settings = {"fontSize": size, **weight, **mark}
    colour = settings.pop("color", INK)
    rim = {"stroke": look.ground, "strokeWidth": 4, "strokeJoin": "round", "opacity": 0.9}
    where = {"x": "x", "y": "y", "text": "words"}
    return [layer(name, values, "text", where, **settings, **drawn) for drawn in (rim, {"color": colour})]


def hole_layers(holes: Sequence[Hole], frame: Frame, beside: Sequence[tuple[int, float]] = ()) -> list[Layer]:
    """Return the hatch over every hole, and the label of every hole that has room for one.

    Labels keep clear of the points `beside` (instant in ms, °C) where they can.
    """
    left, right = frame.axis.from_ms, frame.axis.until_ms
    seen = [h for h in holes if h.until_ms > left and h.from_ms < right]
    if not seen:
        return []
    bands = [
        {
            "x": frame.x(max(hole.from_ms, left)),
            "x2": frame.x(min(hole.until_ms, right)),
            "y": frame.low,
            "y2": frame.high,
            "words": hole_words(hole, frame.look.zone),
            "when": _("{first} to {last}").format(
                first=clock_words(hole.from_ms, frame.look.zone), last=clock_words(hole.until_ms, frame.look.zone)
            ),
        }
        for hole in seen
    ]
    tip = {"words": " ", "when": _("when")}
    ground = layer("holes", bands, "rect", BOX, tip=tip, color=frame.look.ground, opacity=0.88)
    width = 0.7 if frame.look.paper else 1
    hatch = layer("hatch", _hatch(seen, frame), "rule", BOX, color=HATCH, strokeWidth=width, clip=True)
    return [ground, hatch, *_hole_labels(seen, frame, beside)]


def _hatch(holes: Sequence[Hole], frame: Frame) -> list[dict[str, float]]:
    """Return slanted lines across every hole, cut off at its edges and at the sheet's."""
    spacing = 7 if frame.look.paper else 9
    left, right = frame.axis.from_ms, frame.axis.until_ms
    spans = [(max(h.from_ms, left), min(h.until_ms, right)) for h in holes]
    total = sum(frame.look.height + frame.px(*span) for span in spans) / spacing
    spacing = math.ceil(spacing * max(1.0, total / _MOST_HATCH_LINES))
    lines = []
    for begin, end in spans:
        width, height = max(frame.px(begin, end), 0.5), frame.look.height
        for offset in range(spacing // 2, int(height + width), spacing):
            # In px from the lower left corner of the band: from (0, offset) downwards to the right.
            x1, y1 = (0.0, float(offset)) if offset <= height else (float(offset - height), float(height))
            x2, y2 = (float(offset), 0.0) if offset <= width else (width, offset - width)
            per_px = (end - begin) / width
            lines.append(
                {
                    "x": frame.x(begin + round(x1 * per_px)),
                    "x2": frame.x(begin + round(x2 * per_px)),
                    "y": round(frame.low + frame.degrees(y1), 3),
                    "y2": round(frame.low + frame.degrees(y2), 3),
                }
            )
    return lines


_ROOM_UP = 16  # px that an upright label leaves free, below and above


def _hole_labels(holes: Sequence[Hole], frame: Frame, beside: Sequence[tuple[int, float]]) -> list[Layer]:
    """Return labels along or, in a narrow hole, up the band; the longest holes first where they would crowd.

    One that fits neither way is a question mark; its words are told on hover.
    """
    look = frame.look
    size = look.small
    level: list[dict[str, Any]] = []
    upright: list[dict[str, Any]] = []
    taken: list[tuple[float, float]] = []
    for hole in sorted(holes, key=lambda h: h.from_ms - h.until_ms):
        begin, end = max(hole.from_ms, frame.axis.from_ms), min(hole.until_ms, frame.axis.until_ms)
        text = hole_words(hole, look.zone)
        long = len(text) * size * 0.5
        along = frame.px(begin, end) > long + 12
        if not along and long > look.height - _ROOM_UP:  # it would grow out of the sheet, and squeeze it
            text, long, along = "?", size, True
        half = (long if along else size * 1.3) / 2
        at, clear = ((begin + end) // 2, True) if along else _clear_of(beside, begin, end, long, frame)
        place = frame.px(frame.axis.from_ms, at)
        if any(abs(place - other) < half + reach for other, reach in taken):
            continue
        taken.append((place, half))
        shown = text if clear else f"? {span_words(hole.from_ms, hole.until_ms, look.zone)}"
        row = {"x": frame.x(at), "y": round(frame.low + frame.degrees(8), 4), "words": shown}
        (level if along else upright).append(row)
    settings: dict[str, Any] = {"size": size, "color": MUTED}
    return [
        *words("hole labels", level, look, align="center", baseline="bottom", **settings),
        *words("upright hole labels", upright, look, angle=270, align="left", baseline="middle", **settings),
    ]


def _clear_of(beside: Sequence[tuple[int, float]], begin: int, end: int, long: float, frame: Frame) -> tuple[int, bool]:
    """Return where in a narrow hole an upright label meets no point, and whether there is such a place."""
    top = frame.low + frame.degrees(long + 16)
    inside = [at for at, celsius in beside if begin <= at <= end and frame.y(celsius) < top]
    need = frame.look.small
    for share in (0.5, 0.2, 0.8, 0.9):
        at = begin + round((end - begin) * share)
        if all(abs(frame.px(at, other)) >= need for other in inside):
            return at, True
    return (begin + end) // 2, False
