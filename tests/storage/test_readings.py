"""Writing readings, and reading ranges of them."""

import math

import numpy as np
import pytest
from sqlmodel import select

from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import (
    NewReading,
    Written,
    count_readings,
    last_readings,
    load_series,
    recent_instants,
    recompute_rollups,
    write_history,
    write_readings,
)
from holdwatch.storage.register import add_correction
from holdwatch.storage.tables import Arrival, Contested, Reading, ReadingFlag, Rollup5m
from tests.storage.kitchen import BY, NOW, open_kitchen

MINUTE = 60_000
EVER = (0, 2**60)


def test_write_readings_keeps_value_instant_and_lag(store: Store) -> None:
    """A reading comes back exactly, with how long after its instant it was received."""
    with store.write() as session:
        written = write_readings(session, [NewReading(7, NOW, 4.123456789012345, NOW + 250)], NOW + 300)
    assert written == Written(added=1)
    with store.read() as session:
        row = session.exec(select(Reading)).one()
    assert (row.probe_id, row.at_ms, row.celsius, row.lag_ms, row.flags) == (7, NOW, 4.123456789012345, 250, 0)


def test_write_readings_twice_changes_nothing(store: Store) -> None:
    """An exact double is counted, and wakes nobody."""
    readings = [NewReading(1, NOW + 1000 * i, 4.0 + i, NOW + 1000 * i) for i in range(5)]
    with store.write() as session:
        write_readings(session, readings, NOW)
    with store.write() as session:
        again = write_readings(session, [*readings, readings[0]], NOW + 1)
        assert again == Written(doubles=6)
    with store.read() as session:
        assert count_readings(session) == 5
        assert session.exec(select(Contested)).all() == []
        assert len(session.exec(select(Arrival)).all()) == 1


def test_write_readings_differing_keeps_both_and_the_first_stays(store: Store) -> None:
    """A second value of an instant is kept beside the first one, in the same group or later, once."""
    with store.write() as session:
        written = write_readings(session, [NewReading(1, NOW, 4.0, NOW), NewReading(1, NOW, 5.0, NOW)], NOW)
    assert written == Written(added=1, contested=1)
    with store.write() as session:
        written = write_readings(session, [NewReading(1, NOW, c, NOW) for c in (5.0, 3.0, 3.0, 4.0)], NOW)
    assert written == Written(doubles=3, contested=1)
    with store.read() as session:
        assert session.exec(select(Reading)).one().celsius == 4.0
        series = load_series(session, 1, *EVER)
        rollup = session.exec(select(Rollup5m)).one()
    assert series.celsius.tolist() == [3.0, 4.0, 5.0]
    assert series.at_ms.tolist() == [NOW] * 3
    assert (rollup.count, rollup.min_c, rollup.max_c) == (3, 3.0, 5.0)


def test_write_readings_queues_one_arrival_a_probe(store: Store) -> None:
    """The watch hears of a group once a probe: from which instant to which, and how many."""
    with store.write() as session:
        group = [NewReading(p, NOW + i * MINUTE, 4.0, NOW) for i in range(3) for p in (1, 2)]
        write_readings(session, group, NOW + 9)
    with store.read() as session:
        rows = session.exec(select(Arrival).order_by(Arrival.probe_id)).all()  # type: ignore[arg-type]
    assert [(r.kind, r.probe_id, r.first_ms, r.last_ms, r.count, r.at_ms) for r in rows] == [
        ("readings", 1, NOW, NOW + 2 * MINUTE, 3, NOW + 9),
        ("readings", 2, NOW, NOW + 2 * MINUTE, 3, NOW + 9),
    ]


@pytest.mark.parametrize("flag", [ReadingFlag.UNKNOWN_INSTANT, ReadingFlag.IMPLAUSIBLE_INSTANT])
def test_write_readings_of_unknown_instant_are_kept_not_judged(store: Store, flag: ReadingFlag) -> None:
    """They are shown, but neither judged nor rolled up."""
    with store.write() as session:
        write_readings(session, [NewReading(1, NOW, 99.0, NOW, flag), NewReading(1, NOW + 1, 4.0, NOW)], NOW)
    with store.read() as session:
        assert load_series(session, 1, *EVER).celsius.tolist() == [4.0]
        assert load_series(session, 1, *EVER, judged_only=False).celsius.tolist() == [99.0, 4.0]
        assert session.exec(select(Rollup5m)).one().max_c == 4.0
        assert recent_instants(session, 1, 10, NOW + 5).tolist() == [NOW + 1]


def test_write_readings_of_unknown_instant_gives_way_to_one_that_is_known(store: Store) -> None:
    """A reading that is not judged never takes a judged one's place, nor is judged in the end itself."""
    unknown = int(ReadingFlag.UNKNOWN_INSTANT)
    with store.write() as session:
        write_readings(session, [NewReading(1, NOW, 4.0, NOW)], NOW)
        write_readings(session, [NewReading(1, NOW, 60.0, NOW, unknown)], NOW)
        write_readings(session, [NewReading(1, NOW + 9, 60.0, NOW, unknown)], NOW)
        late = write_readings(session, [NewReading(1, NOW + 9, c, NOW) for c in (60.0, 5.0)], NOW)
        assert late.contested == 2
    with store.read() as session:
        assert load_series(session, 1, *EVER).celsius.tolist() == [4.0, 5.0, 60.0]
        assert load_series(session, 1, *EVER).at_ms.tolist() == [NOW, NOW + 9, NOW + 9]
        everything = load_series(session, 1, *EVER, judged_only=False)
    assert everything.at_ms.tolist() == [NOW, NOW + 1, NOW + 9, NOW + 9]


