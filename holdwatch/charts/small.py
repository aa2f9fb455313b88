"""Small pictures for the rows of the Bench: a cooling curve under its staircase, and a unit's pen trace.

Thirty of them stand on one page on a tablet, so they are plain SVG, written here: no axis, no library in the
browser, a few hundred bytes each. The words stand beside them in the row.
"""

from collections.abc import Sequence
from html import escape

import numpy as np
from numpy.typing import ArrayLike, NDArray

from holdwatch.charts.curves import CurveView, Hole, LevelView, TraceView
from holdwatch.charts.marks import Mark
from holdwatch.charts.reduce import segments, thin
from holdwatch.charts.staircase import describe
from holdwatch.charts.theme import DEVIATION, FILL, HATCH, INK, SOON, Look
from holdwatch.charts.treads import fan_to_draw, treads
from holdwatch.language import _
from holdwatch.quantities import format_temperature
from holdwatch.readings import Series

__all__ = ["small_curve", "small_trace"]

_PAD = 3.0
_MOST = 160


class _Sheet:
    """Places instants and temperatures on a picture of `width` × `height` px."""

    def __init__(self, span: tuple[int, int], low: float, high: float, size: tuple[int, int]) -> None:
        self.from_ms, self.until_ms = span
        self.low, self.high = low, max(high, low + 1.0)
        self.width, self.height = size

    def x(self, at_ms: float) -> float:
        share = (at_ms - self.from_ms) / max(self.until_ms - self.from_ms, 1)
        return round(_PAD + min(max(share, 0.0), 1.0) * (self.width - 2 * _PAD), 1)

    def y(self, celsius: float) -> float:
        share = (celsius - self.low) / (self.high - self.low)
        return round(self.height - _PAD - min(max(share, 0.0), 1.0) * (self.height - 2 * _PAD), 1)

    def xs(self, at_ms: ArrayLike) -> list[str]:
        """Place many instants at once, as `x` does."""
        share = (np.asarray(at_ms, dtype=np.float64) - self.from_ms) / max(self.until_ms - self.from_ms, 1)
        return [f"{x:.1f}" for x in (_PAD + np.clip(share, 0.0, 1.0) * (self.width - 2 * _PAD)).tolist()]

    def ys(self, celsius: ArrayLike) -> list[str]:
        """Place many temperatures at once, as `y` does."""
        share = (np.asarray(celsius, dtype=np.float64) - self.low) / (self.high - self.low)
        placed = self.height - _PAD - np.clip(share, 0.0, 1.0) * (self.height - 2 * _PAD)
        return [f"{y:.1f}" for y in placed.tolist()]

    def line(self, at_ms: ArrayLike, celsius: ArrayLike, colour: str, width: float, dash: str = "") -> str:
        path = " ".join(map(",".join, zip(self.xs(at_ms), self.ys(celsius), strict=True)))
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        return (
            f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="{width}" '
            f'stroke-linejoin="round" stroke-linecap="round"{dashed}/>'
        )

    def band(self, begin_ms: float, end_ms: float, low_c: float, high_c: float, fill: str, opacity: float = 1) -> str:
        x, y = self.x(begin_ms), self.y(high_c)
        return (
            f'<rect x="{x}" y="{y}" width="{max(self.x(end_ms) - x, 0.8):.1f}" '
            f'height="{max(self.y(low_c) - y, 0.8):.1f}" fill="{fill}" fill-opacity="{opacity}"/>'
        )

    def hatch(self, holes: Sequence[Hole]) -> str:
        made = []
        for hole in holes:
            left, right = self.x(hole.from_ms), self.x(hole.until_ms)
            wide, tall = right - left, self.height - 2 * _PAD
            lines = []
            for offset in np.arange(3.0, tall + wide, 5.0):
                a, b = max(0.0, offset - tall), min(wide, offset)
                lines.append(f"M{left + a:.1f},{_PAD + offset - a:.1f}L{left + b:.1f},{_PAD + offset - b:.1f}")
            made.append(f'<path d="{"".join(lines)}" stroke="{HATCH}" stroke-width="1" fill="none"/>')
        return "".join(made)

    def pen(self, at_ms: NDArray[np.int64], celsius: NDArray[np.float64], holes: tuple[Hole, ...], width: float) -> str:
        number = segments(at_ms, holes)
        made = []
        for n in np.unique(number):
            part = number == n
            at, c = at_ms[part], celsius[part]
            made.append(self.dot(float(at[0]), float(c[0]), 1.3) if len(at) == 1 else self.line(at, c, INK, width))
        return "".join(made)

    def dot(self, at_ms: float, celsius: float, radius: float) -> str:
        return f'<circle cx="{self.x(at_ms)}" cy="{self.y(celsius)}" r="{radius}" fill="{INK}"/>'

    def wrap(self, parts: Sequence[str], said: str) -> str:
        return (
            f'<svg viewBox="0 0 {self.width} {self.height}" width="{self.width}" height="{self.height}" role="img" '
            f'aria-label="{escape(said, quote=True)}" preserveAspectRatio="none" style="max-width:100%">'
            f"{''.join(parts)}</svg>"
        )


