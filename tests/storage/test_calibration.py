"""Checks of probes as they are kept, and the corrections that follow."""

import numpy as np
import pytest

from holdwatch.calculators.calibration import Outcome, Point, boiling, melting_ice, reference
from holdwatch.calculators.place import place
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR
from holdwatch.errors import ConfigError
from holdwatch.storage.calibration import Done, checks_of, due_checks, last_good, record_check
from holdwatch.storage.engine import Store
from holdwatch.storage.placing import place as place_probe
from holdwatch.storage.placing import placements
from holdwatch.storage.readings import NewReading, load_series, load_trace, write_readings
from holdwatch.storage.register import probe_named
from tests.storage.kitchen import BY, NOW, Kitchen, open_kitchen

SEA = place(pressure_pa=101_325.0)


@pytest.fixture
def kitchen(store: Store) -> Kitchen:
    """A kitchen whose food probe stands in a batch, and its air probe in the walk-in."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        at_ms = NOW - MS_PER_HOUR
        place_probe(session, kitchen.food, batch=kitchen.batch, vessel=1, at_ms=at_ms, now_ms=NOW, by=BY)
        place_probe(session, kitchen.air, unit=kitchen.walk_in, at_ms=at_ms, now_ms=NOW, by=BY)
    return kitchen


def _check(store: Store, code: str, points: list[Point], at_ms: int = NOW, **more: object) -> Outcome:
    with store.write() as session:
        probe = probe_named(session, code)
        return record_check(session, probe, points, asked_c=1.0, at_ms=at_ms, now_ms=NOW, by=BY, **more).outcome


def test_a_check_is_kept_as_it_was_read(store: Store, kitchen: Kitchen) -> None:
    """Points, what was asked, what was found, by whom, and when the next is due."""
    points = [melting_ice(0.3), boiling(99.5, SEA)]
    assert _check(store, "p1", points, every_days=7, text="before service") is Outcome.WITHIN
    with store.read() as session:
        (check,) = checks_of(session, kitchen.food.id)
    assert check.points == tuple(points)
    assert (check.asked_c, check.done, check.by, check.text) == (1.0, Done.NOTHING, BY, "before service")
    assert check.due_ms == NOW + 7 * MS_PER_DAY


def test_a_probe_in_ice_stands_in_no_food(store: Store, kitchen: Kitchen) -> None:
    """Its placement ends with the check; one that is compared where it stands stays there."""
    _check(store, "a1", [reference(4.0, 4.1, 0.3)])
    _check(store, "p1", [melting_ice(0.3)])
    with store.read() as session:
        assert [p.probe_id for p in placements(session, open_only=True)] == [kitchen.air.id]
        (ended,) = placements(session, probe_id=kitchen.food.id)
    assert ended.to_ms == NOW


def test_a_correction_counts_from_the_check_on(store: Store, kitchen: Kitchen) -> None:
    """Raw values stay; a line through two points counts for readings, and for what roll-ups show."""
    instants = [NOW - 3 * MS_PER_HOUR + n * 60_000 for n in range(180)]
    with store.write() as session:
        write_readings(session, [NewReading(kitchen.food.id or 0, at, 50.0, at) for at in instants], NOW)
    at_ms = NOW - MS_PER_HOUR
    points = [reference(1.0, 0.0, 0.1), reference(98.0, 100.0, 0.1)]
    assert _check(store, "p1", points, at_ms=at_ms, done=Done.CORRECTED) is Outcome.BEYOND
    wanted = (50.0 - 1.0) * 100 / 97
    with store.read() as session:
        series = load_series(session, kitchen.food.id or 0, instants[0], NOW)
        raw = load_series(session, kitchen.food.id or 0, instants[0], NOW, corrected=False)
        trace = load_trace(session, kitchen.food.id or 0, instants[0], NOW, points=10)
    assert set(raw.celsius) == {50.0}
    before, after = series.celsius[series.at_ms < at_ms], series.celsius[series.at_ms >= at_ms]
    assert set(before) == {50.0}
    assert after == pytest.approx(np.full(60, wanted))
    assert not trace.raw
    assert (trace.min_c.min(), trace.max_c.max()) == (50.0, pytest.approx(wanted))
    assert _check(store, "p1", points) is Outcome.WITHIN  # as it counts now


def test_the_last_good_check_is_one_at_which_it_was_right_or_was_put_right(store: Store, kitchen: Kitchen) -> None:
    """One at which it was only found wrong is none."""
    day = MS_PER_DAY
    _check(store, "p1", [melting_ice(0.1)], at_ms=NOW - 4 * day)
    _check(store, "p1", [melting_ice(3.0)], at_ms=NOW - 3 * day, done=Done.ADJUSTED)
    _check(store, "p1", [melting_ice(3.0)], at_ms=NOW - 2 * day)
    _check(store, "p1", [melting_ice(3.0)], at_ms=NOW - day, done=Done.OUT_OF_USE)
    with store.read() as session:
        probe = kitchen.food.id or 0
        assert [found.at_ms if (found := last_good(session, probe, NOW - n * day)) else None for n in (0, 2, 3, 4)] == [
            NOW - 3 * day,
            NOW - 3 * day,
            NOW - 4 * day,
            None,
        ]


def test_placed_probes_that_are_due_are_listed(store: Store, kitchen: Kitchen) -> None:
    """Never checked, or too long ago, to the instant; one that stands nowhere is not asked for."""
    _check(store, "a1", [reference(4.0, 4.1, 0.3)], every_days=10)
    with store.read() as session:
        before = [(probe.code, since) for probe, since in due_checks(session, NOW + 10 * MS_PER_DAY - 1)]
        after = [(probe.code, since) for probe, since in due_checks(session, NOW + 10 * MS_PER_DAY)]
    assert before == [("p1", None)]
    assert after == [("a1", NOW + 10 * MS_PER_DAY), ("p1", None)]
    assert kitchen.second.code == "p2"


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"every_days": 0}, "cannot be: give 1 to 366"),
        ({"at_ms": NOW + MS_PER_HOUR}, "in the future"),
        ({"points": []}, "needs a point"),
    ],
)
def test_what_is_no_check_is_refused(store: Store, kitchen: Kitchen, more: dict, says: str) -> None:
    """And nothing is kept."""
    with pytest.raises(ConfigError, match=says):
        _check(store, "p1", **{"points": [melting_ice(0.1)], **more})
    with store.read() as session:
        assert checks_of(session, kitchen.food.id) == []
