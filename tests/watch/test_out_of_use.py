"""A unit out of use alarms nobody, before, meanwhile and afterwards; food that stands in it keeps its own limits."""

import pytest

from holdwatch.storage.out_of_use import back_in_use, take_out_of_use
from holdwatch.storage.tables import EventKind, FindingKind
from tests.watch.conftest import kitchen
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, minutes, straight

__all__ = ["kitchen"]


def _out(kitchen: Kitchen, from_ms: int, to_ms: int | None, now_ms: int) -> None:
    with kitchen.store.write() as session:
        unit = session.merge(kitchen.units["Walk-in 1"])
        take_out_of_use(session, unit, "cleaned", from_ms=from_ms, to_ms=to_ms, now_ms=now_ms, by="Ines")


def _walk_in(kitchen: Kitchen, medium: str = "food") -> None:
    kitchen.probe("w1", medium)
    kitchen.unit("Walk-in 1", "walk-in", "w1")
    kitchen.arrive("w1", straight(38, 38, 60), T0 + HOUR)
    kitchen.rounds(T0 + HOUR)
    assert kitchen.found() == []


@pytest.mark.parametrize("medium", ["food", "air"])
def test_warmth_and_silence_alarm_nobody_while_it_is_out_of_use(kitchen: Kitchen, medium: str) -> None:
    """Declared before: 60 °F for two hours, then nothing is heard for another two."""
    _walk_in(kitchen, medium)
    _out(kitchen, T0 + HOUR, T0 + 5 * HOUR, T0 + HOUR)
    warm = straight(60, 60, 120, start_ms=T0 + HOUR)
    for hours in (1.5, 2, 3, 4, 4.9):
        now_ms = T0 + round(hours * HOUR)
        kitchen.arrive("w1", [reading for reading in warm if reading[0] <= now_ms], now_ms)
        kitchen.rounds(now_ms)
    assert kitchen.found() == []


@pytest.mark.parametrize("medium", ["food", "air"])
def test_the_same_without_a_declaration_is_told(kitchen: Kitchen, medium: str) -> None:
    """What the declaration keeps quiet is loud without it."""
    _walk_in(kitchen, medium)
    kitchen.arrive("w1", straight(60, 60, 120, start_ms=T0 + HOUR), T0 + 3 * HOUR)
    for hours in (1.5, 2, 3, 4, 4.9):
        kitchen.rounds(T0 + round(hours * HOUR))
    kinds = {finding.kind for finding in kitchen.found()}
    assert FindingKind.SYSTEM in kinds
    assert (FindingKind.DEVIATION if medium == "food" else FindingKind.SOON) in kinds


def test_declared_afterwards_it_explains_and_erases_nothing(kitchen: Kitchen) -> None:
    """Deviation and silence close with the declaration as their reason, and stay readable with every version."""
    _walk_in(kitchen)
    kitchen.arrive("w1", straight(60, 60, 60, start_ms=T0 + HOUR + MIN), T0 + 2 * HOUR + MIN)
    for hours in (2.1, 3):
        kitchen.rounds(T0 + round(hours * HOUR))
    assert sorted(finding.kind for finding in kitchen.found(open_only=True)) == ["deviation", "system"]
    _out(kitchen, T0 + HOUR, None, T0 + 3 * HOUR + MIN)
    kitchen.rounds(T0 + 3 * HOUR + MIN)
    found = kitchen.found()
    assert sorted(finding.kind for finding in found) == ["deviation", "system"]
    assert all(finding.closed_ms is not None and finding.version > 1 for finding in found)
    assert all("declared by Ines" in finding.close_reason for finding in found)


def test_a_spell_from_before_stays_a_deviation(kitchen: Kitchen) -> None:
    """Warm for half an hour before it was emptied: that half hour is not explained."""
    _walk_in(kitchen)
    kitchen.arrive("w1", straight(60, 60, 90, start_ms=T0 + HOUR), T0 + 150 * MIN)
    _out(kitchen, T0 + 90 * MIN, None, T0 + 150 * MIN)
    kitchen.rounds(T0 + 151 * MIN)
    (finding,) = [each for each in kitchen.found() if each.kind == FindingKind.DEVIATION]
    assert finding.facts["stands"]
    assert finding.facts["last_ms"] < T0 + 90 * MIN


