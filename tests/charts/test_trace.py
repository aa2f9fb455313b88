"""The pen trace of a unit and the small pictures of the Bench."""

from dataclasses import replace

import numpy as np
import pytest

from holdwatch.charts.curves import Hole, LevelView, TraceView
from holdwatch.charts.render import to_svg
from holdwatch.charts.small import small_curve, small_trace
from holdwatch.charts.theme import Look
from holdwatch.charts.trace import pen_trace
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.quantities import celsius_of_f
from tests.charts.drawn import layers_named, rows_named, words_in
from tests.charts.kitchen import HOLDING, START, ZONE, cooling, curve, without

LEVEL = LevelView(celsius_of_f(41), HOLDING, at_most=True, marks=((START + 60_000_000, START + 62_000_000),))


def walk_in(*, raw: bool = False) -> TraceView:
    """Return a day in a walk-in, with a hole of an hour."""
    at_ms = START + np.arange(0, MS_PER_DAY, 5 * MS_PER_MINUTE, dtype=np.int64)
    hole = Hole(START + 300 * MS_PER_MINUTE, START + 360 * MS_PER_MINUTE)
    at_ms = at_ms[(at_ms <= hole.from_ms) | (at_ms >= hole.until_ms)]
    mean = 3.0 + np.sin(at_ms / 2e6)
    return TraceView(at_ms, mean - 0.3, mean, mean + 0.3, START, START + MS_PER_DAY, (hole,), raw)


def test_pen_trace_never_crosses_a_hole() -> None:
    """The pen is lifted over a hole, which is hatched and told."""
    drawn = pen_trace(walk_in(), [LEVEL], Look(ZONE, width=800, height=260))
    segments = {row["segment"] for row in rows_named(drawn, "trace")}
    assert len(segments) == 2
    assert "no readings 15:12–16:12" in words_in(drawn)
    line = next(layer for layer in layers_named(drawn, "trace") if layer["mark"]["type"] == "line")
    assert line["encoding"]["detail"]["field"] == "segment"


def test_the_words_of_a_hole_never_grow_out_of_the_sheet() -> None:
    """A hole of a night is narrow in a year, and its words with both days are longer than a low sheet is high."""
    night = (Hole(START + 12 * 60 * MS_PER_MINUTE, START + 13 * 60 * MS_PER_MINUTE),)
    for height, shown in ((300, "no readings 22:12–23:12"), (90, "?")):
        drawn = pen_trace(replace(walk_in(), holes=night), [LEVEL], Look(ZONE, width=800, height=height))
        labels = {text for text in words_in(drawn) if text.startswith(("no readings", "?"))}
        assert labels == {shown}
        assert rows_named(drawn, "holes")[0]["words"] == "no readings 22:12–23:12"


def test_pen_trace_rules_the_limit_and_names_its_clause() -> None:
    """The limit is a line through the whole trace, with figure and clause."""
    drawn = pen_trace(walk_in(), [LEVEL], Look(ZONE, width=800, height=260))
    assert rows_named(drawn, "limit 1")[0]["y"] == pytest.approx(41.0)
    assert f"41\u202f°F or less · {HOLDING}" in words_in(drawn)


@pytest.mark.parametrize(
    ("holes_min", "from_min"),
    [
        ([(700, 760)], 0),  # far to the right of the words
        ([(30, 45)], 45),  # amid them
        ([(0, 20), (60, 90), (700, 900)], 90),
        ([(100 * n, 100 * n + 10) for n in range(15)], 0),  # no room anywhere: where they always stand
    ],
)
def test_pen_trace_writes_the_limit_where_no_hole_is(holes_min: list[tuple[int, int]], from_min: int) -> None:
    """The words of a limit are not written through a hatch, as long as there is room beside it."""
    holes = tuple(Hole(START + a * MS_PER_MINUTE, START + b * MS_PER_MINUTE) for a, b in holes_min)
    drawn = pen_trace(replace(walk_in(), holes=holes), [LEVEL], Look(ZONE, width=800, height=260))
    assert rows_named(drawn, "limit 1 words")[0]["x"] == pytest.approx(from_min)


