"""Checking PINs against the store, and signing."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from holdwatch.people import pins
from holdwatch.people.pins import hash_pin
from holdwatch.people.roles import Right
from holdwatch.storage import signing
from holdwatch.storage.engine import Store
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import add_person, end_person, keep_pin, person_named
from holdwatch.storage.people_tables import TryOutcome
from holdwatch.storage.signing import Checked, check_pin, sign, signatures, tries
from holdwatch.storage.tables import EventKind
from tests.storage.kitchen import BY, NOW

SECOND = 1000
HASHER = pins._hasher


@pytest.fixture
def as_in_a_kitchen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hash PINs at their full cost."""
    monkeypatch.setattr(pins, "_hasher", HASHER)


@pytest.fixture
def cook(store: Store) -> int:
    """A cook with the PIN 2739, and a manager."""
    kept = hash_pin("2739")
    with store.write() as session:
        add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by=BY)
        person = add_person(session, "Tomas Ek", "TE", "cook", now_ms=NOW, by=BY)
        keep_pin(session, person, kept, now_ms=NOW, by=BY)
        return id_of(person)


def _check(store: Store, cook: int, pin: str, after_s: float, right: Right = Right.DISPOSE) -> Checked:
    return check_pin(store, cook, pin, right, place="screen", now_ms=NOW + int(after_s * SECOND))


def _outcomes(store: Store) -> list[tuple[str, int]]:
    with store.read() as session:
        return [(each.outcome, each.times) for each in tries(session)]


def test_the_right_pin_is_taken(store: Store, cook: int) -> None:
    """And only for what the role may do."""
    assert _check(store, cook, "2739", 1).right
    refused = _check(store, cook, "2739", 2, Right.KEEP)
    assert (refused.right, refused.outcome) == (False, TryOutcome.NOT_ALLOWED)
    assert _outcomes(store) == [("new-pin", 1), ("right", 1), ("not-allowed", 1)]


def test_guessing_is_slowed_down_and_kept(store: Store, cook: int) -> None:
    """The third wrong PIN costs half a minute; meanwhile the right one is not looked at either."""
    assert [_check(store, cook, "1111", s).waits_until_ms for s in (1, 2)] == [None, None]
    assert _check(store, cook, "1111", 3).waits_until_ms == NOW + 33 * SECOND
    for s in (4, 5, 32.9):
        early = _check(store, cook, "2739", s)
        assert (early.outcome, early.waits_until_ms) == (TryOutcome.TOO_SOON, NOW + 33 * SECOND)
    assert _check(store, cook, "1111", 33).waits_until_ms == NOW + (33 + 60) * SECOND
    assert _check(store, cook, "2739", 93).right
    assert _check(store, cook, "1111", 94).waits_until_ms is None  # a right one begins anew
    wrong = [("wrong", 1)] * 3
    assert _outcomes(store) == [("new-pin", 1), *wrong, ("too-soon", 3), ("wrong", 1), ("right", 1), ("wrong", 1)]


def test_a_new_pin_ends_the_waiting(store: Store, cook: int) -> None:
    """A manager's reset helps at once."""
    for s in (1, 2, 3):
        _check(store, cook, "1111", s)
    kept = hash_pin("8046")
    with store.write() as session:
        keep_pin(session, person_named(session, "TE"), kept, now_ms=NOW + 4 * SECOND, by=BY)
    assert not _check(store, cook, "2739", 5).right
    assert _check(store, cook, "8046", 6).right


@pytest.mark.usefixtures("as_in_a_kitchen")
def test_many_guesses_at_once_are_no_way_round(store: Store, cook: int) -> None:
    """Of forty guesses in one instant three are looked at."""
    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(lambda n: _check(store, cook, f"{5000 + n}", 1).outcome, range(40)))
    assert found.count(TryOutcome.WRONG) == 3
    assert found.count(TryOutcome.TOO_SOON) == 37


def test_a_check_that_was_cut_off_counts_as_wrong(store: Store, cook: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A kill between the two transactions gives no free guess."""

    def cut(*_: object) -> bool:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(signing, "is_pin", cut)
        for s in (1, 2, 3):
            with pytest.raises(KeyboardInterrupt):
                _check(store, cook, "1111", s)
    assert _check(store, cook, "2739", 4).outcome is TryOutcome.TOO_SOON


def test_nobody_without_a_pin_or_who_left_gets_in(store: Store, cook: int) -> None:
    """An empty PIN is not the right one where none is set."""
    with store.read() as session:
        manager = id_of(person_named(session, "IO"))
    assert _check(store, manager, "", 1).outcome is TryOutcome.NO_PIN
    with store.write() as session:
        end_person(session, person_named(session, "TE"), now_ms=NOW, by=BY)
    assert _check(store, cook, "2739", 1).outcome is TryOutcome.NOT_ALLOWED


@pytest.mark.usefixtures("as_in_a_kitchen")
def test_a_pin_hashed_by_weaker_parameters_is_hashed_again(store: Store, cook: int) -> None:
    """When the right one is at hand, and only then."""
    from argon2 import PasswordHasher

    weak = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash("2739")
    with store.write() as session:
        keep_pin(session, person_named(session, "TE"), weak, now_ms=NOW, by=BY)
    _check(store, cook, "1111", 1)
    with store.read() as session:
        assert person_named(session, "TE").pin_hash == weak
    assert _check(store, cook, "2739", 2).right
    with store.read() as session:
        assert person_named(session, "TE").pin_hash.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert _check(store, cook, "2739", 3).right


def test_a_signature_keeps_the_name_of_that_day(store: Store, cook: int) -> None:
    """The first signature of an entry stands, whatever happens later."""
    checked = _check(store, cook, "2739", 1)
    with store.write() as session:
        said = [record_event(session, EventKind.ACTION, at_ms=NOW, now_ms=NOW, by="Tomas Ek") for _ in range(2)]
        sign(session, [id_of(said[0])], checked.person, now_ms=NOW + SECOND)
        session.flush()
        person_named(session, "TE").initials = "TK"
        sign(session, [id_of(said[0])], checked.person, now_ms=NOW + 2 * SECOND)
        session.flush()
        found = signatures(session, [id_of(each) for each in said])
    assert {key: (each.name, each.initials, each.at_ms) for key, each in found.items()} == {
        id_of(said[0]): ("Tomas Ek", "TE", NOW + SECOND)
    }


def test_what_is_recorded_meanwhile_is_signed_and_nothing_else(store: Store, cook: int) -> None:
    """Every entry between begin and end, not the one before; where nobody signs, none."""

    def note(text: str) -> int:
        return id_of(record_event(session, EventKind.NOTE, at_ms=NOW, now_ms=NOW, by="TE", text=text))

    with store.write() as session:
        before, person = note("before"), person_named(session, "TE")
        assert id_of(person) == cook
        with signing.signing(session, person, now_ms=NOW):
            meanwhile = [note("one"), note("two")]
        with signing.signing(session, None, now_ms=NOW):
            unsigned = note("three")
        assert list(signatures(session, [before, *meanwhile, unsigned])) == meanwhile
