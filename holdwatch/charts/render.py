"""A chart as a file: the same bytes for the same chart, with no browser and no network."""

import re
from functools import cache

import altair as alt

from holdwatch.charts.theme import font_directory

__all__ = ["to_png", "to_svg"]


_CLIP = re.compile(r'(id="|url\(#)clip(\d+)')


@cache
def _with_fonts() -> None:
    """Tell the renderer where our font files are, once."""
    import vl_convert

    vl_convert.register_font_directory(font_directory())


def _specification(chart: alt.LayerChart | alt.Chart) -> str:
    return str(chart.to_json(indent=None, validate=False))  # tests hold the charts against the schema


def _renumbered(svg: str) -> str:
    """Number the clips of a picture from its own beginning; the renderer counts through all it has ever drawn."""
    numbers: dict[str, int] = {}
    return _CLIP.sub(lambda found: f"{found[1]}clip{numbers.setdefault(found[2], len(numbers))}", svg)


def to_svg(chart: alt.LayerChart | alt.Chart) -> str:
    """Return the chart as an SVG; its width must be a number of px."""
    import vl_convert

    _with_fonts()
    return _renumbered(str(vl_convert.vegalite_to_svg(_specification(chart), allowed_base_urls=[])))


def to_png(chart: alt.LayerChart | alt.Chart, scale: float = 2.0) -> bytes:
    """Return the chart as a PNG, at `scale` pixels a px."""
    import vl_convert

    _with_fonts()
    return bytes(vl_convert.vegalite_to_png(_specification(chart), scale=scale, allowed_base_urls=[]))
