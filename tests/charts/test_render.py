"""Our pictures for paper, held against the renderer of the chart language and against its schema."""

import json
import re
from dataclasses import replace
from io import BytesIO
from typing import Any

import altair as alt
import numpy as np
import pytest
import vl_convert
from jsonschema import ValidationError
from numpy.typing import NDArray
from PIL import Image

from holdwatch.charts.layers import Chart
from holdwatch.charts.render import to_svg
from holdwatch.charts.staircase import staircase
from holdwatch.charts.theme import Look
from holdwatch.charts.trace import pen_trace
from holdwatch.readings import Series
from holdwatch.rules.verdicts import Verdict
from holdwatch.sieve import SetAside
from tests.charts.drawn import layers
from tests.charts.kitchen import START, ZONE, cooling, curve, fan, stages, without
from tests.charts.test_trace import LEVEL, walk_in

MINUTE = 60_000
PAPER = Look(ZONE, width=620, height=210, paper=True)
AIR = replace(walk_in(), food_c=np.full(len(walk_in()), 3.0), food_lag_min=70.0)


def charts(look: Look) -> dict[str, Chart]:
    """Return charts that have every layer between them."""
    soon = stages(cooling(minutes=95, rate=0.4), (Verdict.OPEN, Verdict.OPEN))
    running = curve(
        cooling(minutes=95, rate=0.4),
        live=True,
        clauses=soon,
        soon=frozenset({soon[0].clause}),
        fans=(fan(START + 95 * MINUTE, 70, START + 155 * MINUTE),),
    )
    aside = (SetAside(START + 200 * MINUTE, 85.0, "a spike"),)
    broken = without(without(cooling(), 60, 75), 200, 260)
    full = curve(
        broken,
        set_aside=aside,
        hand=Series.of([(START + 125 * MINUTE, 26.0)]),
        clauses=stages(broken, (Verdict.MISSED, Verdict.UNPROVEN)),
    )
    loose = tuple(replace(c, started=(None, c.started[1])) for c in full.clauses if c.started)
    hot = cooling(minutes=9)
    return {
        "running": staircase(running, look),
        "full": staircase(full, look),
        "open bracket": staircase(replace(full, clauses=loose), look),
        "sparse": staircase(curve(cooling(every_min=30)), look),
        "hot": staircase(curve(hot, live=True, clauses=stages(hot, (Verdict.OPEN, Verdict.OPEN))), look),
        "trace": pen_trace(AIR, [LEVEL], look),
    }


@pytest.mark.parametrize("look", [Look(ZONE), PAPER], ids=["screen", "paper"])
def test_charts_keep_to_the_schema_of_their_language(look: Look) -> None:
    """Every layer is held against the schema that the grammar's own library carries, once and with two of its rows."""
    drawn = charts(look)
    kinds = {(one["data"]["name"], one["mark"]["type"]): one for chart in drawn.values() for one in layers(chart)}
    for each in kinds.values():
        del each["data"]["values"][2:]
    whole = {**drawn["full"], "layer": list(kinds.values())}
    alt.LayerChart.from_dict(whole)
    with pytest.raises(ValidationError):
        alt.LayerChart.from_dict({**whole, "layer": [], "height": "tall"})


def _pixels(svg: str) -> NDArray[np.int64]:
    """Return a picture as its pixels, by a third program."""
    image = Image.open(BytesIO(vl_convert.svg_to_png(svg)))
    return np.asarray(image.convert("RGB")).astype(np.int64)


def test_shapes_on_paper_are_those_of_the_renderer() -> None:
    """The renderer is the judge: drawn by it and by us, no pixel differs by more than the edge of a thin line does."""
    seen = set()
    for name, chart in charts(PAPER).items():
        bare = {key: value for key, value in chart.items() if key != "usermeta"}
        theirs = _pixels(vl_convert.vegalite_to_svg(json.dumps(bare), allowed_base_urls=[]))
        ours = _pixels(to_svg({**chart, "usermeta": {"words": []}}))
        off = np.abs(ours - theirs).max(axis=2)
        assert off.max() < 64, name
        assert (off > 24).mean() < 0.0001, name
        seen |= {layer["mark"]["type"] for layer in layers(chart)}
    assert seen == {"rect", "rule", "line", "area", "point"}


def test_a_shape_that_is_missing_is_noticed() -> None:
    """The comparison is no rubber stamp: each layer that is left out changes pixels."""
    chart = charts(PAPER)["full"]
    whole = _pixels(to_svg(chart))
    for number, layer in enumerate(layers(chart)[1:], 1):
        less: dict[str, Any] = {**chart, "layer": [each for n, each in enumerate(layers(chart)) if n != number]}
        assert np.abs(_pixels(to_svg(less)) - whole).max() > 12, layer["data"]["name"]


def test_every_level_on_the_axis_has_its_line() -> None:
    """The renderer leaves out every second value where it finds them many, and would take the line of a limit with them."""
    for look in (PAPER, replace(PAPER, height=60)):
        axis = layers(staircase(curve(cooling()), look))[0]["encoding"]["y"]["axis"]
        assert axis["tickCount"] == len(axis["values"])


def test_words_on_paper_have_a_ground_and_no_rim() -> None:
    """The typesetter draws a rim with each letter anew, over the letter before it."""
    svg = to_svg(charts(PAPER)["full"])
    assert not re.search(r"<text[^>]*stroke", svg)
    grounds = re.findall(r'<rect transform="([^"]+)"[^>]*/><text transform="([^"]+)"', svg)
    assert len(grounds) > 4
    assert all(ground == text for ground, text in grounds)


def placed(svg: str) -> dict[str, tuple[float, float]]:
    """Return where each level text of a picture stands, in px from its sheet's corner."""
    found: dict[str, tuple[float, float]] = {}
    for place, words in re.findall(r'<text [^>]*transform="([^"]+)"[^>]*>([^<]+)</text>', svg):
        moves = re.findall(r"translate\(([-\d.]+),([-\d.]+)\)", place)
        found[words] = (sum(float(x) for x, _ in moves), sum(float(y) for _, y in moves))
    return found


def test_words_on_paper_stand_where_the_renderer_would_set_them() -> None:
    """The renderer is the judge: it is given the same words by themselves, and sets each of them within half a px."""
    drawn = staircase(curve(without(cooling(), 108, 141)), PAPER)
    words = drawn["usermeta"]["words"]
    marks = [
        {
            "mark": {"type": "text", "fontSize": word["size"]}
            | {key: word[key] for key in ("align", "baseline", "dx", "dy") if key in word},
            "encoding": {axis: {"value": word[axis]} for axis in "xy"} | {"text": {"value": word["words"]}},
        }
        for word in words
        if "angle" not in word
    ]
    by_renderer = placed(vl_convert.vegalite_to_svg({"data": {"values": [{}]}, "layer": marks}))
    ours = placed(to_svg(drawn))
    assert len(by_renderer) > 10
    for said, (x, y) in by_renderer.items():
        assert ours[said] == (pytest.approx(x, abs=0.5), pytest.approx(y, abs=0.5)), said
