"""A probe that is found wrong puts in doubt what it showed since its last good check, and nothing else."""

import pytest

from holdwatch.calculators.calibration import Point, melting_ice, reference
from holdwatch.quantities import celsius_of_f
from holdwatch.storage.calibration import Done, record_check
from holdwatch.storage.findings import findings
from holdwatch.storage.parts import divide_batch
from holdwatch.storage.register import end_batch, probe_named
from holdwatch.storage.tables import Batch, Finding
from holdwatch.watch.lookback import EVERY_MS, LookBack
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, cooling, minutes

NOW = T0 + 3 * DAY


@pytest.fixture
def cooled(kitchen: Kitchen) -> Kitchen:
    """Three batches of one probe: two that only just kept 41 °F in six hours, one that was there in three."""
    kitchen.probe("p1")
    for number, half_min in enumerate((73, 73, 40)):
        at_ms = T0 + number * 12 * HOUR
        batch = kitchen.batch(f"L{number + 1}", "p1", at_ms=at_ms)
        kitchen.arrive("p1", cooling(7 * 60, from_f=150, half_min=half_min, start_ms=at_ms, every_min=2), NOW)
        with kitchen.store.write() as session:
            merged = session.merge(batch)
            end_batch(session, merged, outcome="served", at_ms=at_ms + 7 * HOUR, now_ms=NOW, by="test")
    kitchen.rounds(NOW)
    return kitchen


def _check(kitchen: Kitchen, points: list[Point], at_ms: int, done: Done = Done.NOTHING) -> None:
    with kitchen.store.write() as session:
        probe = probe_named(session, "p1")
        record_check(session, probe, points, asked_c=2 / 1.8, done=done, at_ms=at_ms, now_ms=NOW, by="test")


def _told(kitchen: Kitchen) -> list[Finding]:
    LookBack(kitchen.store).go_on(NOW, 0)
    with kitchen.store.read() as session:
        return [found for found in findings(session) if found.key.startswith("check:")]


def _named(found: Finding) -> set[tuple[str, str, str]]:
    return {(each["what"], each["stands"], each["would"]) for each in found.facts["doubted"]}


def test_what_would_change_is_named_and_nothing_else(cooled: Kitchen) -> None:
    """It read 4 °F low: the two that were only just in time were not, the quick one was."""
    _check(cooled, [reference(celsius_of_f(37), celsius_of_f(41), 0.1)], NOW)
    (found,) = _told(cooled)
    assert _named(found) == {
        ("Pastry cream L1", "met", "missed"),
        ("Pastry cream L2", "met", "missed"),
    }
    assert (found.kind, found.verdict) == ("not-shown", "unproven")
    assert "It read 4.0 °F too low." in found.reason.replace("\u202f", " ")
    assert "Pastry cream L1, 3-501.14(A)(2): kept, would be deviation" in found.reason
    assert "never checked before" in found.reason


def test_what_was_divided_off_is_named_too(cooled: Kitchen) -> None:
    """Its past was read by the same probe; what was divided off the quick one keeps its verdict."""
    for number in (1, 3):
        at_ms = T0 + (12 * number - 5) * HOUR
        with cooled.store.write() as session:
            batch = session.get_one(Batch, number)
            divide_batch(session, batch, lot=f"L{number}-b", at_ms=at_ms, now_ms=NOW, by="test")
    cooled.rounds(NOW)
    _check(cooled, [reference(celsius_of_f(37), celsius_of_f(41), 0.1)], NOW)
    (found,) = _told(cooled)
    assert {each["what"] for each in found.facts["doubted"]} == {f"Pastry cream {lot}" for lot in ("L1", "L2", "L1-b")}


def test_it_looks_back_to_the_last_good_check(cooled: Kitchen) -> None:
    """The first batch was measured before it, with a probe that was right."""
    _check(cooled, [melting_ice(0.1)], T0 + 8 * HOUR)
    _check(cooled, [reference(celsius_of_f(37), celsius_of_f(41), 0.1)], NOW)
    (found,) = _told(cooled)
    assert _named(found) == {("Pastry cream L2", "met", "missed")}
    assert found.since_ms == T0 + 8 * HOUR


def test_a_check_that_is_good_or_cannot_be_told_looks_at_nothing(cooled: Kitchen) -> None:
    """Only an error that was found puts something in doubt."""
    _check(cooled, [melting_ice(0.1)], NOW - HOUR)
    _check(cooled, [melting_ice(1.1)], NOW)
    assert _told(cooled) == []


def test_it_is_told_once_and_what_was_recorded_stays(cooled: Kitchen) -> None:
    """The verdicts of the record are not rewritten; a restart tells nothing twice."""
    before = cooled.verdicts()
    _check(cooled, [reference(celsius_of_f(37), celsius_of_f(41), 0.1)], NOW, Done.OUT_OF_USE)
    look = LookBack(cooled.store)
    assert [look.go_on(NOW, 0), look.go_on(NOW, EVERY_MS - 1), look.go_on(NOW, EVERY_MS)] == [1, 0, 0]
    assert len(_told(cooled)) == 1
    cooled.rounds(NOW)
    assert cooled.verdicts() == before


def test_a_check_that_is_new_is_looked_at_within_a_minute(cooled: Kitchen) -> None:
    """It need not be there when the watch begins."""
    look = LookBack(cooled.store)
    assert look.go_on(NOW, 0) == 0
    _check(cooled, [reference(celsius_of_f(37), celsius_of_f(41), 0.1)], NOW)
    assert look.go_on(NOW, EVERY_MS) == 1


def test_days_of_a_unit_are_named(kitchen: Kitchen) -> None:
    """A food probe that stood in the walk-in at 39 °F and was 4 °F too low: every day of it."""
    kitchen.probe("p1")
    kitchen.unit("Walk-in 1", "walk-in", "p1")
    kitchen.arrive("p1", minutes(*[39.0] * (48 * 6), every_ms=10 * MIN), NOW)
    kitchen.rounds(NOW)
    _check(kitchen, [reference(celsius_of_f(37), celsius_of_f(41), 0.1)], T0 + 2 * DAY)
    (found,) = _told(kitchen)
    assert {what for what, stands, would in _named(found) if (stands, would) == ("met", "missed")} >= {
        "Walk-in 1 on 2026-11-24",
        "Walk-in 1 on 2026-11-25",
    }


def test_an_error_that_would_change_nothing_is_told_all_the_same(cooled: Kitchen) -> None:
    """It read too high: whatever it showed as cold was colder."""
    _check(cooled, [melting_ice(2.0)], NOW)
    (found,) = _told(cooled)
    assert found.facts["doubted"] == []
    assert "no verdict would be another" in found.reason


def test_a_probe_that_cannot_be_corrected_is_looked_back_on_all_the_same(cooled: Kitchen) -> None:
    """Three points, or a scale that is a fifth off: no line corrects it, and it was wrong; the worst point counts."""
    low = [reference(celsius_of_f(37), celsius_of_f(41), 0.1), melting_ice(-1.0), reference(20.0, 21.0, 0.1)]
    _check(cooled, low, NOW - HOUR)
    _check(cooled, [melting_ice(0.0), reference(80.0, 100.0, 0.1)], NOW)
    first, second = sorted(_told(cooled), key=lambda found: found.id or 0)
    assert ("Pastry cream L1", "met", "missed") in _named(first)
    assert second.facts["doubted"]
