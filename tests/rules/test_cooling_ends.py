"""Cooling at its edges: the figures that are ours, to either side, and what the reasons tell."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from holdwatch.limits import load_limits
from holdwatch.quantities import Duration, Level, Side, Temperature
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, ask, cooling, declared, joined, line, points

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE


def first(probe: Series, **options: object) -> ClauseVerdict:
    """Return the answer of the first stage, 135 °F to 70 °F within 2 h."""
    return ask(Process.COOLING, probe, **options).clauses[0]  # type: ignore[arg-type]


def second(probe: Series, **options: object) -> ClauseVerdict:
    """Return the answer of the second stage, 135 °F to 41 °F within 6 h in all."""
    return ask(Process.COOLING, probe, **options).clauses[1]  # type: ignore[arg-type]


# ---------------------------------------------------------------- a hole in which the target was reached


@pytest.mark.parametrize(
    ("hole", "from_f", "told"),
    [
        (20, 110, False),  # not over 20 min
        (20.001, 110, True),
        (21, 100.1, True),
        (21, 99.9, False),  # not more than 30 °F
    ],
)
def test_cooling_tells_a_target_seen_only_at_the_ends_of_a_hole(hole: float, from_f: float, *, told: bool) -> None:
    """Ours: over 20 min in which it fell more than 30 °F, here to 70 °F."""
    record = joined(line((0, 140), (10, 130), (40, from_f)), line((40 + hole, 70), (80 + hole, 60)))
    clause = first(record)
    assert clause.verdict is MET
    assert ("Seen only at its ends" in clause.reason) is told
    if told:
        assert re.search(rf"no reading for \d+ min.*, in which it fell from {from_f:.1f} °F to 70\.0 °F", clause.reason)


def test_cooling_tells_the_first_reading_above_a_target_once_reached() -> None:
    """It does not undo it; the first such reading is named, and none where there is none."""
    kept = joined(line((0, 140), (2, 134), (90, 69)))
    assert "Later" not in first(kept).reason
    again = first(joined(kept, line((91, 70), (93, 71), (95, 73))))
    assert "Later it was above again (70.5 °F at 2026-02-25 07:52:00 UTC)" in again.reason


# ---------------------------------------------------------------- the start


@pytest.mark.parametrize(
    ("fallen_to", "warm_at", "verdict"),
    [
        (114.9, 40, UNPROVEN),  # a fall of more than 10 °F before it was warmed: cooling may have begun before
        (115.1, 40, MET),  # less is no cooling
        (110, 15, MET),  # warm again after 15 min: a cold probe put in
        (110, 15.001, UNPROVEN),
    ],
)
def test_cooling_record_that_begins_below_and_falls_hides_a_start(
    fallen_to: float, warm_at: float, verdict: Verdict
) -> None:
    """Ours: more than 15 min below 135 °F from the first reading on, and a fall of 10 °F or more in them."""
    beginning = joined(line((0, 125), (10, fallen_to)), points((14, 134)))
    if warm_at > 20:
        beginning = joined(line((0, 125), (30, fallen_to)), points((39, 134)))
    record = joined(beginning, points((warm_at, 136)), line((warm_at + 1, 137), (60, 140), (65, 134), (150, 69)))
    assert first(record).verdict is verdict


def test_cooling_food_that_begins_cold_and_is_cooked_has_a_start() -> None:
    """Already at 70 °F or less when it begins: it was not on its way down; a fall in the fridge hides nothing."""
    record = joined(line((0, 68), (30, 40)), line((31, 42), (100, 150)), line((101, 149), (110, 134), (190, 69)))
    assert first(record).verdict is MET
    warmer = joined(line((0, 72), (30, 44)), line((31, 46), (100, 150)), line((101, 149), (110, 134), (190, 69)))
    assert first(warmer).verdict is UNPROVEN


def test_cooling_left_heat_before_a_record_that_is_warmed_again_stays_the_start() -> None:
    """Declared off the heat before the first reading, below 135 °F for long, warmed later: the declared start stands."""
    record = joined(line((0, 120), (60, 90)), line((61, 92), (90, 140)), line((91, 138), (160, 69)))
    clause = first(record, notes=[("left-heat", -10)])
    assert clause.started == (T0 - 10 * MINUTE, T0)
    assert clause.due == (T0 + 110 * MINUTE, T0 + 120 * MINUTE)
    assert clause.verdict is MISSED
    assert first(record, notes=[("left-heat", 0)]).started == (T0, T0)
    sparse = joined(points((0, 120), (16, 136)), line((17, 134), (90, 69)))
    assert first(sparse, notes=[("left-heat", -1)]).started == (T0 - MINUTE, T0)
    on_the_heat = joined(line((0, 110), (25, 140)), line((26, 139), (40, 133), (120, 69)))
    assert first(on_the_heat, notes=[("left-heat", 26)]).started == (T0 + 35 * MINUTE, T0 + 36 * MINUTE)
    assert first(on_the_heat, notes=[("left-heat", 0.5)]).started == (T0 + 35 * MINUTE, T0 + 36 * MINUTE)
    brief = joined(points((0, 120), (1, 136)), line((2, 138), (10, 136)), line((11, 134), (80, 69)))
    assert first(brief, notes=[("left-heat", -1)]).started == (T0 + 10 * MINUTE, T0 + 11 * MINUTE)


@pytest.mark.parametrize(
    ("left_heat", "from_text"), [(-5, "it left 135 °F between 2026-02-25 06:15:00 UTC and"), (0, "it left 135 °F at")]
)
def test_cooling_tells_since_when(left_heat: float, from_text: str) -> None:
    """A bracket in words, or one instant."""
    clause = first(line((0, 110), (40, 69)), notes=[("left-heat", left_heat)])
    assert from_text in clause.reason
    unknown = first(line((0, 110), (40, 69)))
    assert "the start is not known: it was already below 135 °F at 2026-02-25 06:20:00 UTC" in unknown.reason


# ---------------------------------------------------------------- what decides, in the reasons


def test_cooling_reasons_tell_how_long_at_most_and_at_least() -> None:
    """Reached: at most from the start's early end. Missed: at least from its late end."""
    good = first(line((0, 136), (1, 135), (2, 134), (100, 70)))
    assert good.verdict is MET
    assert "70.0 °F at 2026-02-25 08:00:00 UTC, 1 h 39 min at most after the start" in good.reason
    slow = first(line((0, 136), (1, 135), (2, 134), (130, 80)))
    assert slow.verdict is MISSED
    assert slow.reached == (T0 + 130 * MINUTE, None)
    assert re.search(r"still 8\d\.\d °F at 2026-02-25 08:22:00 UTC, 2 h or more after the start", slow.reason)


