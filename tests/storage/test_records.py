"""The record that the rules judge, put together from what was kept."""

from sqlmodel import Session

from holdwatch.readings import Declaration, DeclarationKind, Medium
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.records import record_of_unit, record_of_vessel
from holdwatch.storage.register import add_correction, end_batch, note, note_unit, place, take_out
from holdwatch.storage.tables import EventKind, Probe, ReadingFlag
from tests.storage.kitchen import BY, NOW, open_kitchen

MINUTE = 60_000


def _say(session: Session, probe: Probe, values: list[float], first_ms: int, flags: int = 0) -> None:
    """Let a probe say one value a minute."""
    number = id_of(probe)
    rows = [NewReading(number, first_ms + i * MINUTE, c, NOW, flags) for i, c in enumerate(values)]
    write_readings(session, rows, NOW)


def test_record_of_vessel_takes_readings_inside_placements_alone(store: Store) -> None:
    """Before it was placed, while it was out and in another vessel the probe spoke of something else."""
    start = NOW - 60 * MINUTE
    with store.write() as session:
        kitchen = open_kitchen(session)
        _say(session, kitchen.food, [float(i) for i in range(60)], start)
        place(session, kitchen.food, batch=kitchen.batch, vessel=1, at_ms=start + 10 * MINUTE, now_ms=NOW, by=BY)
        take_out(session, kitchen.food, at_ms=start + 20 * MINUTE, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=kitchen.batch, vessel=1, at_ms=start + 30 * MINUTE, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=kitchen.batch, vessel=2, at_ms=start + 40 * MINUTE, now_ms=NOW, by=BY)
    with store.read() as session:
        first = record_of_vessel(session, kitchen.batch, 1, NOW)
        second = record_of_vessel(session, kitchen.batch, 2, start + 45 * MINUTE)
    assert first.probe.celsius.tolist() == [*range(10, 21), *range(30, 40)]
    assert second.probe.celsius.tolist() == [*range(40, 46)]
    placed = [start + minutes * MINUTE for minutes in (10, 30)]
    assert first.instants(DeclarationKind.PLACED) == placed
    assert first.medium is Medium.FOOD


def test_record_of_vessel_is_corrected_and_judged_alone(store: Store) -> None:
    """Corrections are applied; readings of unknown instant are left out; second values are in."""
    start = NOW - 30 * MINUTE
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=start, now_ms=NOW, by=BY)
        _say(session, kitchen.food, [50.0, 40.0], start)
        _say(session, kitchen.food, [41.0], start + MINUTE)
        _say(session, kitchen.food, [99.0], start + 3 * MINUTE, ReadingFlag.UNKNOWN_INSTANT)
        add_correction(
            session, kitchen.food, from_ms=start + 1, to_ms=None, offset_c=-0.5, by=BY, why="ice point", now_ms=NOW
        )
    with store.read() as session:
        assert record_of_vessel(session, kitchen.batch, 1, NOW).probe.celsius.tolist() == [50.0, 39.5, 40.5]


def test_record_of_vessel_has_hand_readings_and_declarations_of_its_own(store: Store) -> None:
    """A note is of one vessel or of all; a replaced one is not there; what comes later is not seen yet."""
    start = NOW - 50 * MINUTE
    with store.write() as session:
        kitchen = open_kitchen(session)
        batch = kitchen.batch

        def say(kind: EventKind, minutes: int, vessel: int | None = None, **more: float | None) -> int:
            at_ms = start + minutes * MINUTE
            return id_of(note(session, batch, kind, at_ms=at_ms, now_ms=NOW, by=BY, vessel=vessel, **more))  # type: ignore[arg-type]

        wrong = say(EventKind.LEFT_HEAT, 1)
        say(EventKind.LEFT_HEAT, 2, replaces_id=wrong)
        say(EventKind.MOVED, 5, vessel=2)
        mistyped = say(EventKind.READING, 6, vessel=1, celsius=400 / 10)
        say(EventKind.READING, 6, vessel=1, celsius=44.0, replaces_id=mistyped)
        say(EventKind.READING, 7, vessel=2, celsius=45.0)
        say(EventKind.READING, 20, vessel=1, celsius=30.0)
        say(EventKind.ENDED, 30)
    with store.read() as session:
        early = record_of_vessel(session, batch, 1, start + 10 * MINUTE)
        late = record_of_vessel(session, batch, 1, NOW)
    assert early.hand.celsius.tolist() == [44.0]
    assert late.hand.celsius.tolist() == [44.0, 30.0]
    assert early.declared == (Declaration(start + 2 * MINUTE, DeclarationKind.LEFT_HEAT),)
    assert late.instants(DeclarationKind.ENDED) == [start + 30 * MINUTE]
    assert late.instants(DeclarationKind.MOVED) == []


