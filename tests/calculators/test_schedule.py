"""A cake reckoned back from its serving: what follows what, and what makes it impossible."""

import math
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from holdwatch.calculators.cakes import Cake, Display, Stage, cake_text, known_cakes, read_cake
from holdwatch.calculators.cooling_places import Way
from holdwatch.calculators.schedule import schedule_answer
from holdwatch.calculators.scheduling import Schedule, Step, schedule, times_to
from holdwatch.errors import ConfigError
from holdwatch.limits import load_limits
from holdwatch.quantities import Duration, Temperature
from tests.support.commands import holdwatch, printed, refused, succeed

CODE = load_limits("us-food-code-2022")
MIN, HOUR, DAY = 60_000, 3_600_000, 86_400_000
SERVE = 1_795_914_000_000  # 2026-11-28 18:00 in Denver
CREAM, BUTTERCREAM = read_cake("cream-cake"), read_cake("buttercream-cake")


def plan(cake: Cake, **given: int) -> Schedule:
    """Plan with a day to spare."""
    return schedule(cake, CODE, **{"serve_ms": SERVE, "earliest_ms": SERVE - DAY, **given})


def step(made: Schedule, name: str) -> Step:
    """Return a step by its name."""
    return next(each for each in made.steps if each.name == name)


@pytest.mark.parametrize("name", known_cakes())
def test_cake_of_the_package_can_be_planned_and_every_part_waits_for_the_next(name: str) -> None:
    """Nothing is put together before both parts are cool at the slow end, and nothing overlaps after that."""
    made = plan(read_cake(name))
    assert not made.cannot
    assembled = step(made, "assemble")
    for part in ("layers", "filling"):
        cooling = step(made, f"cool the {part}")
        assert cooling.cooling is not None
        assert cooling.from_ms + 1000 * cooling.cooling.high <= cooling.to_ms <= assembled.from_ms
    assert step(made, "bake the layers").to_ms == step(made, "cool the layers").from_ms
    assert step(made, "cook the filling").to_ms == step(made, "cool the filling").from_ms
    ends = [step(made, each) for each in ("assemble", "set", "display", "serve")]
    assert [each.to_ms for each in ends[:-1]] == [each.from_ms for each in ends[1:]]
    assert made.serve_ms == ends[-1].from_ms == SERVE
    assert made.begin_ms == min(each.from_ms for each in made.steps)


def test_too_little_time_tells_the_soonest_and_the_soonest_works() -> None:
    """Three hours before it is served nothing helps; at the instant that is told instead there is a plan."""
    late = plan(CREAM, earliest_ms=SERVE - 3 * HOUR)
    assert "too little time" in late.cannot[0]
    assert late.soonest_ms is not None
    again = plan(CREAM, earliest_ms=SERVE - 3 * HOUR, serve_ms=late.soonest_ms)
    assert not again.cannot
    assert again.begin_ms == SERVE - 3 * HOUR
    assert plan(CREAM, earliest_ms=SERVE - 3 * HOUR, serve_ms=late.soonest_ms - MIN).cannot


def test_layers_out_of_the_oven_tell_when_to_start_the_filling() -> None:
    """Reckoned on: the filling is started so that it is cold when the layers can be filled, not before."""
    made = schedule(BUTTERCREAM, CODE, layers_out_ms=SERVE, earliest_ms=SERVE)
    ready = step(made, "cool the layers").to_ms
    assert step(made, "cool the filling").to_ms == step(made, "assemble").from_ms == ready
    assert step(made, "cook the filling").from_ms > SERVE
    told = schedule_answer(BUTTERCREAM, made, CODE, ZoneInfo("America/Denver"))
    assert "the layers can be filled from" in told.says
    assert "start the filling at" in told.says


def test_filling_that_cools_too_slowly_is_refused_with_the_clause() -> None:
    """Pastry cream 3 in deep in the walk-in misses 135 to 70 °F within 2 h (3-501.14(A)(1)) at its fastest."""
    slow = replace(CREAM.filling, depth_m=0.0762, cool=CREAM.filling.cool[1:])
    made = plan(replace(CREAM, filling=slow))
    assert "3-501.14(A)(1)" in made.cannot[0]
    assert "shallower" in made.cannot[0]
    assert not made.steps