def test_pen_trace_of_raw_readings_has_no_shadow() -> None:
    """Lowest and highest are only drawn where a point stands for many readings."""
    look = Look(ZONE, width=800, height=260)
    kinds = [
        {layer["mark"]["type"] for layer in layers_named(pen_trace(walk_in(raw=raw), [LEVEL], look), "trace")}
        for raw in (True, False)
    ]
    assert "area" not in kinds[0]
    assert "area" in kinds[1]


def test_pen_trace_without_readings_is_one_hole() -> None:
    """A probe that was never heard is a hatched sheet."""
    empty = TraceView.empty(START, START + MS_PER_DAY)
    drawn = pen_trace(empty, [LEVEL], Look(ZONE, width=620, height=120, paper=True))
    assert len(rows_named(drawn, "holes")) == 1
    assert to_svg(drawn).startswith("<svg")


def test_pen_trace_shades_a_spell_from_the_limit_up() -> None:
    """A spell beyond the limit is a band on the far side of the limit."""
    drawn = pen_trace(walk_in(), [LEVEL], Look(ZONE, width=800, height=260))
    (band,) = rows_named(drawn, "spells")
    assert band["y"] == pytest.approx(41.0)
    assert band["y2"] > band["y"]


def test_small_curve_is_light_and_lifts_the_pen_over_holes() -> None:
    """A row's curve is a few kB of plain SVG; each unbroken stretch is a line of its own."""
    drawn = small_curve(curve(without(cooling(), 108, 141)), Look(ZONE))
    assert len(drawn.encode()) < 8_000
    assert drawn.count('stroke-width="2.2"') == 2
    assert 'role="img"' in drawn
    assert "Pastry cream L-0412" in drawn


def test_small_curve_escapes_names() -> None:
    """A product's name is text, whatever it holds."""
    drawn = small_curve(curve(cooling(), product='<b>"Cream"</b>'), Look(ZONE))
    assert "<b>" not in drawn
    assert "&lt;b&gt;&quot;Cream&quot;" in drawn


def test_small_trace_tells_its_limit_and_lifts_the_pen() -> None:
    """A unit's row trace is lifted over a hole and says the limit."""
    drawn = small_trace(walk_in(raw=True), LEVEL, Look(ZONE), "Walk-in 1")
    assert drawn.count('stroke-width="1.3"') == 2
    assert 'aria-label="Walk-in 1, limit 41\u202f°F"' in drawn


def test_estimated_food_is_dashed_and_said_to_be_an_estimate() -> None:
    """On screen the food that the air leads to is a dashed line with its word, cut at holes; on paper it is not drawn."""
    air = walk_in()
    leads = replace(air, food_c=np.full(len(air), 3.0), food_lag_min=70.0)
    drawn = pen_trace(leads, [LEVEL], Look(ZONE, width=800, height=260))
    (line,) = [layer for layer in layers_named(drawn, "estimate") if layer["mark"]["type"] == "line"]
    assert line["mark"]["strokeDash"]
    assert "– – food, an estimate" in words_in(drawn)
    assert {row["segment"] for row in rows_named(drawn, "estimate")} == {0, 1}
    assert "with a lag of 70 min" in drawn["description"]
    late = replace(leads, holes=(Hole(START + 1400 * MS_PER_MINUTE, START + 1430 * MS_PER_MINUTE),))
    ends = [rows_named(pen_trace(each, [LEVEL], Look(ZONE)), "estimate words")[0]["x"] for each in (leads, late)]
    assert ends == pytest.approx([1440, 1400])  # its words end where a hole begins
    paper = pen_trace(leads, [LEVEL], Look(ZONE, width=620, height=120, paper=True))
    assert "– – food, an estimate" not in words_in(paper)
    assert "– – food, an estimate" not in words_in(pen_trace(air, [LEVEL], Look(ZONE, width=800, height=260)))
