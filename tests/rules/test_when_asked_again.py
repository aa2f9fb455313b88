"""When time alone can change an answer: as long as a doubt may be settled, and the instant of the next change."""

import pytest

from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line, points

OPEN, UNPROVEN, MET = Verdict.OPEN, Verdict.UNPROVEN, Verdict.MET
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