def test_filling_on_the_edge_of_a_limit_is_told() -> None:
    """An inch deep in the walk-in alone lies on the edge: the plan stands, and says to measure."""
    edge = replace(CREAM.filling, cool=CREAM.filling.cool[1:])
    made = plan(replace(CREAM, filling=edge))
    assert made.steps
    assert any("measure it" in words and "3-501.14(A)(2)" in words for words in made.watch)


def test_filling_planned_to_a_warmer_level_than_the_code_asks_is_refused() -> None:
    """A TCS filling is not used at 60 °F: the code asks for 41 °F."""
    warm = replace(CREAM.filling, cool=(Stage(Way.STIRRED, Temperature.parse("60F")),))
    assert "planned to 60 °F only" in plan(replace(CREAM, filling=warm)).cannot[0]


def test_cake_filled_between_warm_layers_is_held_to_four_hours() -> None:
    """Food from ingredients at room temperature is at 41 °F within 4 h of preparation (3-501.14(B))."""
    warm = replace(CREAM.layers, cool=(Stage(Way.BENCH, Temperature.parse("77F")),))
    made = plan(replace(CREAM, layers=warm), earliest_ms=SERVE - 3 * DAY)
    assert "3-501.14(B)" in made.cannot[0]
    assert "cool layers and filling to 41 °F" in made.cannot[0]


@pytest.mark.parametrize(("serving", "possible"), [("60 min", True), ("61 min", False)])
def test_controlled_cake_in_the_room_is_gone_within_four_hours(serving: str, possible: bool) -> None:
    """A maximum of 4 hours, from when it is taken out until it is gone (3-501.19(B)); 4 h 00 is allowed."""
    shown = replace(CREAM, where=Display.ROOM, display=Duration.parse("3 h"), serving=Duration.parse(serving))
    made = plan(shown)
    assert bool(made.steps) is possible
    assert possible or "3-501.19(B)" in made.cannot[0]


def test_law_that_says_less_than_four_hours_refuses_four() -> None:
    """England, Wales, Northern Ireland: less than four hours; exactly four is not (SR (NI) 2006/3, Schedule 4, 5(1))."""
    law = load_limits("england-wales-ni")
    shown = replace(CREAM, where=Display.ROOM, display=Duration.parse("3 h"), serving=Duration.parse("60 min"))
    made = schedule(shown, law, serve_ms=SERVE, earliest_ms=SERVE - DAY)
    assert "less than 4 h" in made.cannot[0]
    assert schedule(
        replace(shown, serving=Duration.parse("59 min")), law, serve_ms=SERVE, earliest_ms=SERVE - DAY
    ).steps


def test_filling_that_needs_no_control_is_held_to_no_limit() -> None:
    """Buttercream on a table all day breaks no clause of cooling or holding."""
    long = replace(BUTTERCREAM, display=Duration.parse("8 h"), serving=Duration.parse("2 h"))
    assert not plan(long, earliest_ms=SERVE - 2 * DAY).cannot


def test_walk_in_too_warm_for_the_level_cannot_be_planned() -> None:
    """At 45 °F nothing comes to 41 °F, and the plan says so."""
    made = schedule(CREAM, CODE, serve_ms=SERVE, earliest_ms=SERVE - DAY, celsius={Way.WALK_IN: 7.2})
    assert "the layers cannot be counted on to be at 41 °F" in made.cannot[0]
    assert any("the filling cannot be counted on" in words for words in made.cannot)


def test_times_to_go_through_the_stages() -> None:
    """A level of the first stage is reached in it; one below the last stage never; one above the start at once."""
    at_100, at_90, at_41, at_35, at_start = times_to(CREAM.layers, [38.0, 32.3, 5.0, 2.0, 99.0], {})
    assert at_start.middle == 0
    assert 0 < at_100.middle < at_90.middle < at_41.middle
    assert math.isinf(at_35.low)


def test_plan_across_the_change_of_clocks_keeps_its_lengths() -> None:
    """On 1 November 2026 clocks in Denver go back at 2:00: an eight-hour step still takes eight hours."""
    serve = 1_793_548_800_000  # 2026-11-01 09:00 in Denver, standard time
    made = schedule(replace(CREAM, set=Duration.parse("8 h")), CODE, serve_ms=serve, earliest_ms=serve - DAY)
    assert step(made, "set").to_ms - step(made, "set").from_ms == 8 * HOUR
    rows = {row[0]: row for row in schedule_answer(CREAM, made, CODE, ZoneInfo("America/Denver")).rows}
    assert rows["set"][1:3] == ("Sun 1 Nov 00:00", "Sun 1 Nov 07:00")