def small_curve(curve: CurveView, look: Look) -> str:
    """Return a cooling curve under its staircase as an inline SVG."""
    size = (look.width or 220, look.height if look.width else 64)
    steps = treads(curve)
    readings = thin(curve.readings, curve.holes, _MOST + 4 * len(curve.holes))
    known = [c for step in steps for c in (step.height_c, step.target_c)]
    known += [float(readings.celsius.min()), float(readings.celsius.max())] if len(readings) else []
    known = known or [0.0, 60.0]
    until = max([curve.until_ms, *(step.ends_ms for step in steps)])
    sheet = _Sheet((curve.from_ms, until), min(known) - 3, max(known) + 2, size)
    parts = [sheet.band(step.begins_ms, step.ends_ms, sheet.low, step.height_c, FILL) for step in steps]
    parts.append(sheet.hatch(curve.holes))
    late = any(step.mark is Mark.SOON for step in steps)
    fan = fan_to_draw(curve)
    if fan is not None and curve.live:
        ahead = [(at, mid) for at, _, mid, _ in fan.path if at <= until]
        parts.append(sheet.line([at for at, _ in ahead], [mid for _, mid in ahead], SOON if late else INK, 1.4, "4 3"))
    if steps:
        colour = DEVIATION if any(step.mark is Mark.DEVIATION for step in steps) else INK
        edges = [edge for step in steps for edge in (step.begins_ms, step.ends_ms, step.ends_ms)]
        heights = [height for step in steps for height in (step.height_c, step.height_c, step.target_c)]
        parts.append(sheet.line(edges, heights, colour, 1.2))
    parts.append(_curve(readings, curve, sheet))
    return sheet.wrap(parts, describe(curve, look))


def _curve(readings: Series, curve: CurveView, sheet: _Sheet) -> str:
    if curve.sparse:
        points = zip(readings.at_ms, readings.celsius, strict=True)
        return "".join(sheet.dot(float(at), float(c), 1.6) for at, c in points)
    drawn = sheet.pen(readings.at_ms, readings.celsius, curve.holes, 2.2)
    if curve.live and curve.last_ms is not None and curve.last_c is not None:
        drawn += sheet.dot(curve.last_ms, curve.last_c, 3.4)
    return drawn


def small_trace(trace: TraceView, level: LevelView | None, look: Look, said: str = "") -> str:
    """Return a unit's thin pen trace with the limit ruled through it as an inline SVG."""
    size = (look.width or 220, look.height if look.width else 44)
    known = [float(trace.min_c.min()), float(trace.max_c.max())] if len(trace) else []
    known += [level.level_c] if level else []
    known = known or [0.0, 10.0]
    middle, half = (min(known) + max(known)) / 2, max((max(known) - min(known)) / 2 * 1.1, 2.5)
    sheet = _Sheet((trace.from_ms, trace.until_ms), middle - half, middle + half, size)
    parts = []
    if level:
        edge = sheet.high if level.at_most else sheet.low
        low, high = sorted((level.level_c, edge))
        parts += [sheet.band(begin, end, low, high, DEVIATION, 0.25) for begin, end in level.marks]
    parts.append(sheet.hatch(trace.holes))
    if level:
        parts.append(sheet.line([trace.from_ms, trace.until_ms], [level.level_c, level.level_c], INK, 1))
    if len(trace) and not trace.raw:
        placed = zip(sheet.xs(trace.at_ms), sheet.ys(trace.min_c), sheet.ys(trace.max_c), strict=True)
        strokes = (f"M{x},{low}V{high}" for x, low, high in placed)
        parts.append(f'<path d="{"".join(strokes)}" stroke="{INK}" stroke-width="0.6"/>')
    if len(trace):
        parts.append(sheet.pen(trace.at_ms, trace.mean_c, trace.holes, 1.3))
    limit = ""
    if level:
        limit = ", " + _("limit {temperature}").format(temperature=format_temperature(level.level_c, look.scale, 0))
    return sheet.wrap(parts, f"{said or _('Pen trace')}{limit}")