def test_cooling_too_wide_a_bracket_tells_both_readings_and_when_it_was_due() -> None:
    """Reached between 100 and 130 min after a start at 1: due by 121."""
    record = joined(line((0, 136), (1, 135), (2, 134), (100, 75)), line((130, 69), (140, 68)))
    clause = first(record)
    assert clause.verdict is UNPROVEN
    assert (
        "69.0 °F at 2026-02-25 08:30:00 UTC, the reading before was 75.0 °F at 2026-02-25 08:00:00 UTC" in clause.reason
    )
    assert "it was due by 2026-02-25 08:21:00 UTC" in clause.reason
    cold = first(points((0, 60), (5, 58)))
    assert cold.verdict is UNPROVEN
    assert cold.reached == (None, T0)


def test_cooling_running_and_unseen_tell_the_last_reading_and_the_end() -> None:
    """Running while it can be kept; afterwards not shown."""
    record = line((0, 136), (1, 135), (2, 134), (60, 90))
    running = first(record)
    assert running.verdict is OPEN
    assert (
        "Running: last 90.0 °F at 2026-02-25 07:20:00 UTC, due by 2026-02-25 08:22:00 UTC at the latest"
        in running.reason
    )
    unseen = first(record, until=300)
    assert unseen.verdict is UNPROVEN
    assert "the last is 90.0 °F at 2026-02-25 07:20:00 UTC" in unseen.reason
    assert unseen.reached == (T0 + 60 * MINUTE, None)
    assert first(points((0, 136), (1, 134)), until=5).reached == (T0 + MINUTE, None)  # the first below is the last read


def test_cooling_food_still_hot_tells_its_last_hot_reading() -> None:
    """Not seen to stay below the level: the last reading at it is named."""
    clause = first(line((0, 160), (60, 150)))
    assert "it has not been seen to stay below 135 °F: 150.0 °F at 2026-02-25 07:20:00 UTC" in clause.reason
    jitter = first(joined(line((0, 160), (60, 136)), points((61, 134.9), (62, 135.2), (63, 134.9))))
    assert jitter.verdict is OPEN
    ended = first(line((0, 160), (60, 150)), notes=[("ended", 61)], until=61)
    assert ended.verdict is NONE
    assert "at 2026-02-25 07:21:00 UTC, before the limit fell due" in ended.reason


# ---------------------------------------------------------------- further stages and other codes


def test_cooling_further_stage_counts_from_where_the_one_before_was_reached() -> None:
    """Food Standards Code 3.2.2 cl. 7(3): 60 to 21 °C within 2 h, then to 5 °C within a further 4 h."""
    code = load_limits("australia")
    record = line((0, 142), (2, 138), (3, 136), (100, 70), (101, 69), (300, 45), (320, 38))
    total, further = judge(Process.COOLING, Record(record), code, until_ms=int(record.at_ms[-1])).clauses
    assert total.verdict is MET
    assert further.started == total.reached
    assert further.verdict is MET
    assert "it left 21 °C between" in further.reason
    unreached = line((0, 142), (2, 138), (3, 136), (200, 80))
    total, further = judge(Process.COOLING, Record(unreached), code, until_ms=int(unreached.at_ms[-1])).clauses
    assert (total.verdict, further.verdict) == (MISSED, MISSED)
    assert further.reason == "Not begun: 21 °C was not reached."


