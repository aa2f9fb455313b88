"""The staircase chart, read back from its drawn specification."""

import dataclasses
from itertools import pairwise

import pytest

from holdwatch.charts.localtime import TimeAxis
from holdwatch.charts.render import to_svg
from holdwatch.charts.staircase import staircase
from holdwatch.charts.theme import Look
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.quantities import Scale, celsius_of_f
from holdwatch.readings import Series
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.sieve import SetAside
from tests.charts.drawn import axis_labels, layers, layers_named, rows_named, words_in
from tests.charts.kitchen import HOLDING, STAGE_1, START, ZONE, at, cooling, curve, fan, stages, without

SCREEN = Look(ZONE, width=800)
PAPER = Look(ZONE, width=620, height=210, paper=True)


def minutes(at_ms: float, chart_from_ms: int) -> float:
    """Return where an instant stands on a chart that begins near `chart_from_ms`."""
    return TimeAxis(chart_from_ms, chart_from_ms + 1, ZONE).place(int(at_ms))


def drawn_from(curve_from_ms: int, chart_span_ms: int) -> int:
    """Return the left end of the sheet: a small margin before the curve."""
    return curve_from_ms - chart_span_ms // 28 // 2


@pytest.mark.parametrize("look", [SCREEN, PAPER, Look(ZONE, compact=True)], ids=["screen", "paper", "phone"])
def test_line_with_holes_never_spans_one(look: Look) -> None:
    """Two neighbouring points of one drawn segment never lie on both sides of a hole."""
    series = without(without(cooling(), 60, 75), 200, 260)
    drawn = staircase(curve(series), look)
    points, holes = rows_named(drawn, "line"), rows_named(drawn, "holes")
    assert len(holes) == 2
    (line,) = layers_named(drawn, "line")
    assert line["encoding"]["detail"]["field"] == "segment"
    assert len({point["segment"] for point in points}) == 3
    for one, other in pairwise(points):
        spans = any(one["x"] <= hole["x"] and other["x"] >= hole["x2"] for hole in holes)
        assert spans == (one["segment"] != other["segment"])


def test_line_of_a_sparse_record_is_not_drawn_at_all() -> None:
    """Readings half an hour apart are dots, with nothing between them."""
    drawn = staircase(curve(cooling(every_min=30)), SCREEN)
    assert layers_named(drawn, "line") == []
    assert len(rows_named(drawn, "dots")) == 15


def test_treads_end_at_due_and_step_down() -> None:
    """Each tread ends at the earliest due instant of its clause and steps down to the clause's level."""
    shown = curve(cooling())
    drawn = staircase(shown, SCREEN)
    treads, risers = rows_named(drawn, "treads"), rows_named(drawn, "risers")
    assert [tread["clause"] for tread in treads] == [clause.clause for clause in shown.clauses]
    origin = rows_named(drawn, "line")[0]["x"] - minutes(shown.from_ms, shown.from_ms)
    for tread, riser, clause in zip(treads, risers, shown.clauses, strict=True):
        assert clause.due is not None
        assert clause.due[0] is not None
        expected = (clause.due[0] - shown.from_ms) / MS_PER_MINUTE + origin
        assert tread["x2"] == pytest.approx(expected, abs=1e-3)
        assert riser["x"] == tread["x2"]
    assert [(r["y"], r["y2"]) for r in risers] == [(135.0, 70.0), (70.0, 41.0)]
    assert treads[1]["x"] == treads[0]["x2"]


def test_treads_are_labelled_with_level_local_time_and_clause() -> None:
    """Each tread says what is asked, by when on the site's clock, and by which clause."""
    said = words_in(staircase(curve(cooling()), SCREEN))
    assert "70\u202f°F by 12:41" in said
    assert "41\u202f°F by 16:41" in said
    assert f"{STAGE_1} · kept" in said


def test_due_between_two_instants_is_drawn_as_a_band() -> None:
    """Where readings are far apart the due instant is a bracket, and its whole width is drawn."""
    shown = curve(cooling(every_min=10))
    (band, _) = rows_named(staircase(shown, SCREEN), "due between")
    clause = shown.clauses[0]
    assert clause.due is not None
    assert clause.due[0] is not None
    assert clause.due[1] is not None
    assert band["x2"] - band["x"] == pytest.approx((clause.due[1] - clause.due[0]) / MS_PER_MINUTE)


