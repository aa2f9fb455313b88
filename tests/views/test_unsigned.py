"""What waits for a signature."""

import pytest

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR
from holdwatch.errors import ConfigError
from holdwatch.storage.batching import note
from holdwatch.storage.engine import Store
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import add_person, end_person, person_named
from holdwatch.storage.register import start_batch
from holdwatch.storage.signing import signatures
from holdwatch.storage.tables import EventKind
from holdwatch.storage.unsigned import sign_entries
from holdwatch.views.unsigned import unsigned, unsigned_days
from tests.charts.kitchen import at
from tests.views.conftest import BY, NOW, empty

__all__ = ["empty"]

NIGHT = at(2026, 10, 14, 23, 30)  # in Denver already the 15th in UTC


@pytest.fixture
def night(empty: Store) -> Store:
    """A note of before, then two people, of whom one discards at night, unsigned, by name and by initials."""
    with empty.write() as session:
        batch = start_batch(session, product="Pastry cream", lot="L1", vessels=1, at_ms=NOW, now_ms=NOW, by=BY)
        note(session, batch, EventKind.ACTION, at_ms=NOW, now_ms=NOW, by=BY, text="before anybody was entered")
        for name, initials in (("Tomas Ek", "TE"), ("Bo Lind", "BL")):
            add_person(session, name, initials, "cook", now_ms=NOW + 1, by=BY)
        for by, text in (("Tomas Ek", "poured away"), ("te", "the second pan as well"), ("Bo Lind", "ice bath")):
            note(session, batch, EventKind.ACTION, at_ms=NIGHT, now_ms=NIGHT, by=by, text=text)
        note(session, batch, EventKind.LEFT_HEAT, at_ms=NIGHT, now_ms=NIGHT, by="Bo Lind")
    return empty


def test_it_waits_for_whoever_it_names(night: Store) -> None:
    """By name or initials; a declared instant is no decision, and what was before people waits for nobody."""
    with night.read() as session:
        assert [(e.person, e.text, e.about) for e in unsigned(session)] == [
            ("Tomas Ek", "poured away", "Pastry cream L1"),
            ("Tomas Ek", "the second pan as well", "Pastry cream L1"),
            ("Bo Lind", "ice bath", "Pastry cream L1"),
        ]
        assert [e.text for e in unsigned(session, "Bo Lind")] == ["ice bath"]


def test_one_pin_signs_several_of_ones_own(night: Store) -> None:
    """Nobody signs for another, and nothing twice; a refusal signs none of them."""
    with night.read() as session:
        numbers = [e.id for e in unsigned(session)]
    with pytest.raises(ConfigError, match="in the name of Bo Lind"), night.write() as session:
        sign_entries(session, person_named(session, "TE"), numbers, now_ms=NIGHT + 1)
    with night.write() as session:
        assert signatures(session, numbers) == {}
        assert sign_entries(session, person_named(session, "TE"), numbers[:2], now_ms=NIGHT + 1) == 2
    with night.read() as session:
        assert [e.text for e in unsigned(session)] == ["ice bath"]
        assert {each.initials for each in signatures(session, numbers).values()} == {"TE"}
    with pytest.raises(ConfigError, match="does not wait"), night.write() as session:
        sign_entries(session, person_named(session, "TE"), numbers[:1], now_ms=NIGHT + 2)


def test_a_day_is_unsigned_once_it_is_over_at_the_site(night: Store) -> None:
    """Midnight in Denver, not in UTC, and not counted are those whom nobody can ask any more."""
    with night.read() as session:
        assert unsigned_days(session, NIGHT + 29 * 60_000) == []
        (day,) = unsigned_days(session, NIGHT + MS_PER_HOUR)
        assert (day.day.isoformat(), day.names, day.count) == ("2026-10-14", ("Tomas Ek", "Bo Lind"), 3)
    with night.write() as session:
        end_person(session, person_named(session, "BL"), now_ms=NIGHT + MS_PER_DAY, by=BY)
    with night.read() as session:
        (day,) = unsigned_days(session, NIGHT + MS_PER_DAY)
        assert (day.names, day.count) == (("Tomas Ek",), 2)
        assert [e.person for e in unsigned(session)][-1] == ""


def test_a_corrected_entry_waits_no_more(night: Store) -> None:
    """The one in its place does."""
    with night.write() as session:
        number = unsigned(session)[0].id
        newer = record_event(
            session, EventKind.ACTION, at_ms=NIGHT, now_ms=NIGHT + 5, by="Tomas Ek", text="half", replaces_id=number
        )
        assert id_of(newer) in {e.id for e in unsigned(session)}
        assert number not in {e.id for e in unsigned(session)}