def test_record_of_vessel_takes_a_probe_found_in_the_food_as_placed_anew(store: Store) -> None:
    """Somebody looked, and the probe is in the food: the doubt about it ends at that instant, not before."""
    start = NOW - 60 * MINUTE
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, batch=kitchen.batch, vessel=1, at_ms=start, now_ms=NOW, by=BY)
        note(session, kitchen.batch, EventKind.PROBE_IN_FOOD, vessel=1, at_ms=NOW - 9 * MINUTE, now_ms=NOW, by=BY)
    with store.read() as session:
        record = record_of_vessel(session, kitchen.batch, 1, NOW)
    assert record.instants(DeclarationKind.PLACED) == [start, NOW - 9 * MINUTE]


def test_record_of_vessel_follows_the_air_of_where_it_was_moved(store: Store) -> None:
    """The air is known from the move into a unit with an air probe until the next move, or the end."""
    start = NOW - 60 * MINUTE
    with store.write() as session:
        kitchen = open_kitchen(session)
        batch = kitchen.batch
        place(session, kitchen.air, unit=kitchen.walk_in, at_ms=start, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=batch, at_ms=start, now_ms=NOW, by=BY)
        _say(session, kitchen.air, [3.0] * 60, start)
        assert len(record_of_vessel(session, batch, 1, NOW).air) == 0
        for minutes, unit in ((10, kitchen.walk_in), (20, None), (40, kitchen.walk_in)):
            at_ms = start + minutes * MINUTE
            note(session, batch, EventKind.MOVED, at_ms=at_ms, now_ms=NOW, by=BY, unit=unit)
        end_batch(session, batch, outcome="served", at_ms=start + 45 * MINUTE, now_ms=NOW, by=BY)
    with store.read() as session:
        air = record_of_vessel(session, batch, 1, NOW).air
    assert ((air.at_ms - start) // MINUTE).tolist() == [*range(10, 20), *range(40, 46)]


def test_record_of_vessel_watched_by_air_alone_is_of_air(store: Store) -> None:
    """An air probe beside a pan proves nothing of the food in it."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.air, batch=kitchen.batch, vessel=1, at_ms=NOW - 9 * MINUTE, now_ms=NOW, by=BY)
        _say(session, kitchen.air, [3.0] * 3, NOW - 9 * MINUTE)
        assert record_of_vessel(session, kitchen.batch, 1, NOW).medium is Medium.AIR
        take_out(session, kitchen.air, at_ms=NOW - 5 * MINUTE, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=kitchen.batch, vessel=1, at_ms=NOW - 5 * MINUTE, now_ms=NOW, by=BY)
        _say(session, kitchen.food, [30.0], NOW - 4 * MINUTE)
        found = record_of_vessel(session, kitchen.batch, 1, NOW)
    assert (found.medium, found.probe.celsius.tolist()) == (Medium.FOOD, [30.0])


def test_record_of_vessel_without_anything_is_empty(store: Store) -> None:
    """A batch that nothing watches has an empty record."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        found = record_of_vessel(session, kitchen.batch, 1, NOW)
    assert (len(found.probe), len(found.hand), len(found.air), found.declared) == (0, 0, 0, ())


def test_record_of_unit_is_of_one_probe_over_a_span(store: Store) -> None:
    """Both ends are in; hand checks of the unit are in; the air is there for a food probe to be compared with."""
    start = NOW - 60 * MINUTE
    with store.write() as session:
        kitchen = open_kitchen(session)
        unit = kitchen.walk_in
        place(session, kitchen.air, unit=unit, at_ms=start, now_ms=NOW, by=BY)
        place(session, kitchen.second, unit=unit, at_ms=start + 5 * MINUTE, now_ms=NOW, by=BY)
        for probe, value in ((kitchen.air, 3.0), (kitchen.second, 4.0)):
            _say(session, probe, [value] * 60, start)
        note_unit(session, unit, EventKind.READING, celsius=4.5, at_ms=start + 7 * MINUTE, now_ms=NOW, by=BY)
        found = record_of_unit(session, unit, kitchen.second, start + MINUTE, start + 10 * MINUTE)
        air = record_of_unit(session, unit, kitchen.air, start, NOW)
    assert ((found.probe.at_ms - start) // MINUTE).tolist() == [*range(5, 11)]
    assert ((found.air.at_ms - start) // MINUTE).tolist() == [*range(1, 11)]
    assert found.hand.celsius.tolist() == [4.5]
    assert found.instants(DeclarationKind.PLACED) == [start + 5 * MINUTE]
    assert (air.medium, len(air.probe), len(air.air)) == (Medium.AIR, 60, 0)
