"""Cooling: where the clock starts, when a stage is open, and what ordinary accidents leave of it."""

import pytest

from holdwatch.readings import Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, ask, cooling, joined, line, points, verdicts

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE

GOOD = line((0, 150), (15, 135.5), (100, 69), (300, 40), (330, 39))
"""A pan that keeps both stages."""
SLOW = line((0, 150), (15, 135.5), (200, 69), (500, 40))
"""A pan that misses the first stage and the second."""


def test_cooling_in_time_meets_both_stages() -> None:
    """A pan that cools in time keeps both."""
    assert cooling(GOOD) == (MET, MET)


def test_cooling_too_slow_misses_both_stages() -> None:
    """A pan that cools too slowly misses both."""
    assert cooling(SLOW) == (MISSED, MISSED)


def test_cooling_reason_names_the_deciding_reading_with_its_time() -> None:
    """The reason of a miss tells what was read when, and since when the clock ran."""
    clause = ask(Process.COOLING, SLOW).clauses[0]
    assert "Not at 70 °F in time" in clause.reason
    assert "still 91.6 °F at 2026-02-25 08:37:00 UTC" in clause.reason  # 137 min after the record's begin
    assert "it left 135 °F between 2026-02-25 06:36:00 UTC and 2026-02-25 06:37:00 UTC" in clause.reason


# ---------------------------------------------------------------- where the clock starts


def test_cooling_jitter_around_the_start_waits_for_the_fall_that_lasts() -> None:
    """Readings that dance around 135 °F for minutes start the clock at the last of them."""
    dance = points(*((n, 135.4 if n % 2 else 134.6) for n in range(20)))
    clause = ask(Process.COOLING, joined(dance, line((20, 134), (100, 69)))).clauses[0]
    assert clause.started == (T0 + 19 * MINUTE, T0 + 20 * MINUTE)
    assert clause.verdict is MET


@pytest.mark.parametrize(("back_after", "start"), [(15, 21), (16, 1)])
def test_cooling_fall_undone_within_15_min_is_no_start(back_after: int, start: int) -> None:
    """A fall that is back at 135 °F fifteen minutes after the first reading below does not start the clock."""
    record = joined(
        points((0, 136), (1, 136)),
        line((2, 134), (2 + back_after - 1, 134)),
        line((2 + back_after, 136), (21, 136)),
        line((22, 134), (90, 69)),
    )
    clause = ask(Process.COOLING, record).clauses[0]
    assert clause.started == (T0 + start * MINUTE, T0 + (start + 1) * MINUTE)


FALLEN = line((305, 136), (310, 132.2), (432, 39), every=1.0)
"""Left the heat between 306 and 307, and cooled well in time."""


@pytest.mark.parametrize(
    ("first", "expected"),
    [
        (10, (UNPROVEN, UNPROVEN)),  # below from 11 on, for all that was read
        (289, (MET, MET)),  # 16 min, and in time from there too
        (272, (MET, MET)),  # 70 °F at 392 is in time from 272 on
        (271, (UNPROVEN, MET)),
        (70, (UNPROVEN, MET)),  # 41 °F at 430
        (69, (UNPROVEN, UNPROVEN)),
    ],
)
def test_cooling_fall_in_a_hole_may_have_lasted(first: int, expected: tuple[Verdict, Verdict]) -> None:
    """Above the level, one reading below it, above again: how long it was below lies between the readings around it."""
    record = joined(points((0, 160), (first, 158), (300, 134.9)), FALLEN)
    clauses = ask(Process.COOLING, record).clauses
    assert tuple(clause.verdict for clause in clauses) == expected
    assert all(clause.started == (T0 + 306 * MINUTE, T0 + 307 * MINUTE) for clause in clauses)
    if expected[0] is UNPROVEN:
        assert "Reached, but not shown in time: " in clauses[0].reason
        assert "it left 135 °F between" in clauses[0].reason
    # off the heat once it was warm again: what was before belongs to cooking
    assert cooling(record, notes=[("left-heat", 305)]) == (MET, MET)
    assert cooling(record, notes=[("left-heat", 304)]) == expected


def test_cooling_fall_in_a_hole_may_have_lasted_whatever_brief_ones_follow() -> None:
    """The first fall of which nothing shows that it was brief counts, not one that is undone in a minute."""
    brief = points((301, 136), (302, 134.9), (303, 136))
    record = joined(points((0, 160), (10, 158), (300, 134.9)), brief, FALLEN)
    assert cooling(record) == (UNPROVEN, UNPROVEN)


def test_cooling_fall_seen_by_hand_while_the_probe_was_out_may_have_lasted() -> None:
    """Readings that are not the food's leave a hole around the one by hand, and it was below for all that is known."""
    out = joined(line((0, 150), (29, 150)), line((30, 72), (200, 72)))
    probe = joined(out, line((201, 148), (210, 136)), line((211, 134), (300, 69)), line((301, 68.8), (440, 40)))
    assert cooling(probe, hand=points((190, 110))) == (UNPROVEN, UNPROVEN)
    assert cooling(probe, hand=points((190, 148))) == (MET, MET)