def test_bracket_bars_equal_the_clauses_brackets() -> None:
    """A bar runs from the last reading on the one side of a level to the first on the other, and no farther."""
    shown = curve(cooling(every_min=10))
    drawn = staircase(shown, SCREEN)
    bars = rows_named(drawn, "brackets")
    origin = rows_named(drawn, "line")[0]["x"]
    expected = {(135.0, shown.clauses[0].started)} | {
        (round(c.level_c * 1.8 + 32, 4), c.reached) for c in shown.clauses if c.level_c is not None
    }
    found = {
        (bar["y"], tuple(round(shown.from_ms + (bar[end] - origin) * MS_PER_MINUTE) for end in ("x", "x2")))
        for bar in bars
    }
    assert found == expected
    assert {row["x"] for row in rows_named(drawn, "bracket ends")} == {bar[end] for bar in bars for end in ("x", "x2")}


def test_bracket_with_an_unknown_end_is_dashed_to_the_edge() -> None:
    """A start of which only the later end is known is an open bar with one end mark."""
    shown = curve(cooling())
    loose = tuple(
        dataclasses.replace(c, started=(None, c.started[1]), due=(None, c.due[1]))
        for c in shown.clauses
        if c.started is not None and c.due is not None
    )
    drawn = staircase(dataclasses.replace(shown, clauses=loose), SCREEN)
    (bar,) = rows_named(drawn, "open brackets")
    assert bar["when"].startswith("between not known and ")
    assert bar["x"] == layers(drawn)[0]["encoding"]["x"]["scale"]["domain"][0]
    assert layers_named(drawn, "open brackets")[0]["mark"]["strokeDash"] == [3, 3]


def test_level_not_reached_yet_has_no_bracket() -> None:
    """A running clause knows its last reading above the level; that is no crossing, and no bar is drawn."""
    series = cooling(minutes=60)
    first, second = stages(series, (Verdict.OPEN, Verdict.OPEN))
    waiting = (dataclasses.replace(first, reached=(START + 60 * MS_PER_MINUTE, None)), second)
    drawn = staircase(curve(series, live=True, clauses=waiting), SCREEN)
    assert layers_named(drawn, "open brackets") == []
    assert [bar["what"] for bar in rows_named(drawn, "brackets")] == ["the clock started"]


def test_hole_is_hatched_and_labelled() -> None:
    """A hole is a hatched band that tells when nothing was read."""
    drawn = staircase(curve(without(cooling(), 108, 141)), SCREEN)
    (band,) = rows_named(drawn, "holes")
    assert band["words"] == "no readings 12:00–12:33"
    assert "no readings 12:00–12:33" in words_in(drawn)
    hatch = rows_named(drawn, "hatch")
    assert len(hatch) > 20
    for line in hatch:
        assert band["x"] - 1e-3 <= min(line["x"], line["x2"])
        assert max(line["x"], line["x2"]) <= band["x2"] + 1e-3
        assert band["y"] - 1e-2 <= min(line["y"], line["y2"])
        assert max(line["y"], line["y2"]) <= band["y2"] + 1e-2


def test_hole_that_goes_on_is_told_since_when() -> None:
    """A probe that has fallen silent leaves a hole up to now."""
    series = cooling(minutes=100)
    drawn = staircase(curve(series, live=True, until_ms=START + 160 * MS_PER_MINUTE), SCREEN)
    assert "no readings since 11:52" in words_in(drawn)


def test_words_of_a_hole_keep_clear_of_the_last_reading() -> None:
    """A probe that fell silent near the foot of the sheet: its last reading stands beside the words of the hole."""
    shown = curve(cooling(minutes=400), live=True, until_ms=START + 460 * MS_PER_MINUTE)
    words = {word["words"]: word for word in staircase(shown, PAPER)["usermeta"]["words"]}
    last, hole = words["40.3\u202f°F"], words["no readings since 16:52"]
    assert hole["angle"] == 270
    assert last["align"] == "left"
    assert hole["x"] - hole["size"] / 2 > last["x"] + last["dx"] + len(last["words"]) * last["size"] * 0.5


def test_hole_label_on_paper_is_there_too() -> None:
    """What a screen tells of a hole, paper tells as well."""
    assert "no readings 12:00–12:33" in words_in(staircase(curve(without(cooling(), 108, 141)), PAPER))


@pytest.mark.parametrize(
    ("scale", "first"), [(Scale.F, "165.0\u202f°F (73.9\u202f°C)"), (Scale.C, "73.9\u202f°C (165.0\u202f°F)")]
)
def test_tooltip_tells_both_units(scale: Scale, first: str) -> None:
    """Touching a reading tells its local instant and its temperature in the site's unit, then in the other."""
    drawn = staircase(curve(cooling()), Look(ZONE, scale, width=800))
    (hover,) = layers_named(drawn, "hover")
    assert [tip["field"] for tip in hover["encoding"]["tooltip"]] == ["when", "temperature"]
    assert hover["data"]["values"][0]["temperature"] == first
    assert hover["data"]["values"][0]["when"] == "Wed 14 Oct 10:12:00 MDT"


