"""Days that were gone over, and what was recorded about them since."""

from pathlib import Path

import pytest

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR
from holdwatch.errors import ConfigError, RefusedError
from holdwatch.people.pins import hash_pin
from holdwatch.storage.day_reviews import changed_since, day_reviews, review_days
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import add_person, keep_pin
from holdwatch.storage.people_tables import Person
from holdwatch.storage.placing import place
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.register import add_correction, note
from holdwatch.storage.sealing import SETTLE_MS, day_of, seal_next
from holdwatch.storage.signing import signatures
from holdwatch.storage.tables import Event, EventKind
from holdwatch.trust.keys import key_in
from tests.storage.kitchen import BY, NOW, Kitchen, open_kitchen

FIRST = NOW - NOW % MS_PER_DAY - MS_PER_DAY
LAST = FIRST + MS_PER_DAY - 1
DAY = day_of(FIRST)
TODAY = day_of(FIRST + MS_PER_DAY)


@pytest.fixture
def kitchen(store: Store) -> Kitchen:
    """A kitchen with a sealed day of a probe."""
    with store.write() as session:
        return open_kitchen(session)


@pytest.fixture
def people(store: Store) -> tuple[Person, Person]:
    """A manager and a cook."""
    kept = hash_pin("2739")
    with store.write() as session:
        manager = add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by=BY)
        cook = add_person(session, "Tomas Ek", "TE", "cook", now_ms=NOW, by=BY)
        keep_pin(session, manager, kept, now_ms=NOW, by=BY)
    return manager, cook


def _review(store: Store, first: str = DAY, last: str = DAY, manager: Person | None = None) -> Event:
    with store.write() as session:
        by = manager.name if manager is not None else BY
        return review_days(session, first, last, ended_before=TODAY, by=by, manager=manager, now_ms=NOW)


def _changed(store: Store, review: Event) -> list[tuple[str, str]]:
    with store.read() as session:
        found = changed_since(session, review.facts["lines"], FIRST, LAST)
    return [(each.table, each.kind) for each in found]


def test_a_review_is_signed_with_its_meaning(store: Store, kitchen: Kitchen, people: tuple[Person, Person]) -> None:
    """Who, of which days, where the chain stood; and the signature says what it means."""
    assert kitchen.batch.lot
    event = _review(store, manager=people[0])
    with store.read() as session:
        (review,) = day_reviews(session)
        assert signatures(session, [id_of(event)])[id_of(event)].name == "Ines Okafor"
    assert (review.first_day, review.last_day, review.by, review.signed) == (DAY, DAY, "Ines Okafor", True)
    assert event.facts["meaning"] == "reviewed"
    assert [review.covers(day) for day in (day_of(FIRST - 1), DAY, TODAY)] == [False, True, False]


def test_what_cannot_be_reviewed_says_why(store: Store, kitchen: Kitchen, people: tuple[Person, Person]) -> None:
    """Days that are exchanged, a day that is not over, somebody who verifies nothing."""
    assert kitchen.batch.lot
    with pytest.raises(ConfigError, match="exchange the two"):
        _review(store, DAY, day_of(FIRST - 1))
    with pytest.raises(ConfigError, match="is not over yet"):
        _review(store, DAY, TODAY)
    with pytest.raises(RefusedError, match="a manager reviews days"):
        _review(store, manager=people[1])
    with store.read() as session:
        assert day_reviews(session) == []


def test_what_is_recorded_about_another_day_changes_nothing(store: Store, kitchen: Kitchen) -> None:
    """Nor does a second review, nor a probe that is placed today."""
    review = _review(store)
    with store.write() as session:
        batch = session.merge(kitchen.batch)
        note(session, batch, EventKind.NOTE, at_ms=NOW, now_ms=NOW, by=BY, text="today")
        place(session, kitchen.second, unit=kitchen.walk_in, at_ms=NOW, now_ms=NOW, by=BY)
    _review(store)
    assert _changed(store, review) == []


def test_an_entry_about_the_day_is_a_change(store: Store, kitchen: Kitchen) -> None:
    """Entered afterwards for an instant of that day, at either end of it."""
    review = _review(store)
    with store.write() as session:
        batch = session.merge(kitchen.batch)
        for at_ms in (FIRST - 1, FIRST, LAST, LAST + 1):
            note(session, batch, EventKind.NOTE, at_ms=at_ms, now_ms=NOW, by=BY, text="later")
    assert _changed(store, review) == [("event", "note"), ("event", "note")]


def test_a_correction_of_the_day_is_a_change(store: Store, kitchen: Kitchen) -> None:
    """It changes what was measured then."""
    review = _review(store)
    with store.write() as session:
        add_correction(session, kitchen.food, from_ms=LAST, to_ms=None, offset_c=0.5, by=BY, why="ice", now_ms=NOW)
    assert _changed(store, review) == [("correction", ""), ("event", "correction")]


def test_readings_that_come_late_are_a_change(store: Store, kitchen: Kitchen, tmp_path: Path) -> None:
    """As soon as their supplement is sealed."""
    key, probe, night = key_in(tmp_path), id_of(kitchen.food), LAST + 1 + SETTLE_MS
    with store.write() as session:
        write_readings(session, [NewReading(probe, FIRST + MS_PER_HOUR, 4.0, FIRST + MS_PER_HOUR)], NOW)
    assert seal_next(store, key, night) is not None
    review = _review(store)
    assert _changed(store, review) == []
    with store.write() as session:
        write_readings(session, [NewReading(probe, FIRST + 2 * MS_PER_HOUR, 9.0, night)], night)
    assert seal_next(store, key, night) is not None
    assert _changed(store, review) == [("seal", "")]