def test_back_in_use_it_is_asked_again(kitchen: Kitchen) -> None:
    """Still warm when food comes back: a deviation from then on; silent from then on: told after its usual patience."""
    _walk_in(kitchen)
    _out(kitchen, T0 + HOUR, None, T0 + HOUR)
    kitchen.arrive("w1", straight(60, 60, 60, start_ms=T0 + HOUR), T0 + 2 * HOUR)
    kitchen.rounds(T0 + 3 * HOUR)
    with kitchen.store.write() as session:
        unit = session.merge(kitchen.units["Walk-in 1"])
        back_in_use(session, unit, at_ms=T0 + 3 * HOUR, now_ms=T0 + 3 * HOUR, by="Ines")
    kitchen.rounds(T0 + 3 * HOUR + MIN)
    assert kitchen.found() == []
    kitchen.rounds(T0 + 3 * HOUR + 6 * MIN)  # five times its usual minute are over
    (silent,) = kitchen.found(open_only=True)
    assert silent.since_ms == T0 + 3 * HOUR
    assert "came back into use" in silent.reason
    kitchen.arrive("w1", minutes(60, 60, 60, start_ms=T0 + 3 * HOUR + 7 * MIN), T0 + 3 * HOUR + 9 * MIN)
    kitchen.rounds(T0 + 3 * HOUR + 10 * MIN)
    assert [each.since_ms for each in kitchen.found(open_only=True)] == [T0 + 3 * HOUR + 7 * MIN]


def test_a_day_shows_no_more_than_was_read_in_use(kitchen: Kitchen) -> None:
    """A stretch inside a day is a hole that is explained; it is never called kept. Of a whole day nothing is asked."""
    _walk_in(kitchen)
    _out(kitchen, T0 + HOUR, T0 + 3 * HOUR, T0 + HOUR)
    kitchen.arrive("w1", straight(38, 38, 180, start_ms=T0 + HOUR), T0 + 4 * HOUR)
    kitchen.rounds(T0 + 4 * HOUR)
    (state,) = kitchen.clauses()
    assert state.verdict == "unproven"
    assert "out of use from" in str(state.facts["reason"]).lower()
    _out(kitchen, T0 - HOUR, T0 + 40 * HOUR, T0 + 4 * HOUR)
    kitchen.rounds(T0 + 4 * HOUR + MIN)
    (state,) = kitchen.clauses()
    assert state.verdict == "none"


def test_food_recorded_as_standing_in_it_keeps_its_own_limits(kitchen: Kitchen) -> None:
    """The custard that was forgotten in the unit is a deviation all the same."""
    _walk_in(kitchen)
    kitchen.probe("p1")
    batch = kitchen.batch("C1", "p1", processes=["cold-holding"])
    kitchen.note(batch, EventKind.MOVED, T0, unit=kitchen.units["Walk-in 1"])
    _out(kitchen, T0 + HOUR, None, T0 + HOUR)
    kitchen.arrive("p1", straight(38, 55, 60, start_ms=T0 + HOUR), T0 + 2 * HOUR)
    kitchen.rounds(T0 + 2 * HOUR)
    assert [each.kind for each in kitchen.found(open_only=True) if each.batch_id] == [FindingKind.DEVIATION]


@pytest.mark.parametrize(("warmest_f", "verdict"), [(65, "unproven"), (41, "met")])
def test_warm_readings_of_short_stretches_are_not_hidden(kitchen: Kitchen, warmest_f: int, verdict: str) -> None:
    """Nineteen minutes in each of four hours are no hole; what was read in them beyond 41 °F shows no day kept."""
    _walk_in(kitchen)
    for hour in range(1, 5):
        _out(kitchen, T0 + hour * HOUR, T0 + hour * HOUR + 19 * MIN, T0 + HOUR)
    out = {hour * 60 + minute for hour in range(1, 5) for minute in range(1, 19)}
    read = [warmest_f if minute in out else 38 for minute in range(60, 300)]
    kitchen.arrive("w1", minutes(*read, start_ms=T0 + HOUR), T0 + 5 * HOUR)
    kitchen.rounds(T0 + 5 * HOUR)
    (state,) = kitchen.clauses()
    assert state.verdict == verdict
    assert ("Meanwhile it was read at 65.0 °F" in str(state.facts["reason"])) is (verdict == "unproven")
    assert kitchen.found() == []
