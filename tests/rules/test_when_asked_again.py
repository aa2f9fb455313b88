"""When time alone can change an answer: as long as a doubt may be settled, and the instant of the next change."""

import pytest

from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge, sit
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line, points
from tests.rules.test_cumulative_sums import AUSTRALIA

MET, MISSED, UNPROVEN, OPEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN
Notes = tuple[tuple[str, float], ...]


def asked(process: Process, probe: Series, notes: Notes, until: float, hand: Series | None = None) -> Judgement:
    """Judge at an instant in minutes."""
    record = Record(probe, hand or Series.empty(), declared=declared(*notes))
    return judge(process, record, LIMITS, until_ms=T0 + round(until * MINUTE))


def only(answer: Judgement) -> ClauseVerdict:
    """Return its one clause."""
    (clause,) = answer.clauses
    return clause


PULLED = joined(line((0, 70), (100, 65)), line((101, 38), (300, 38)))
"""Slow, and perhaps pulled out at 101: without what follows it never got cold, with it it did."""


@pytest.mark.parametrize("notes", [(("prepared", 0),), ()])
@pytest.mark.parametrize(("until", "verdict"), [(150, OPEN), (244, OPEN), (244.001, UNPROVEN)])
def test_doubt_leaves_a_clause_open_while_its_time_runs(notes: Notes, until: float, verdict: Verdict) -> None:
    """Four hours and two usual intervals, whether or not the early end of the start is known."""
    clause = only(asked(Process.AMBIENT_COOLING, PULLED, notes, until))
    assert clause.verdict is verdict
    assert clause.doubtful or verdict is UNPROVEN


def test_deadline_may_change_after_two_usual_intervals_more() -> None:
    """Due at 240, awaited until 244: the millisecond after is when it is no longer open."""
    record = line((0, 70), (100, 65))
    assert asked(Process.AMBIENT_COOLING, record, (("prepared", 0),), 241).changes_ms == T0 + 244 * MINUTE + 1
    assert asked(Process.AMBIENT_COOLING, record, (("prepared", 0),), 245).changes_ms is None


def test_received_food_counts_from_the_first_receipt() -> None:
    """Declared again it is not received again."""
    clause = only(asked(Process.RECEIVED_COOLING, line((0, 60), (60, 50)), (("from", 0), ("from", 30)), 60))
    assert clause.started == (T0, T0)
    nobody = only(asked(Process.RECEIVED_COOLING, line((0, 60), (60, 50)), (), 60))
    assert nobody.started == (None, T0)


@pytest.mark.parametrize(
    ("until", "changes"), [(30, 240 * MINUTE), (239, 240 * MINUTE), (240, 240 * MINUTE + 1), (300, None)]
)
def test_time_control_may_change_when_its_time_is_up(until: float, changes: int | None) -> None:
    """At four hours and the millisecond after."""
    answer = asked(Process.TIME_CONTROL_4H, line((-30, 38), (0, 38)), (("removed", 0),), until)
    assert answer.changes_ms == (None if changes is None else T0 + changes)


def test_time_control_of_six_hours_may_change_when_a_hole_grows_too_long() -> None:
    """20 min after the last reading of the probe, 4 h after a hand check."""
    out: Notes = (("removed", 0),)
    cold = joined(line((-30, 38), (0, 38)), line((1, 39), (30, 50)))
    assert asked(Process.TIME_CONTROL_6H, cold, out, 30).changes_ms == T0 + 50 * MINUTE + 1
    assert asked(Process.TIME_CONTROL_6H, cold, out, 51).changes_ms == T0 + 270 * MINUTE + 1
    checked = asked(Process.TIME_CONTROL_6H, Series.empty(), out, 60, points((0, 38), (60, 50)))
    assert checked.changes_ms is not None
    assert checked.changes_ms <= T0 + 300 * MINUTE + 1


def test_holding_may_change_when_a_probe_has_been_out_for_the_largest_gap() -> None:
    """Pulled out at 31 and not back: until 51 it may come back without a hole."""
    pulled = joined(line((0, 38), (30, 38)), line((31, 75), (60, 75)))
    for until, verdict in ((40, OPEN), (51, OPEN), (51.001, UNPROVEN)):
        assert only(asked(Process.COLD_HOLDING, pulled, (), until)).verdict is verdict
    assert asked(Process.COLD_HOLDING, pulled, (), 40).changes_ms in {T0 + 50 * MINUTE + 1, T0 + 51 * MINUTE + 1}


