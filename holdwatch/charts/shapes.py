"""The shapes of a chart as SVG, written here: a browser's renderer takes half a second to start and 50 ms a chart.

Only what our charts are made of is known: rectangles, rules, lines, areas and points over two straight scales, and their
ruled axes without words. Tests hold each of them against the renderer that the grammar comes with.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from math import floor, sqrt
from typing import Any

__all__ = ["shapes"]

Row = dict[str, Any]
Mark = dict[str, Any]
Columns = dict[str, str]
"""The column of the rows that each channel is taken from."""


@dataclass(frozen=True)
class _Sheet:
    """Where the values of a chart stand, in px from the upper left corner of its sheet."""

    left: float
    across: float
    high: float
    up: float
    width: float
    height: float

    def x(self, value: float) -> float:
        return (value - self.left) * self.across

    def y(self, value: float) -> float:
        return (self.high - value) * self.up


def shapes(chart: dict[str, Any]) -> str:
    """Return all shapes of a chart, from its first layer, the ruled sheet, upwards; ``#sheet`` is what they are cut off at.

    Raises
    ------
    KeyError
        If the chart has a mark that is not known here.
    """
    ruled, *layers = chart["layer"]
    (left, right), (low, high) = (ruled["encoding"][channel]["scale"]["domain"] for channel in "xy")
    width, height = chart["width"], chart["height"]
    sheet = _Sheet(left, width / (right - left), high, height / (high - low), width, height)
    return _axes(ruled["encoding"], chart["config"]["axis"], sheet) + "".join(_layer(layer, sheet) for layer in layers)


def _axes(encoding: dict[str, Any], look: dict[str, Any], sheet: _Sheet) -> str:
    """Draw the grid, the ticks and the line of time, each on the middle of a px, so that thin lines are sharp."""
    across, up = encoding["x"]["axis"], encoding["y"]["axis"]
    xs = [floor(sheet.x(value) + 0.5) + 0.5 for value in across["values"]]
    ys = [floor(sheet.y(value) + 0.5) + 0.5 for value in up["values"]]
    foot, size = sheet.height + 0.5, across["tickSize"]
    grid = {"stroke": look["gridColor"], "stroke-width": look["gridWidth"]}
    line = {"stroke": look["domainColor"]}
    return (
        _group({**grid, "stroke-opacity": across["gridOpacity"]}, [_path(f"M{_at(x, 0.5)}V{_px(foot)}") for x in xs])
        + _group(grid, [_path(f"M{_at(0.5, y)}H{_px(sheet.width + 0.5)}") for y in ys])
        + _group({"stroke": look["tickColor"]}, [_path(f"M{_at(x, foot)}v{_px(size)}") for x in xs])
        + _group(line, [_path(f"M{_at(0.5, foot)}h{_px(sheet.width)}")])
    )


def _layer(layer: dict[str, Any], sheet: _Sheet) -> str:
    """Draw all rows of a layer."""
    mark = layer["mark"]
    columns = {channel: asked["field"] for channel, asked in layer["encoding"].items() if "field" in asked}
    paths = _MARKS[mark["type"]](layer["data"]["values"], columns, mark, sheet)
    own = f' opacity="{mark["opacity"]}"' if mark.get("opacity", 1) != 1 else ""  # each shape's, also where two overlap
    clip = {"clip-path": "url(#sheet)"} if mark.get("clip") else {}
    return _group({**_paint(mark), **clip}, [path.replace("/>", f"{own}/>") for path in paths])


def _paint(mark: dict[str, Any]) -> dict[str, Any]:
    """Return how a mark is painted."""
    colour = mark["color"]
    filled = mark["type"] in {"rect", "area"} or mark.get("filled", False)
    found = {"fill": colour} if filled else {"fill": mark["fill"]} if "fill" in mark else {}
    stroke = mark.get("stroke") if filled else colour
    if stroke:
        found |= {"stroke": stroke, "stroke-width": mark["strokeWidth"]}
        found |= {"stroke-dasharray": ",".join(map(str, mark["strokeDash"]))} if "strokeDash" in mark else {}
        found |= {f"stroke-line{end}": mark[word] for end, word in _ENDS.items() if word in mark}
    return found


_ENDS = {"join": "strokeJoin", "cap": "strokeCap"}


def _group(attributes: dict[str, Any], paths: Iterable[str]) -> str:
    told = "".join(f' {name}="{value}"' for name, value in attributes.items())
    return f"<g{told}>{''.join(paths)}</g>"


def _path(outline: str, transform: str = "") -> str:
    moved = f' transform="{transform}"' if transform else ""
    return f'<path{moved} d="{outline}"/>'


def _px(value: float) -> str:
    """Write px as shortly as a hundredth allows."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _at(x: float, y: float) -> str:
    return f"{_px(x)},{_px(y)}"


