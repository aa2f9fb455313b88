"""A vessel of which nothing has been read yet: its first reading may still come, as long as no hole is too long."""

import pytest

from holdwatch.readings import Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.verdicts import Judgement, Step, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, declared, line, points

MET, MISSED, UNPROVEN, OPEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN
NOBODY = Series.empty()
DUE_MS = T0 + 20 * MINUTE


def stored(
    probe: Series,
    until_ms: int,
    *,
    started: float | None = 0,
    ended: float | None = None,
    notes: tuple[tuple[str, float], ...] = (),
) -> Judgement:
    """Judge the holding of a batch that was put into the fridge at `started`, in minutes."""
    (answer,) = judge_vessel(
        Record(probe, declared=declared(*notes)),
        LIMITS,
        step=Step.STORE,
        holding="cold",
        until_ms=until_ms,
        started_ms=None if started is None else T0 + round(started * MINUTE),
        ended_ms=None if ended is None else T0 + round(ended * MINUTE),
    )
    return answer


def test_first_reading_is_awaited_for_the_largest_gap() -> None:
    """20 min, the end included: until then a reading leaves no hole behind it; the next look is a millisecond later."""
    for until_ms in (T0, DUE_MS - 1, DUE_MS):
        waits = stored(NOBODY, until_ms)
        assert (waits.verdict, waits.clauses[0].verdict) == (OPEN, OPEN)
        assert waits.changes_ms == DUE_MS + 1
        assert "awaited until 2026-02-25 06:40:00 UTC" in waits.clauses[0].reason
    late = stored(NOBODY, DUE_MS + 1)
    assert (late.verdict, late.clauses[0].verdict) == (UNPROVEN, UNPROVEN)
    assert stored(points((20, 38)), DUE_MS).verdict is MET
    assert stored(points((20.001, 38)), DUE_MS + 60).verdict is UNPROVEN


def test_reading_before_the_receipt_is_not_the_first_of_the_holding() -> None:
    """Received at 10: a reading at 5 shows nothing of the time since, and one at 30 still comes in time."""
    received = (("from", 10.0),)
    assert stored(points((5, 38)), T0 + 30 * MINUTE, notes=received).verdict is OPEN
    assert stored(points((5, 38), (30, 38)), T0 + 30 * MINUTE, notes=received).verdict is MET
    assert stored(points((5, 38)), T0 + 30 * MINUTE + 1, notes=received).verdict is UNPROVEN


@pytest.mark.parametrize(("degrees", "verdict"), [(38, MET), (50, MISSED)])
def test_what_was_read_is_judged_at_once(degrees: float, verdict: Verdict) -> None:
    """Nothing is awaited any more."""
    assert stored(points((5, degrees)), T0 + 10 * MINUTE).verdict is verdict


def test_nothing_is_awaited_of_a_batch_that_ended_or_whose_start_nobody_knows() -> None:
    """No reading comes of food that is gone; without a start no instant is the latest."""
    assert stored(NOBODY, T0 + 15 * MINUTE, ended=10).verdict is UNPROVEN
    assert stored(NOBODY, T0 + 15 * MINUTE, started=None).verdict is UNPROVEN


def test_holding_counts_from_the_first_receipt() -> None:
    """Received at 0 and declared again at 30: what was too warm in between was too warm in this kitchen."""
    warm_first = line((0, 50), (40, 38), (60, 38))
    assert stored(warm_first, T0 + 60 * MINUTE, notes=(("from", 0.0), ("from", 45.0))).verdict is MISSED
    assert stored(warm_first, T0 + 60 * MINUTE, notes=(("from", 45.0),)).verdict is MET