def test_axis_of_a_site_in_celsius_shows_the_limits_as_converted() -> None:
    """The levels of a code printed in °F stand on a °C axis at their exact place."""
    labels = axis_labels(staircase(curve(cooling()), Look(ZONE, Scale.C, width=800)), "y")
    assert {"57.2°", "21.1°", "5°"} <= set(labels.values())


def test_reading_set_aside_is_hollow_and_tells_why() -> None:
    """A reading that was not judged is shown, hollow, with its reason, and is no part of the line."""
    spike = SetAside(START + 200 * MS_PER_MINUTE, 85.0, "a spike")
    drawn = staircase(curve(cooling(), set_aside=(spike,)), SCREEN)
    (layer,) = layers_named(drawn, "set aside")
    assert layer["mark"]["filled"] is False
    (row,) = layer["data"]["values"]
    assert row["why"] == "a spike"
    assert row["temperature"].startswith("185.0\u202f°F")
    low, high = layers(drawn)[0]["encoding"]["y"]["scale"]["domain"]
    assert low < row["y"] < high
    assert high < 185.0


def test_hand_reading_is_drawn_apart() -> None:
    """A reading by hand is a mark of its own, not a point of the probe's line."""
    hand = Series.of([(START + 125 * MS_PER_MINUTE, 26.0)])
    drawn = staircase(curve(cooling(), hand=hand), SCREEN)
    (row,) = rows_named(drawn, "by hand")
    assert row["temperature"].startswith("78.8\u202f°F")
    assert layers_named(drawn, "by hand")[0]["mark"]["shape"] == "diamond"


def test_forecast_of_a_running_batch_is_a_fan_with_a_dashed_middle() -> None:
    """The forecast widens, its middle is dashed, and now is told."""
    series = cooling(minutes=95)
    now = START + 95 * MS_PER_MINUTE
    shown = curve(series, live=True, fans=(fan(now, 70, now + 60 * MS_PER_MINUTE),))
    drawn = staircase(shown, SCREEN)
    area, middle = layers_named(drawn, "fan")
    assert area["mark"]["type"] == "area"
    assert middle["mark"]["strokeDash"] == [7, 5]
    width = [row["high"] - row["low"] for row in area["data"]["values"]]
    assert width == sorted(width)
    assert "now 11:47" in words_in(drawn)


def test_forecast_of_an_ended_batch_is_not_drawn() -> None:
    """What is over has no forecast."""
    now = START + 420 * MS_PER_MINUTE
    assert layers_named(staircase(curve(cooling(), fans=(fan(now, 41, now),)), SCREEN), "fan") == []


def test_warning_that_stands_is_told_as_soon() -> None:
    """An open clause of which a warning stands says so in word, shape and colour."""
    series = cooling(minutes=95, rate=0.4)
    words = stages(series, (Verdict.OPEN, Verdict.OPEN))
    drawn = staircase(curve(series, live=True, clauses=words, soon=frozenset({STAGE_1})), SCREEN)
    assert f"{STAGE_1} · soon" in words_in(drawn)
    assert rows_named(drawn, "due mark 1")[0]["word"] == "soon"
    assert rows_named(drawn, "due mark 2")[0]["word"] == "running"
    shapes = {name: layers_named(drawn, name)[0]["mark"]["shape"] for name in ("due mark 1", "due mark 2")}
    assert shapes["due mark 1"] != shapes["due mark 2"]


def test_food_still_hot_shows_where_the_clock_starts() -> None:
    """Before the food has fallen through the starting level there is no staircase, only that level."""
    series = cooling(minutes=9)
    drawn = staircase(curve(series, live=True, clauses=stages(series, (Verdict.OPEN, Verdict.OPEN))), SCREEN)
    assert layers_named(drawn, "treads") == []
    assert rows_named(drawn, "starting level")[0]["y"] == 135.0
    assert "the clock starts at 135\u202f°F" in words_in(drawn)


def test_clause_that_asks_nothing_draws_no_tread() -> None:
    """A batch served before its limit fell due is not drawn as if a limit had been asked."""
    series = cooling()
    drawn = staircase(curve(series, clauses=stages(series, (Verdict.MET, Verdict.NONE))), SCREEN)
    assert [tread["clause"] for tread in rows_named(drawn, "treads")] == [STAGE_1]


def test_holding_without_cooling_is_one_level() -> None:
    """A batch that is only held is drawn under the one level that is asked."""
    held = ClauseVerdict(HOLDING, "", "held at 41 °F or less", Verdict.MET, "", None, celsius_of_f(41))
    series = Series(cooling().at_ms, cooling().celsius * 0 + 3.0)
    drawn = staircase(curve(series, clauses=(held,)), SCREEN)
    assert [row["y"] for row in rows_named(drawn, "held from then on")] == [41.0]
    assert HOLDING in words_in(drawn)


