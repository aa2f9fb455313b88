"""Who works here, in the store."""

import pytest

from holdwatch.errors import ConfigError, NameTakenError, UnknownNameError
from holdwatch.storage.engine import Store
from holdwatch.storage.people import add_person, change_role, end_person, keep_pin, managers, people, person_named
from holdwatch.storage.register import events
from tests.storage.kitchen import BY, NOW


def _two(store: Store) -> None:
    with store.write() as session:
        add_person(session, "Ines Okafor", "io", "manager", now_ms=NOW, by=BY)
        add_person(session, "Tomas Ek", "TE", "cook", now_ms=NOW, by=BY)


def test_people_are_found_by_name_or_initials(store: Store) -> None:
    """Initials are written in capitals, and asked for as one likes."""
    _two(store)
    with store.read() as session:
        assert [(each.name, each.initials, each.role) for each in people(session)] == [
            ("Ines Okafor", "IO", "manager"),
            ("Tomas Ek", "TE", "cook"),
        ]
        assert person_named(session, "te").name == "Tomas Ek"
        assert person_named(session, "tomas ek").initials == "TE"
        with pytest.raises(UnknownNameError, match="did you mean 'Tomas Ek'"):
            person_named(session, "Tomas Eck")


@pytest.mark.parametrize(
    ("name", "initials", "role", "words"),
    [
        ("tomas EK", "TX", "cook", "already a person called 'Tomas Ek'"),
        ("Tove Eng", "te", "cook", "Tomas Ek signs as 'TE'"),
        ("TE", "XX", "cook", "Tomas Ek signs as 'TE'"),
        ("Tove Eng", "T1", "cook", "no initials"),
        ("Tove Eng", "TOVEE", "cook", "no initials"),
        ("Tove Eng", "TO", "chef", "use one of cook, manager, viewer"),
        ("  ", "TO", "cook", "person's name"),
    ],
)
def test_nobody_can_be_taken_for_another(store: Store, name: str, initials: str, role: str, words: str) -> None:
    """What would make two people look the same in the record is refused."""
    _two(store)
    with pytest.raises((ConfigError, NameTakenError), match=words), store.write() as session:
        add_person(session, name, initials, role, now_ms=NOW, by=BY)


def test_whoever_left_signs_no_more_and_keeps_the_name(store: Store) -> None:
    """Initials are free again; the name is not, for the record holds it."""
    _two(store)
    with store.write() as session:
        keep_pin(session, person_named(session, "TE"), "kept", now_ms=NOW, by=BY)
        end_person(session, person_named(session, "TE"), now_ms=NOW + 1, by=BY)
    with store.write() as session:
        assert [each.name for each in people(session)] == ["Ines Okafor"]
        gone = next(each for each in people(session, ended=True) if each.name == "Tomas Ek")
        assert (gone.ended_ms, gone.pin_hash) == (NOW + 1, "")
        add_person(session, "Tove Eng", "TE", "cook", now_ms=NOW + 2, by=BY)
        with pytest.raises(NameTakenError, match="who has left"):
            add_person(session, "Tomas Ek", "TK", "cook", now_ms=NOW + 2, by=BY)


def test_the_last_manager_stays(store: Store) -> None:
    """Without a manager nobody could verify, or name one."""
    _two(store)
    for act in (
        lambda s, p: end_person(s, p, now_ms=NOW, by=BY),
        lambda s, p: change_role(s, p, "cook", now_ms=NOW, by=BY),
    ):
        with pytest.raises(ConfigError, match="only manager"), store.write() as session:
            act(session, person_named(session, "IO"))
    with store.write() as session:
        change_role(session, person_named(session, "TE"), "manager", now_ms=NOW, by=BY)
        change_role(session, person_named(session, "IO"), "viewer", now_ms=NOW, by=BY)
        assert [each.name for each in managers(session)] == ["Tomas Ek"]


def test_every_change_is_in_the_record_and_no_pin_is(store: Store) -> None:
    """What was done, by whom; a hash is a secret."""
    _two(store)
    with store.write() as session:
        person = person_named(session, "TE")
        keep_pin(session, person, "secret hash", now_ms=NOW, by=BY)
        keep_pin(session, person, "secret hash 2", now_ms=NOW, by=BY)
        change_role(session, person, "cook", now_ms=NOW, by=BY)  # as before: nothing to tell
        change_role(session, person, "viewer", now_ms=NOW, by=BY)
        found = [(each.kind, each.text) for each in events(session)]
    assert found == [
        ("person-added", "Ines Okafor (IO), manager"),
        ("person-added", "Tomas Ek (TE), cook"),
        ("person-changed", "Tomas Ek has a PIN"),
        ("person-changed", "Tomas Ek has a new PIN"),
        ("person-changed", "Tomas Ek is viewer from now on; was cook"),
    ]