def test_cooling_may_change_at_its_ends_and_after_two_usual_intervals() -> None:
    """The first stage is due by 122 and awaited until 126; the second by 362."""
    record = line((0, 140), (2, 134), (100, 80))
    start = next(n for n in range(3) if record.celsius[n] < LIMITS.cooling.start.celsius)  # type: ignore[union-attr]
    late = start * MINUTE
    early = late - MINUTE
    grace = 4 * MINUTE + 1
    expected = [early + 2 * HOUR, late + 2 * HOUR, early + 2 * HOUR + grace, late + 2 * HOUR + grace]
    until = 100.0
    for instant in expected:
        found = asked(Process.COOLING, record, (), until).changes_ms
        assert found == T0 + instant
        until = instant / MINUTE


def test_cooling_that_has_not_begun_is_looked_at_again_soon() -> None:
    """While it is hot nothing tells when its clock will start; ours: a minute."""
    answer = asked(Process.COOLING, line((0, 160), (60, 150)), (), 60)
    assert answer.changes_ms is not None
    assert T0 + 60 * MINUTE < answer.changes_ms <= T0 + 61 * MINUTE
    met = asked(Process.COOLING, line((0, 140), (2, 134), (90, 69), (300, 40)), (), 300)
    assert [clause.verdict for clause in met.clauses] == [MET, MET]
    assert met.changes_ms is None


def test_holding_by_hand_checks_may_change_four_hours_after_the_last() -> None:
    """20 min are a probe's gap, 4 h that of hand checks: kept up to then, and not shown a millisecond later."""
    checks = points((0, 38), (60, 38))
    assert asked(Process.COLD_HOLDING, Series.empty(), (), 60, checks).changes_ms == T0 + 80 * MINUTE + 1
    kept = asked(Process.COLD_HOLDING, Series.empty(), (), 81, checks)
    assert (kept.verdict, kept.changes_ms) == (MET, T0 + 300 * MINUTE + 1)
    record = Record(hand=checks)
    for after, verdict in ((0, MET), (1, UNPROVEN)):
        until_ms = T0 + 300 * MINUTE + after
        assert judge(Process.COLD_HOLDING, record, LIMITS, until_ms=until_ms).verdict is verdict


def test_holding_in_doubt_may_change_the_millisecond_after_the_largest_gap() -> None:
    """Pulled out at 31, judged after the hole behind the last sure reading was looked at: 51, and the instant after."""
    pulled = joined(line((0, 38), (30, 38)), line((31, 75), (60, 75)))
    assert asked(Process.COLD_HOLDING, pulled, (), 50.5).changes_ms == T0 + 51 * MINUTE + 1
    assert asked(Process.COLD_HOLDING, pulled, (), 51).changes_ms == T0 + 51 * MINUTE + 1


def test_cooling_in_doubt_is_open_until_its_last_possible_end() -> None:
    """Perhaps pulled out from 11 to 40: believed, it left 135 °F at 11 and its two hours end at 131; else at 61 and 181."""
    record = joined(line((0, 150), (10, 150)), line((11, 120), (40, 120)), line((41, 150), (60, 150)))
    record = joined(record, line((61, 134), (200, 75)))
    for until, verdict in ((150, OPEN), (181, OPEN)):
        clause = asked(Process.COOLING, record.between(T0, T0 + round(until * MINUTE)), (), until).clauses[0]
        assert clause.verdict is verdict


def test_cooling_in_doubt_that_has_not_begun_without_it_is_open_while_it_runs_with_it() -> None:
    """Fell from 150 °F to 120 °F at 21 and stayed there: with it two hours end at 141, without it nothing has begun."""
    record = joined(line((0, 150), (20, 150)), line((21, 120), (300, 118)))
    clause = asked(Process.COOLING, record, (), 200).clauses[0]
    assert clause.verdict is UNPROVEN
    assert clause.doubtful