def test_cooling_fall_too_short_to_have_lasted_begins_nothing() -> None:
    """Fifteen minutes from the last reading above to the next one: undone, however late the target is reached."""
    slow = line((20, 137), (21, 134), (139, 69))
    for first, verdict in ((0, MET), (-1, UNPROVEN)):
        assert cooling(joined(points((-2, 140), (first, 136), (7, 134), (15, 136)), slow))[0] is verdict


def test_cooling_fall_undone_before_left_heat_belongs_to_cooking() -> None:
    """A fall that is undone, however late, before the food left the heat is no start."""
    record = joined(
        line((0, 150), (10, 136)),
        line((11, 134.5), (60, 120)),
        line((61, 121), (90, 136)),
        line((91, 134.5), (170, 69)),
    )
    started = ask(Process.COOLING, record, notes=[("left-heat", 90)]).clauses[0].started
    assert started == (T0 + 90 * MINUTE, T0 + 91 * MINUTE)
    assert ask(Process.COOLING, record).clauses[0].started == (T0 + 10 * MINUTE, T0 + 11 * MINUTE)


def test_cooling_custard_warmed_again_keeps_its_start() -> None:
    """Warming the food again just before the two hours are up does not move the start."""
    record = joined(line((0, 140), (10, 135.5), (117, 72)), line((118, 76), (130, 150)), line((131, 149), (300, 69)))
    answer = ask(Process.COOLING, record)
    assert answer.clauses[0].verdict is MISSED
    assert answer.clauses[0].started is not None
    assert answer.clauses[0].started[0] is not None
    assert answer.clauses[0].started[0] <= T0 + 11 * MINUTE


def test_cooling_late_pan_without_left_heat_is_not_shown() -> None:
    """A record that begins below 135 °F cannot keep the limit, though it is quick."""
    assert cooling(line((0, 110), (40, 69), (100, 40))) == (UNPROVEN, UNPROVEN)


def test_cooling_late_pan_can_still_miss() -> None:
    """A record that begins below 135 °F misses when it is above 70 °F two hours after its first reading."""
    assert cooling(line((0, 110), (121, 71)))[0] is MISSED


@pytest.mark.parametrize(("left_heat", "verdict"), [(-20, MET), (0, MET), (1, UNPROVEN), (-90, UNPROVEN)])
def test_cooling_left_heat_counts_only_if_not_after_the_first_reading(left_heat: int, verdict: Verdict) -> None:
    """The declared start stands in when it is not later than the first reading; the clock then counts from it."""
    assert cooling(line((0, 110), (40, 69.5), (41, 69)), notes=[("left-heat", left_heat)])[0] is verdict


def test_cooling_record_that_begins_cool_and_is_warmed_later_is_not_shown_to_be_kept() -> None:
    """A record that falls below 135 °F from its first reading, and is warmed, may hide a cooling begun before."""
    record = joined(line((0, 125), (60, 90)), line((61, 92), (90, 150)), line((91, 149), (100, 135.5), (180, 69)))
    assert cooling(record)[0] is UNPROVEN


def test_cooling_food_still_hot_is_open() -> None:
    """While the food is still at the heat the clock has not started."""
    answer = ask(Process.COOLING, line((0, 160), (60, 150)))
    assert [clause.verdict for clause in answer.clauses] == [OPEN, OPEN]
    assert answer.clauses[0].started == (None, None)


def test_cooling_food_last_seen_hot_long_ago_is_not_shown() -> None:
    """A record that stops while the food is hot is no answer for ever."""
    assert cooling(line((0, 160), (60, 150)), until=60 + 124)[0] is OPEN
    assert cooling(line((0, 160), (60, 150)), until=60 + 125)[0] is UNPROVEN


def test_cooling_without_a_reading_waits_and_is_then_not_shown() -> None:
    """No reading is neither kept nor missed."""
    empty = Record(declared=())
    assert judge(Process.COOLING, empty, LIMITS, until_ms=T0).verdict is OPEN
    for until, verdict in ((100, OPEN), (130, UNPROVEN)):
        answer = judge_vessel(
            empty, LIMITS, step=Step.COOL, holding="cold", until_ms=T0 + until * MINUTE, started_ms=T0
        )[0]
        assert answer.clauses[0].verdict is verdict


# ---------------------------------------------------------------- open, and no longer


def test_cooling_is_open_until_two_usual_intervals_after_the_end() -> None:
    """An answer may still be on its way for two usual intervals of the probe, at least two minutes each."""
    record = line((0, 140), (5, 134), (100, 80))
    s2 = ask(Process.COOLING, record).clauses[0].started[1]  # type: ignore[index]
    assert s2 is not None
    end = s2 + 2 * HOUR + 4 * MINUTE
    for late, verdict in ((0, OPEN), (1, UNPROVEN)):
        assert judge(Process.COOLING, Record(record), LIMITS, until_ms=end + late).clauses[0].verdict is verdict


