"""Faults of the system: the clock and the listener; they open, hold judging back where they must, and close."""

import pytest

from holdwatch.storage.status import report
from holdwatch.storage.tables import Role
from holdwatch.watch.clockcheck import ClockCheck, Trouble
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, cooling

S = 1_000


def test_clock_behind_the_newest_arrival_holds_judging_back_and_recovers(kitchen: Kitchen) -> None:
    """What arrived at five past is not judged by a clock that shows noon; it is when the clock is right."""
    kitchen.probe("p1")
    kitchen.batch("L1", "p1")
    kitchen.arrive("p1", cooling(200, half_min=120), T0 + 4 * HOUR)
    done = kitchen.watch.go_round(T0 + HOUR, 0)
    assert "behind the newest arrival" in done.trouble
    assert kitchen.verdicts() == {}
    (found,) = kitchen.found()
    assert (found.kind, found.subject, found.closed_ms) == ("system", "system:clock", None)
    assert found.facts["stands"] is True
    kitchen.watch.go_round(T0 + HOUR + S, S)
    assert len(kitchen.found()) == 1
    kitchen.restart()
    for _ in range(3):
        kitchen.watch.go_round(T0 + 4 * HOUR + S, 2 * S)
    assert kitchen.found()[0].closed_ms == T0 + 4 * HOUR + S
    assert "missed" in kitchen.verdicts().values()


def test_clock_that_jumped_leaves_clauses_open_for_a_minute(kitchen: Kitchen) -> None:
    """A clock set forward by three hours makes nothing miss its time until it has been steady."""
    kitchen.probe("p1")
    kitchen.batch("L1", "p1")
    kitchen.arrive("p1", cooling(60, half_min=60), T0 + HOUR)
    kitchen.watch.go_round(T0 + HOUR, 0)
    jumped = T0 + 8 * HOUR
    assert "was set forward" in kitchen.watch.go_round(jumped, S).trouble
    assert set(kitchen.verdicts().values()) == {"open"}
    assert [finding.subject for finding in kitchen.found(open_only=True)] == ["system:clock"]
    assert kitchen.watch.go_round(jumped + 62 * S, 63 * S).trouble == ""
    assert "unproven" in kitchen.verdicts().values()


def test_clock_put_back_is_trusted_when_fresh_arrivals_have_agreed_for_ten_minutes() -> None:
    """A clock that was a day ahead for a while does not silence the watch for a day after it was put right."""
    check = ClockCheck()
    assert check.look(T0 + DAY, 0, [T0 + DAY]) is None
    found = check.look(T0, 60 * S, [T0])
    assert found is not None
    assert found.kind is Trouble.BEHIND
    answers = [check.look(T0 + n * MIN, (n + 1) * MIN, [T0 + n * MIN]) for n in range(1, 13)]
    assert answers[0] is not None
    assert answers[-1] is None


@pytest.mark.parametrize(("by_ms", "told"), [(5 * S, False), (5 * S + 1, True), (-6 * S, True)])
def test_clock_jump_is_told_beyond_five_seconds(by_ms: int, *, told: bool) -> None:
    """A time server's small steps are none; exactly five seconds still is none."""
    check = ClockCheck()
    assert check.look(T0, 0, []) is None
    assert (check.look(T0 + S + by_ms, S, []) is not None) is told


def _report(kitchen: Kitchen, state: str, detail: str, at_ms: int) -> None:
    with kitchen.store.write() as session:
        report(session, Role.LISTEN, 1, state, detail, {}, at_ms)


def test_broker_that_is_away_for_more_than_a_minute_is_told_once_and_closed(kitchen: Kitchen) -> None:
    """The listener's own words; a short break is nothing."""
    for second in range(0, 70, 10):
        _report(kitchen, "trouble", "cannot reach the broker at 127.0.0.1:1883, trying again", T0 + second * S)
        kitchen.watch.go_round(T0 + second * S)
        assert len(kitchen.found()) == 0
    _report(kitchen, "trouble", "cannot reach the broker at 127.0.0.1:1883, trying again", T0 + 70 * S)
    kitchen.watch.go_round(T0 + 70 * S)
    (found,) = kitchen.found()
    assert (found.title, found.since_ms) == ("The broker", T0)
    assert found.reason == "cannot reach the broker at 127.0.0.1:1883, trying again."
    kitchen.restart()
    kitchen.watch.go_round(T0 + 80 * S)
    assert kitchen.found()[0].closed_ms is None
    _report(kitchen, "ready", "connected", T0 + 90 * S)
    kitchen.watch.go_round(T0 + 90 * S)
    (closed,) = kitchen.found()
    assert closed.closed_ms == T0 + 90 * S


def test_listener_that_reports_no_more_is_told_and_one_that_was_stopped_is_not(kitchen: Kitchen) -> None:
    """Right after a start nothing is held against a listener that could not report yet."""
    _report(kitchen, "ready", "connected", T0)
    kitchen.watch.go_round(T0 + HOUR)
    kitchen.watch.go_round(T0 + HOUR + 60 * S)
    assert kitchen.found() == []
    kitchen.watch.go_round(T0 + HOUR + 61 * S)
    (found,) = kitchen.found()
    assert (found.title, found.since_ms) == ("The listener", T0)
    _report(kitchen, "stopped", "", T0 + 2 * HOUR)
    kitchen.watch.go_round(T0 + 2 * HOUR)
    assert kitchen.found(open_only=True) == []