def test_cooling_in_doubt_whose_start_nobody_saw_is_open_while_its_time_runs() -> None:
    """Below 135 °F from the first reading on, and perhaps pulled out at 30: its time ends two hours after that reading."""
    record = joined(line((0, 130), (29, 125)), line((30, 60), (200, 60)))
    for until, verdict in ((100, OPEN), (124, OPEN), (124.001, UNPROVEN)):
        assert asked(Process.COOLING, record, (), until).clauses[0].verdict is verdict


def test_cooling_whose_start_nobody_saw_changes_at_its_end() -> None:
    """Its clock runs, from the first reading at the latest: nothing is to be looked at before it is due."""
    assert asked(Process.COOLING, line((0, 130), (60, 100)), (), 60).changes_ms == T0 + 2 * HOUR


def test_cooling_of_which_nothing_was_read_is_awaited_from_the_first_that_is_known_of_it() -> None:
    """Placed at 0 and moved at 60: two hours and two usual intervals from the placement."""
    notes = (("placed", 0.0), ("moved", 60.0))
    assert asked(Process.COOLING, Series.empty(), notes, 124).clauses[0].verdict is OPEN
    assert asked(Process.COOLING, Series.empty(), notes, 124.001).clauses[0].verdict is UNPROVEN


@pytest.mark.parametrize(
    ("ends", "until", "verdict"),
    [
        ((30,), 60, MET),  # what is read after it is not of the food
        ((30, 50), 60, MISSED),  # at 30 not all of it was gone
        ((50, 30), 60, MISSED),
        ((30, 50), 49, MET),  # nobody knew of the second yet
    ],
)
def test_food_ended_with_the_last_declared_end(ends: tuple[float, ...], until: float, verdict: Verdict) -> None:
    """Cold until 30, and warm from then on."""
    record = joined(line((0, 38), (30, 38)), line((31, 60), (60, 70)))
    assert asked(Process.COLD_HOLDING, record, tuple(("ended", end) for end in ends), until).verdict is verdict


@pytest.mark.parametrize(("own", "gone"), [(30, 30), (55, 50)])
def test_food_is_gone_with_its_own_end_or_the_batchs_whichever_is_first(own: int, gone: int) -> None:
    """A vessel's food frozen at 30, and its batch ended at 50."""
    record = Record(line((0, 38), (60, 38)), declared=declared(("ended", 50)))
    sitting = sit(record, until_ms=T0 + HOUR, ended_ms=T0 + own * MINUTE, out_of_food=True)
    assert sitting.context.ended_ms == T0 + gone * MINUTE


@pytest.mark.parametrize(("ends", "verdict"), [((200,), MET), ((200, 241), MISSED), ((200, 240), MET)])
def test_time_control_ends_with_the_last_declared_end(ends: tuple[float, ...], verdict: Verdict) -> None:
    """3-501.19(B)(4): out for four hours, or longer for what was there still."""
    notes = (("removed", 0.0), *(("ended", end) for end in ends))
    assert asked(Process.TIME_CONTROL_4H, points((0, 38)), notes, 300).verdict is verdict


def test_eggs_are_open_as_long_as_nobody_says_that_cooking_has_ended() -> None:
    """A file's end is its end; a running record's is not."""
    record = Record(line((0, 60), (10, 120)))
    assert judge(Process.COOK_EGGS, record, LIMITS, until_ms=T0 + 10 * MINUTE).verdict is OPEN
    assert judge(Process.COOK_EGGS, record, LIMITS, until_ms=T0 + 10 * MINUTE, finished=True).verdict is Verdict.MISSED


def test_cooling_is_looked_at_each_minute_while_a_stage_has_no_clock() -> None:
    """Australia's second 4 h count from 21 °C: the first stage runs, the second has not begun."""
    probe = line((0, 150), (60, 120))
    answer = judge(Process.COOLING, Record(probe), AUSTRALIA, until_ms=int(probe.at_ms[-1]))
    assert [clause.started for clause in answer.clauses] == [(T0 + 20 * MINUTE, T0 + 21 * MINUTE), (None, None)]
    assert answer.changes_ms == T0 + 61 * MINUTE
