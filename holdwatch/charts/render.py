"""A chart for paper as a picture: the same bytes for the same chart, with no browser and no network."""

from html import escape
from typing import Any

from holdwatch.charts.shapes import shapes
from holdwatch.charts.theme import FAMILY, INK

__all__ = ["to_svg"]

_BASELINES = {"top": 0.79, "middle": 0.3, "bottom": -0.21}
"""How far below its place the line of a text lies, in sizes: as a browser's renderer of the grammar sets it."""
_ANCHORS = {"center": "middle", "right": "end"}
_REACHES_BACK = {"left": 0.0, "center": 0.5, "right": 1.0}
"""How much of a text lies to the left of its place."""
_LETTER, _BOLD_LETTER = 0.47, 0.5
"""Width of a letter of the family, about, as a part of its size."""


def to_svg(chart: dict[str, Any]) -> str:
    """Return a chart that was laid out for paper as an SVG.

    Raises
    ------
    ValueError
        If the chart was laid out for a screen: its words would be missing.
    """
    if "usermeta" not in chart:
        raise ValueError("the chart was laid out for a screen: give it a Look with paper=True")
    words = "".join(map(_text, chart["usermeta"]["words"]))
    width, height, around = chart["width"], chart["height"], chart["padding"]
    left, top = around["left"], around["top"]
    wide, tall = left + width + around["right"], top + height + around["bottom"]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{tall}" viewBox="0 0 {wide} {tall}">'
        f'<clipPath id="sheet"><rect width="{width}" height="{height}"/></clipPath>'
        f'<rect width="{wide}" height="{tall}" fill="{chart["config"]["background"]}"/>'
        f'<g transform="translate({left},{top})" fill="none" stroke-miterlimit="10">{shapes(chart)}</g>'
        f'<g transform="translate({left},{top})" font-family="{escape(FAMILY)}" fill="{INK}">{words}</g></svg>'
    )


def _text(word: dict[str, Any]) -> str:
    """Write one text, under it the ground that keeps it readable on a line.

    A rim around its letters, as a screen has it, would eat them: the typesetter draws it with each letter anew.
    """
    size = word["size"]
    turned = f" rotate({word['angle']})" if word.get("angle") else ""
    down = word.get("dy", 0) + _BASELINES.get(word.get("baseline", ""), 0) * size
    place = f"translate({word['x']},{word['y']}){turned} translate({word.get('dx', 0)},{down:.2f})"
    align = word.get("align", "left")
    anchor = f' text-anchor="{_ANCHORS[align]}"' if align in _ANCHORS else ""
    weight = ' font-weight="bold"' if word.get("bold") else ""
    colour = f' fill="{word["color"]}"' if "color" in word else ""
    text = f'<text transform="{place}" font-size="{size}"{anchor}{weight}{colour}>{escape(word["words"])}</text>'
    return _ground(word, place, align) + text if "rim" in word else text


def _ground(word: dict[str, Any], place: str, align: str) -> str:
    """Draw the ground of a text, about as wide as its letters."""
    size = word["size"]
    width = len(word["words"]) * size * (_BOLD_LETTER if word.get("bold") else _LETTER)
    left = -_REACHES_BACK[align] * width - 1
    return (
        f'<rect transform="{place}" x="{left:.2f}" y="{-0.78 * size:.2f}" width="{width + 2:.2f}" height="{size:.2f}" '
        f'fill="{word["rim"]}" fill-opacity="0.85"/>'
    )
