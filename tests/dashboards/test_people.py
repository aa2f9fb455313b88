"""Who works here, on the Set-up page."""

import pytest
from streamlit.testing.v1 import AppTest

from dashboards import signedin
from holdwatch.people.pins import hash_pin, is_pin
from holdwatch.people.roles import Right
from holdwatch.storage.people import add_person, keep_pin, people, person_named
from holdwatch.storage.refusals import keep_refusal
from holdwatch.storage.signing import check_pin
from tests.dashboards.conftest import Opener, empty, kitchen_screen, morning, press, shown
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning"]


def _enter(at: AppTest, key: str, name: str, initials: str, new: str, again: str = "") -> None:
    at.text_input(key=f"{key}-name").input(name)
    at.text_input(key=f"{key}-initials").input(initials)
    at.text_input(key=f"{key}-new").input(new)
    at.text_input(key=f"{key}-again").input(again or new)


def _sign(at: AppTest, key: str, who: str, pin: str) -> None:
    at.selectbox(key=f"{key}-who").set_value(who)
    at.text_input(key=f"{key}-pin").input(pin)


def _here(morning: Morning) -> list[tuple[str, str, str]]:
    with morning.store.read() as session:
        return [(each.name, each.initials, each.role) for each in people(session)]


@pytest.fixture
def manager(morning: Morning) -> None:
    """A manager with the PIN 8046, and a cook with 2739."""
    kept = {"8046": hash_pin("8046"), "2739": hash_pin("2739")}
    with morning.store.write() as session:
        for name, initials, role, pin in (("Ines Okafor", "IO", "manager", "8046"), ("Tomas Ek", "TE", "cook", "2739")):
            keep_pin(
                session, add_person(session, name, initials, role, now_ms=NOW, by=BY), kept[pin], now_ms=NOW, by=BY
            )


def test_a_first_start_makes_the_first_manager(morning: Morning, open_page: Opener) -> None:
    """With a PIN of their own choice; there is none to begin with."""
    at = open_page("setup")
    assert "Nobody has been entered yet" in shown(at)
    _enter(at, "enter", "Ines Okafor", "io", "1234")
    press(at, "Enter")
    assert "tried first" in shown(at)
    _enter(at, "enter", "Ines Okafor", "io", "8046", "8047")
    press(at, "Enter")
    assert "not the same" in shown(at)
    assert _here(morning) == []
    _enter(at, "enter", "Ines Okafor", "io", "8046")
    press(at, "Enter")
    assert "Ines Okafor is entered, and signs as IO." in shown(at)
    assert _here(morning) == [("Ines Okafor", "IO", "manager")]


@pytest.mark.usefixtures("manager")
@pytest.mark.parametrize(
    ("who", "pin", "words"),
    [
        ("Tomas Ek", "2739", "may not do this"),
        ("Ines Okafor", "2739", "not the PIN"),
        ("Ines Okafor", "", "with your PIN"),
    ],
)
def test_only_a_manager_enters_somebody(morning: Morning, open_page: Opener, who: str, pin: str, words: str) -> None:
    """Nothing is entered without the PIN of one."""
    at = open_page("setup")
    _enter(at, "enter", "Bo Lind", "BL", "5128")
    _sign(at, "enter", who, pin)
    press(at, "Enter")
    assert words in shown(at)
    assert len(_here(morning)) == 2


@pytest.mark.usefixtures("manager")
def test_a_manager_enters_changes_and_ends(morning: Morning, open_page: Opener) -> None:
    """And is kept as the last one."""
    at = open_page("setup")
    _enter(at, "enter", "Bo Lind", "BL", "5128")
    _sign(at, "enter", "Ines Okafor", "8046")
    press(at, "Enter")
    assert ("Bo Lind", "BL", "cook") in _here(morning)
    at.selectbox(key="change-name").set_value("Bo Lind")
    at.selectbox(key="change-role").set_value("works here no more")
    _sign(at, "change", "Ines Okafor", "8046")
    press(at, "Change it")
    assert ("Bo Lind", "BL", "cook") not in _here(morning)
    at.selectbox(key="change-1-name").set_value("Ines Okafor")
    at.selectbox(key="change-1-role").set_value("cook")
    _sign(at, "change-1", "Ines Okafor", "8046")
    press(at, "Change it")
    assert "name another one first" in shown(at)


@pytest.mark.usefixtures("manager")
@pytest.mark.parametrize(
    ("whose", "who", "pin", "taken"),
    [
        ("Tomas Ek", "Tomas Ek", "2739", True),
        ("Tomas Ek", "Ines Okafor", "8046", True),
        ("Ines Okafor", "Tomas Ek", "2739", False),
        ("Tomas Ek", "Tomas Ek", "8046", False),
    ],
)
def test_a_new_pin_is_ones_own_or_a_managers(
    morning: Morning, open_page: Opener, whose: str, who: str, pin: str, taken: bool
) -> None:
    """Nobody sets another's."""
    at = open_page("setup")
    at.selectbox(key="new-pin-name").set_value(whose)
    at.text_input(key="new-pin-new").input("5128")
    at.text_input(key="new-pin-again").input("5128")
    _sign(at, "new-pin", who, pin)
    press(at, "Set the PIN")
    with morning.store.read() as session:
        assert is_pin(person_named(session, whose).pin_hash, "5128") == taken


@pytest.mark.usefixtures("manager")
@pytest.mark.parametrize(("who", "seen"), [("Ines Okafor", True), ("Tomas Ek", False)])
def test_refused_tries_are_for_managers(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch, who: str, seen: bool
) -> None:
    """Those with a PIN and those without, with how often, who and why."""
    keep_refusal(morning.store, who="Bo <Lind>", what="note", place="screen", why="is not on shift", now_ms=NOW)
    with morning.store.read() as session:
        cook = person_named(session, "Tomas Ek")
    for _ in range(2):
        check_pin(morning.store, cook.id or 0, "2739", Right.KEEP, place="phone", now_ms=NOW)
    monkeypatch.setattr(signedin, "here", lambda: kitchen_screen(who))
    said = shown(open_page("setup"))
    assert ("Bo &lt;Lind&gt;" in said) == seen
    assert ("keep, phone, 2 times" in said) == seen