@pytest.mark.parametrize(("at", "verdict"), [(299, MET), (300, UNPROVEN)])
def test_cooling_further_stage_may_begin_by_the_colder_and_end_by_the_warmer_of_two_values(
    at: int, verdict: Verdict
) -> None:
    """Two values where 21 °C is reached, and two where 5 °C is: 3.2.2 cl. 7(3) bears 4 h from one to the other.

    Of 20 and 22 °C at 65 min the colder lets the 4 h begin after the reading at 60 min, the warmer after that at 65; of
    4.9 and 5.1 °C the warmer lets them end a minute later. At 300 min it took at most 4 h under the colder values alone,
    3 h 56 min under the warmer alone, and 4 h 1 min begun by the one and ended by the other.
    """
    degrees_c = [(0, 65), (5, 59), (60, 30), (65, 20), (65, 22), (70, 15), (at, 4.9), (at, 5.1), (at + 1, 4)]
    record = Series.of((T0 + minutes * MINUTE, float(celsius)) for minutes, celsius in degrees_c)
    answer = judge(Process.COOLING, Record(record), load_limits("australia"), until_ms=int(record.at_ms[-1]))
    assert [clause.verdict for clause in answer.clauses] == [MET, verdict]


def test_cooling_third_stage_counts_from_the_second() -> None:
    """An invented code: 60 to 21 °C within 2 h, to 5 °C within a further 4 h, to 2 °C within a further 1 h."""
    code = load_limits("australia")
    assert code.cooling is not None
    one, two = code.cooling.stages
    colder = Level(Temperature.parse("2 °C"), Side.AT_MOST, inclusive=True)
    three = replace(two, clause="third", target=colder, within=Duration.parse("1 h"))
    code = replace(code, cooling=replace(code.cooling, stages=(one, two, three)))
    record = line((0, 142), (2, 138), (3, 136), (100, 70), (101, 69), (300, 42), (301, 41), (350, 35), (360, 34))
    stages = judge(Process.COOLING, Record(record), code, until_ms=int(record.at_ms[-1])).clauses
    assert [stage.verdict for stage in stages] == [MET, MET, MET]
    assert stages[2].started == stages[1].reached == (T0 + 300 * MINUTE, T0 + 301 * MINUTE)


def test_cooling_code_with_strict_ends_does_not_allow_its_figure(tmp_path: Path) -> None:
    """An invented code that asks for less than 2 h: reached exactly 2 h after the start is not shown."""
    packaged = Path(__file__).parents[2] / "holdwatch" / "limits" / "codes" / "us-food-code-2022.toml"
    text = packaged.read_text(encoding="utf-8")
    path = tmp_path / "strict.toml"
    path.write_text(text.replace("within_inclusive = true", "within_inclusive = false"), encoding="utf-8")
    record = line((0, 136), (1, 135), (2, 134), (121, 70), (122, 69))
    for code, verdict in ((LIMITS, MET), (load_limits(str(path)), UNPROVEN)):
        answer = judge(Process.COOLING, Record(record), code, until_ms=int(record.at_ms[-1])).clauses[0]
        assert answer.verdict is verdict


@pytest.mark.parametrize(("ended", "verdict"), [(120.999, NONE), (121, OPEN)])
def test_cooling_that_ends_when_it_is_due_is_asked(ended: float, verdict: Verdict) -> None:
    """Served before the limit fell due it is asked nothing; at that instant it is."""
    record = line((0, 136), (1, 135), (2, 134), (120, 90))
    assert cooling(record, notes=[("ended", ended)], until=ended)[0] is verdict


def test_cooling_that_ends_with_its_start_unknown_is_running_until_it_is_due() -> None:
    """When the limit fell due is not known on the early side, so nothing shows that it was gone before."""
    assert first(line((0, 110), (40, 80)), notes=[("ended", 41)], until=41).verdict is OPEN


@pytest.mark.parametrize(("ended", "verdict"), [(119.999, NONE), (120, OPEN), (200, UNPROVEN)])
def test_cooling_without_a_reading_that_ends(ended: float, verdict: Verdict) -> None:
    """Off the heat at 0, never read: gone before it was due nothing is asked, afterwards nothing is shown."""
    record = Record(declared=declared(("left-heat", 0), ("ended", ended)))
    answer = judge(Process.COOLING, record, LIMITS, until_ms=T0 + round(ended * MINUTE))
    assert answer.clauses[0].verdict is verdict


def test_cooling_levels_are_told_in_celsius() -> None:
    """135 °F, 70 °F and 41 °F, as charts need them."""
    record = line((0, 140), (10, 134), (90, 69), (300, 40))
    assert first(record).start_level_c == pytest.approx(57.2222, abs=1e-4)
    assert first(record).level_c == pytest.approx(21.1111, abs=1e-4)
    assert second(record).level_c == pytest.approx(5.0, abs=1e-9)