def test_cooling_next_change_is_never_later_than_the_change() -> None:
    """The instant at which time alone changes an answer is told in time."""
    record = Record(line((0, 140), (5, 134), (100, 80)))
    now = T0 + 100 * MINUTE
    first = judge(Process.COOLING, record, LIMITS, until_ms=now)
    while (upcoming := first.changes_ms) is not None:
        for between in (now + 1, (now + upcoming) // 2, upcoming - 1):
            seen = judge(Process.COOLING, record, LIMITS, until_ms=between)
            assert seen.verdict is first.verdict
        now, first = upcoming, judge(Process.COOLING, record, LIMITS, until_ms=upcoming)
    assert first.verdict is UNPROVEN
    assert judge(Process.COOLING, record, LIMITS, until_ms=now + 48 * HOUR).verdict is UNPROVEN


def test_cooling_next_change_with_two_values_at_one_instant_is_not_missed() -> None:
    """Where two values start the clock at different instants, each of their ends may change the answer."""
    probe = points((0, 120), (20, 120), (20, 136), (40, 118), (60, 137), (70, 130))
    until = 120.0
    while until < 200:
        answer = ask(Process.COOLING, probe, until=until)
        after = 500.0 if answer.changes_ms is None else (answer.changes_ms - T0) / MINUTE
        for between in (until + (after - until) / 3, after - 1 / MINUTE):
            assert cooling(probe, until=between) == verdicts(answer)
        until = after
    assert cooling(probe, until=200) == (UNPROVEN, OPEN)


def test_cooling_across_a_power_cut_is_told_as_seen_at_its_ends() -> None:
    """A target reached across a hole of more than 20 min and 30 °F is kept if both ends show it, and told so."""
    record = joined(line((0, 140), (20, 120)), line((95, 66), (110, 60)))
    clause = ask(Process.COOLING, record).clauses[0]
    assert clause.verdict is MET
    assert "Seen only at its ends" in clause.reason
    assert clause.reached == (T0 + 20 * MINUTE, T0 + 95 * MINUTE)


def test_cooling_hole_that_hides_the_end_is_not_shown() -> None:
    """A hole over the end of the two hours proves nothing, though the food is cold after it."""
    assert cooling(joined(line((0, 140), (20, 120)), line((140, 66), (160, 60))))[0] is UNPROVEN


def test_cooling_later_rise_does_not_undo_a_target_reached() -> None:
    """A rise above a target already reached is told and leaves the stage kept."""
    record = joined(line((0, 140), (10, 134), (90, 69)), line((91, 70), (120, 80)))
    clause = ask(Process.COOLING, record).clauses[0]
    assert clause.verdict is MET
    assert "Later it was above again" in clause.reason


# ---------------------------------------------------------------- ended


@pytest.mark.parametrize(
    ("ended", "expected"),
    [(60, (NONE, NONE)), (121, (OPEN, NONE)), (140, (MISSED, NONE)), (400, (MISSED, MISSED))],
)
def test_cooling_of_food_that_is_gone(ended: float, expected: tuple[Verdict, Verdict]) -> None:
    """What was served before a limit fell due is asked nothing; what was missed before stays missed."""
    slow = line((0, 140), (2, 134), (300, 72), (420, 60))
    assert cooling(slow, notes=[("ended", ended)], until=ended + 1) == expected


def test_cooling_readings_after_the_end_of_the_batch_are_not_the_foods() -> None:
    """What the probe reads after the batch ended decides nothing."""
    record = joined(line((0, 140), (60, 100)), points((61, 60), (62, 41), (63, 38)))
    assert cooling(record, notes=[("ended", 60)]) == (NONE, NONE)


def test_cooling_of_air_is_asked_nothing() -> None:
    """Air is not food."""
    from holdwatch.readings import Medium

    assert cooling(GOOD, medium=Medium.AIR) == (NONE, NONE)


def test_cooling_judgement_counts_what_it_used() -> None:
    """First, last and number are those of the readings judged."""
    answer = ask(Process.COOLING, GOOD, until=100)
    assert (answer.used, answer.first_ms, answer.last_ms) == (101, T0, T0 + 100 * MINUTE)


# ---------------------------------------------------------------- two values at one instant


def _with(record: Series, *extra: tuple[float, float]) -> Series:
    return joined(record, points(*extra))


def test_cooling_contested_start_and_target_take_the_worse_of_each() -> None:
    """The colder of two values may start the clock, the warmer of two may stop it: each the worse one."""
    record = joined(line((0, 139), (4, 135)), line((5, 134.9), (124, 69.9)))
    assert cooling(record)[0] is MET
    assert cooling(_with(record, (4, 134.8)))[0] is UNPROVEN
    assert cooling(_with(record, (124, 71)))[0] is OPEN
    both = ask(Process.COOLING, _with(record, (4, 134.8), (124, 71)))
    assert both.clauses[0].verdict is MISSED
    told = "Two values are recorded for 2 instants, the first 2026-02-25 06:24:00 UTC; the worse ones count."
    assert told in both.clauses[0].reason