def test_plan_of_one_day_tells_times_without_the_day() -> None:
    """Where every step is on the day of the serving, the table has times of day alone."""
    told = schedule_answer(CREAM, plan(CREAM), CODE, ZoneInfo("America/Denver"))
    assert told.rows[-1][1] == "18:00"
    assert "served Sat 28 Nov 18:00" in told.says


def test_serving_or_layers_must_be_told() -> None:
    """Without either there is nothing to reckon from."""
    with pytest.raises(ValueError, match="serving"):
        schedule(CREAM, CODE, earliest_ms=0)


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ('depth = "1.5in"', 'depth = "1.5"', "[layers] depth"),
        ('depth = "1.5in"', 'dept = "1.5in"', "[layers] depth"),
        ('height = "4in"', 'height = "4in"\ncolour = "red"', "[assemble] colour"),
        ('to = "90F"', 'to = "30F"', "[layers] cool"),
        ('where = "bench"', 'where = "cellar"', "[layers.cool] where"),
        ("controlled = true", 'controlled = "yes"', "[filling] controlled"),
        ('food = "pastry-cream"', 'food = "cheesecake"', "cannot be"),
        ('takes = "45 min"', 'takes = "soon"', "[assemble] takes"),
        ("[set]", "[sets]", "set is missing"),
        ("[[filling.cool]]", "[[filling.warm]]", "[filling] cool"),
        ('title = "Cream cake, 8 in"', "title = ", "not TOML"),
    ],
)
def test_cake_file_with_a_mistake_is_refused_by_file_and_key(tmp_path: Path, old: str, new: str, named: str) -> None:
    """What is missing, misspelt or impossible is named with its table."""
    path = tmp_path / "cake.toml"
    text = cake_text("cream-cake")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(ConfigError) as refusal:
        read_cake(str(path))
    assert str(path) in str(refusal.value)
    assert named in str(refusal.value)


def test_cake_that_is_no_file_or_no_text_is_refused(tmp_path: Path) -> None:
    """An unknown name, and a file that is not UTF-8."""
    with pytest.raises(ConfigError, match="cream-cake"):
        read_cake("pie")
    path = tmp_path / "cake.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ConfigError, match="UTF-8"):
        read_cake(str(path))


def test_command_plans_or_says_why_not() -> None:
    """Exit status 0 with a plan, 1 without one; both for a program as well."""
    asked = ("schedule", "cream-cake", "--timezone", "America/Denver", "--earliest", "2026-11-28T06:00")
    text = succeed(*asked, "--serve", "2026-11-28T18:00")
    assert "start the filling at Sat 28 Nov" in text
    assert "shows no limit kept" in text
    made = printed(*asked, "--serve", "2026-11-28T18:00", "--json")
    assert made["possible"]
    assert made["serve_at"] == "2026-11-29T01:00:00Z"
    done = holdwatch(*asked, "--serve", "2026-11-28T08:00")
    assert done.exit_code == 1
    assert "at the soonest" in done.stdout


def test_command_shows_the_file_of_a_cake() -> None:
    """What is printed can be saved, changed and given back."""
    assert succeed("schedule", "buttercream-cake", "--show") == cake_text("buttercream-cake")


@pytest.mark.parametrize(
    ("words", "named"),
    [
        ((), "--serve"),
        (("--serve", "18:00"), "--timezone"),
        (("--serve", "soon", "--timezone", "America/Denver"), "no instant"),
        (("--serve", "18:00", "--timezone", "Mars/Base"), "Mars/Base"),
        (("pie", "--serve", "18:00"), "buttercream-cake"),
        (("--serve", "2026-11-01T01:30", "--timezone", "America/Denver"), "twice"),
    ],
)
def test_command_with_a_mistake_says_what_to_write(words: tuple[str, ...], named: str) -> None:
    """One line: what is wrong, and what would be right."""
    assert named in refused("schedule", *words)
