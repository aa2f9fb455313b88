"""A chart for paper as a picture: the same bytes for the same chart, with no browser and no network."""

import json
import re
from functools import cache
from html import escape
from typing import TYPE_CHECKING, Any

from holdwatch.charts.theme import FAMILY, INK, font_directory

if TYPE_CHECKING:
    import altair as alt  # whoever only draws is spared of it

__all__ = ["draw", "draw_nothing", "is_drawing", "to_drawing", "to_svg"]


_CLIP = re.compile(r'(id="|url\(#)clip(\d+)')
_BASELINES = {"top": 0.79, "middle": 0.3, "bottom": -0.21}
"""How far below its place the line of a text lies, in sizes: the renderer's own figures."""
_ANCHORS = {"center": "middle", "right": "end"}


@cache
def _with_fonts() -> None:
    """Tell the renderer where our font files are, once."""
    import vl_convert

    vl_convert.register_font_directory(font_directory())


def _renumbered(svg: str) -> str:
    """Number the clips of a picture from its own beginning; the renderer counts through all it has ever drawn."""
    numbers: dict[str, int] = {}
    return _CLIP.sub(lambda found: f"{found[1]}clip{numbers.setdefault(found[2], len(numbers))}", svg)


def to_drawing(chart: "alt.LayerChart") -> dict[str, Any]:
    """Return a chart that was laid out for paper as facts, which `draw` draws, also in another process.

    Raises
    ------
    ValueError
        If the chart was laid out for a screen: its words would be missing.
    """
    drawing: dict[str, Any] = chart.to_dict(validate=False)  # tests hold the charts against the schema
    if not is_drawing(drawing):
        raise ValueError("the chart was laid out for a screen: give it a Look with paper=True")
    return drawing


def is_drawing(facts: dict[str, Any]) -> bool:
    """Tell whether facts are a drawing, among the other facts of a paper."""
    return "usermeta" in facts


def draw(drawing: dict[str, Any]) -> str:
    """Return a drawing as an SVG; its words are written here (`layers` says why)."""
    import vl_convert

    _with_fonts()
    words = "".join(map(_text, drawing["usermeta"]["words"]))
    shapes = json.dumps({key: value for key, value in drawing.items() if key != "usermeta"})
    svg = _renumbered(str(vl_convert.vegalite_to_svg(shapes, allowed_base_urls=[])))
    left, top = drawing["padding"]["left"], drawing["padding"]["top"]
    group = f'<g transform="translate({left},{top})" font-family="{escape(FAMILY)}" fill="{INK}">{words}</g>'
    return svg.removesuffix("</svg>") + group + "</svg>"


def draw_nothing() -> None:
    """Draw an empty picture: the first one takes half a second to get the renderer ready."""
    import vl_convert

    _with_fonts()
    vl_convert.vegalite_to_svg({"data": {"values": []}, "mark": "point"}, allowed_base_urls=[])


def to_svg(chart: "alt.LayerChart") -> str:
    """Return a chart that was laid out for paper as an SVG; see `to_drawing`."""
    return draw(to_drawing(chart))


def _text(word: dict[str, Any]) -> str:
    """Write one text, under it the rim that keeps it readable on a line."""
    size = word["size"]
    turned = f" rotate({word['angle']})" if word.get("angle") else ""
    down = word.get("dy", 0) + _BASELINES.get(word.get("baseline", ""), 0) * size
    place = f"translate({word['x']},{word['y']}){turned} translate({word.get('dx', 0)},{down:.2f})"
    anchor = f' text-anchor="{_ANCHORS[word["align"]]}"' if word.get("align") in _ANCHORS else ""
    weight = ' font-weight="bold"' if word.get("bold") else ""
    rim = word.get("rim")
    around = f' stroke="{rim}" stroke-width="4" stroke-linejoin="round" paint-order="stroke"' if rim else ""
    colour = f' fill="{word["color"]}"' if "color" in word else ""
    return (
        f'<text transform="{place}" font-size="{size}"{anchor}{weight}{around}{colour}>{escape(word["words"])}</text>'
    )