# ---------------------------------------------------------------- the marks


def _rects(rows: list[Row], columns: Columns, _mark: Mark, sheet: _Sheet) -> Iterator[str]:
    for row in rows:
        across, down = _ends(row, columns, sheet)
        (left, right), (top, bottom) = sorted(across), sorted(down)
        yield _path(f"M{_at(left, top)}H{_px(right)}V{_px(bottom)}H{_px(left)}Z")


def _rules(rows: list[Row], columns: Columns, _mark: Mark, sheet: _Sheet) -> Iterator[str]:
    for row in rows:
        (x, x2), (y, y2) = _ends(row, columns, sheet)
        yield _path(f"M{_at(x, y)}L{_at(x2, y2)}")


def _ends(row: Row, columns: Columns, sheet: _Sheet) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the two ends of a row across and down; without a place up or down it goes through the whole sheet."""
    x, y = columns["x"], columns.get("y")
    down = (sheet.y(row[y]), sheet.y(row[columns.get("y2", y)])) if y else (0.0, sheet.height)
    return (sheet.x(row[x]), sheet.x(row[columns.get("x2", x)])), down


def _stretches(rows: list[Row], columns: Columns) -> Iterator[list[Row]]:
    """Return the rows of each unbroken stretch; they stand in order of time."""
    segment = columns.get("detail")
    for _, stretch in groupby(rows, key=lambda row: row[segment] if segment else None):
        yield list(stretch)


def _lines(rows: list[Row], columns: Columns, _mark: Mark, sheet: _Sheet) -> Iterator[str]:
    x, y = columns["x"], columns["y"]
    for stretch in _stretches(rows, columns):
        yield _path("M" + "L".join(_at(sheet.x(row[x]), sheet.y(row[y])) for row in stretch))


def _areas(rows: list[Row], columns: Columns, _mark: Mark, sheet: _Sheet) -> Iterator[str]:
    x, y, y2 = columns["x"], columns["y"], columns["y2"]
    for stretch in _stretches(rows, columns):
        there = [_at(sheet.x(row[x]), sheet.y(row[y])) for row in stretch]
        back = [_at(sheet.x(row[x]), sheet.y(row[y2])) for row in reversed(stretch)]
        yield _path(f"M{'L'.join([*there, *back])}Z")


def _points(rows: list[Row], columns: Columns, mark: Mark, sheet: _Sheet) -> Iterator[str]:
    x, y = columns["x"], columns["y"]
    outline, moved = _symbol(mark.get("shape", "circle"), sqrt(mark["size"]) / 2)
    turned = f" rotate({mark['angle']})" if "angle" in mark else ""
    for row in rows:
        yield _path(outline, f"translate({_at(sheet.x(row[x]), sheet.y(row[y]))}){turned}{moved}")


def _symbol(shape: str, half: float) -> tuple[str, str]:
    """Return the outline of a symbol that is twice `half` px wide, and how it is moved; a shape of ours is 2 wide."""
    r = _px(half)
    outlines = {
        "circle": f"M{r},0A{r},{r},0,1,1,-{r},0A{r},{r},0,1,1,{r},0",
        "diamond": f"M-{r},0L0,-{r}L{r},0L0,{r}Z",
        "stroke": f"M-{r},0L{r},0",
    }
    return (outlines[shape], "") if shape in outlines else (shape, f" scale({r})")


_MARKS: dict[str, Callable[[list[Row], Columns, Mark, _Sheet], Iterator[str]]] = {
    "rect": _rects,
    "rule": _rules,
    "line": _lines,
    "area": _areas,
    "point": _points,
}