@pytest.mark.parametrize("celsius", [math.nan, math.inf])
def test_write_readings_not_finite_is_a_mistake_of_the_caller(store: Store, celsius: float) -> None:
    """What is no number is set aside before it comes here."""
    with pytest.raises(ValueError, match="not finite"), store.write() as session:
        write_readings(session, [NewReading(1, NOW, celsius, NOW)], NOW)


def test_write_history_has_the_same_effects(store: Store) -> None:
    """History written in bulk is the same as readings that came one by one."""
    at_ms = NOW + 30_000 * np.arange(2_500, dtype=np.int64)
    celsius = np.round(4 + np.sin(at_ms / 1e6), 2)
    with store.write() as session:
        assert write_history(session, 1, at_ms, celsius, NOW, lag_ms=40) == Written(added=2_500)
        for at, value in zip(at_ms.tolist(), celsius.tolist(), strict=True):
            assert write_readings(session, [NewReading(2, at, value, at + 40)], NOW).added == 1
    with store.read() as session:
        one, two = load_series(session, 1, *EVER), load_series(session, 2, *EVER)
        rollups = {p: session.exec(select(Rollup5m).where(Rollup5m.probe_id == p)).all() for p in (1, 2)}
    assert np.array_equal(one.at_ms, at_ms)
    assert np.array_equal(one.celsius, celsius)
    assert np.array_equal(one.celsius, two.celsius)
    dumped = {p: [r.model_dump(exclude={"probe_id"}) for r in rows] for p, rows in rollups.items()}
    assert dumped[1] == dumped[2]


def test_load_series_includes_both_ends(store: Store) -> None:
    """A range is from its first instant to its last, both included."""
    with store.write() as session:
        write_readings(session, [NewReading(1, NOW + i, float(i), NOW) for i in range(10)], NOW)
    with store.read() as session:
        assert load_series(session, 1, NOW + 3, NOW + 6).celsius.tolist() == [3, 4, 5, 6]
        assert len(load_series(session, 1, NOW + 100, NOW + 200)) == 0
        assert len(load_series(session, 2, *EVER)) == 0


def test_load_series_corrected_adds_the_offset_recorded_last(store: Store) -> None:
    """Corrections apply on reading, ends included; of two the later recorded counts; raw stays raw."""
    with store.write() as session:
        probe = open_kitchen(session).food
        number = id_of(probe)
        write_readings(session, [NewReading(number, NOW - 10 + i, 4.0, NOW) for i in range(6)], NOW)
        add_correction(session, probe, from_ms=NOW - 9, to_ms=None, offset_c=-1.0, by=BY, why="ice point", now_ms=NOW)
        add_correction(session, probe, from_ms=NOW - 8, to_ms=NOW - 7, offset_c=0.5, by=BY, why="ice point", now_ms=NOW)
    with store.read() as session:
        assert load_series(session, number, *EVER).celsius.tolist() == [4.0, 3.0, 4.5, 4.5, 3.0, 3.0]
        assert load_series(session, number, *EVER, corrected=False).celsius.tolist() == [4.0] * 6
        assert load_series(session, number, NOW - 7, NOW - 7).celsius.tolist() == [4.5]


def test_last_readings_gives_the_latest_of_each_probe(store: Store) -> None:
    """Each probe's latest reading, and nothing for one that never spoke."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        food, second = id_of(kitchen.food), id_of(kitchen.second)
        write_readings(session, [NewReading(food, NOW - i, 4.0 + i, NOW) for i in range(3)], NOW)
    with store.read() as session:
        found = last_readings(session)
        assert {number: row.celsius for number, row in found.items()} == {food: 4.0}
        assert last_readings(session, [second]) == {}


def test_recent_instants_are_the_last_ones_in_order(store: Store) -> None:
    """The last few instants at or before one, oldest first."""
    with store.write() as session:
        write_readings(session, [NewReading(1, NOW + i * 10, 4.0, NOW) for i in range(10)], NOW)
    with store.read() as session:
        assert recent_instants(session, 1, 3, NOW + 50).tolist() == [NOW + 30, NOW + 40, NOW + 50]


def test_recompute_rollups_mends_what_was_spoilt(store: Store) -> None:
    """Roll-ups of a span can always be made again from what was kept."""
    with store.write() as session:
        write_readings(session, [NewReading(1, NOW + i * MINUTE, float(i), NOW) for i in range(120)], NOW)
    with store.read() as session:
        before = [row.model_dump() for row in session.exec(select(Rollup5m))]
    with store.write() as session:
        for row in session.exec(select(Rollup5m)).all():
            row.max_c = 99.0
            session.add(row)
        session.add(
            Rollup5m(
                probe_id=1,
                bucket_ms=NOW + 150 * MINUTE,
                count=1,
                first_ms=0,
                last_ms=0,
                min_c=0,
                mean_c=0,
                max_c=0,
                hole_ms=0,
            )
        )
    with store.write() as session:
        recompute_rollups(session, 1, NOW, NOW + 170 * MINUTE)
    with store.read() as session:
        assert [row.model_dump() for row in session.exec(select(Rollup5m))] == before