def test_curve_without_a_reading_is_still_drawn() -> None:
    """A vessel that has not been heard yet is an empty sheet, not an error."""
    bare = dataclasses.replace(
        curve(cooling()), readings=Series.empty(), clauses=(), last_ms=None, last_c=None, holes=()
    )
    assert to_svg(staircase(bare, PAPER)).startswith("<svg")


def test_clocks_going_back_draws_the_hour_twice_with_its_names() -> None:
    """On 1 November 2026 01:00 comes twice in Denver; the axis is as long as the time that passed."""
    night = at(2026, 10, 31, 22, 30)
    drawn = staircase(curve(cooling(night)), SCREEN)
    labels = axis_labels(drawn, "x")
    ones = [place for place, label in labels.items() if label[0] == "01:00"]
    assert [labels[place][1] for place in ones] == ["MDT", "MST"]
    assert ones[1] - ones[0] == 60
    places = sorted(labels)
    assert {later - earlier for earlier, later in pairwise(places)} == {60}
    assert labels[places[1]] == ["00:00", "MDT", "Sun 1 Nov"]
    assert "41\u202f°F by 03:59" in words_in(drawn)  # six hours after 22:59, an hour of them twice


def test_clocks_going_forward_leaves_the_hour_out() -> None:
    """On 8 March 2026 02:00 never comes in Denver: 03:00 follows an hour after 01:00, and six hours of cooling end an hour later."""
    drawn = staircase(curve(cooling(at(2026, 3, 7, 23, 30))), SCREEN)
    labels = axis_labels(drawn, "x")
    places = sorted(labels)
    assert [labels[place][:2] for place in places][1:4] == [["01:00", "MST"], ["03:00", "MDT"], ["04:00", "MDT"]]
    assert {later - earlier for earlier, later in pairwise(places)} == {60}
    assert "41\u202f°F by 06:59" in words_in(drawn)  # six hours after 23:59


def test_words_of_a_hole_are_struck_out_by_nothing() -> None:
    """They are drawn above the bracket that holds a crossing seen only at its ends."""
    drawn = staircase(curve(without(cooling(), 108, 141)), SCREEN)
    names = [layer["data"].get("name") for layer in layers(drawn)]
    label = next(place for place, name in enumerate(names) if name and name.endswith("hole labels"))
    assert names.index("hatch") < names.index("line") < names.index("brackets") < label


def test_due_inside_the_hour_that_comes_twice_says_which() -> None:
    """A due instant at a time that the clock shows twice names its zone."""
    assert "70\u202f°F by 01:29 MDT" in words_in(staircase(curve(cooling(at(2026, 10, 31, 23, 0))), SCREEN))


def test_description_tells_what_the_chart_shows() -> None:
    """Whoever cannot see the chart hears subject, last reading, limits, verdicts and holes."""
    said = staircase(curve(without(cooling(), 108, 141)), SCREEN)["description"]
    assert said.startswith("Temperature of Pastry cream L-0412, vessel 1 of 6, from Wed 14 Oct 10:12 MDT")
    assert f"70\u202f°F by 12:41, {STAGE_1}: kept." in said
    assert "No readings 12:00–12:33." in said


def test_screen_and_paper_show_the_same_figures() -> None:
    """Line, treads, brackets and holes have the same values on screen and paper."""
    shown = curve(without(cooling(), 108, 141))
    screen, paper = staircase(shown, SCREEN), staircase(shown, PAPER)
    for name in ("line", "treads", "risers", "brackets", "due between"):
        assert rows_named(screen, name) == rows_named(paper, name)
    for one, other in zip(rows_named(screen, "holes"), rows_named(paper, "holes"), strict=True):
        assert (one["x"], one["x2"], one["words"]) == (other["x"], other["x2"], other["words"])


def test_svg_is_the_same_each_time_and_holds_the_words() -> None:
    """Drawing the same curve twice gives the same bytes, with its text as text."""
    shown = curve(without(cooling(), 108, 141))
    first, second = (to_svg(staircase(shown, PAPER)) for _ in range(2))
    assert first == second
    assert "70\u202f°F by 12:41" in first
    assert "no readings 12:00–12:33" in first
    assert "NaN" not in first


def test_a_chart_for_a_screen_is_not_taken_for_paper() -> None:
    """Its words would be missing."""
    with pytest.raises(ValueError, match="paper=True"):
        to_svg(staircase(curve(cooling()), SCREEN))


def test_width_of_a_screen_chart_is_its_container() -> None:
    """On a screen the chart fills the place that it stands in."""
    assert staircase(curve(cooling()), Look(ZONE))["width"] == "container"
