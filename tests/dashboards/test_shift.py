"""Who may be entered on a screen: the shift, one touch, and the server's own check behind both."""

from typing import Any

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from dashboards import data, shift_data, signedin
from dashboards.signedin import SignedIn
from holdwatch.errors import RefusedError
from holdwatch.people.handling import Act, Disposition
from holdwatch.people.pins import hash_pin
from holdwatch.people.roles import PersonRole
from holdwatch.storage.alone import declare_alone, end_alone, lone_spans
from holdwatch.storage.batching import note
from holdwatch.storage.events import events
from holdwatch.storage.people import add_person, keep_pin, person_named
from holdwatch.storage.refusals import refusals
from holdwatch.storage.shifts import IDLE_LASTS_MS
from holdwatch.storage.signing import tries
from holdwatch.storage.tables import Batch, EventKind
from tests.dashboards.conftest import Opener, empty, kitchen_screen, morning, on_shift, open_page, press, shown
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning", "open_page"]


@pytest.fixture(scope="module")
def kept() -> dict[str, str]:
    """PINs as they are kept; hashing is slow on purpose."""
    return {pin: hash_pin(pin) for pin in ("8046", "2739", "5128", "6174")}


@pytest.fixture
def people(morning: Morning, kept: dict[str, str]) -> None:
    """A manager, two cooks and a viewer."""
    with morning.store.write() as session:
        for name, initials, role, pin in (
            ("Ines Okafor", "IO", "manager", "8046"),
            ("Tomas Ek", "TE", "cook", "2739"),
            ("Bo Lind", "BL", "cook", "5128"),
            ("Dr Falk", "DF", "viewer", "6174"),
        ):
            person = add_person(session, name, initials, role, now_ms=NOW, by=BY)
            keep_pin(session, person, kept[pin], now_ms=NOW, by=BY)


def _own(name: str, role: PersonRole) -> SignedIn:
    """Return a person's own browser."""
    return SignedIn(name, role, on_shift=on_shift(name))


def _entered(morning: Morning) -> list[tuple[str, str]]:
    with morning.store.read() as session:
        return [(each.kind, each.by) for each in events(session, batch_id=morning.slow, kinds=[EventKind.NOTE])]


def _refused(morning: Morning) -> list[tuple[str, str]]:
    with morning.store.read() as session:
        return [(each.who, each.what) for each in refusals(session)]


def _pick(at: AppTest, key: str, name: str) -> None:
    at.button_group(key=key).set_value(name)


@pytest.mark.usefixtures("people")
def test_one_touch_chooses_who_of_those_on_shift(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody is proposed where it could be another; the entry carries name and initials."""
    monkeypatch.setattr(signedin, "here", lambda: kitchen_screen("Tomas Ek", "Bo Lind"))
    at, key = open_page("batches", batch=str(morning.slow)), f"b{morning.slow}-note"
    assert at.button_group(key=f"{key}-who").options == ["TE · Tomas Ek", "BL · Bo Lind"]
    at.text_area(key=f"{key}-text").input("moved to the lower shelf")
    press(at, "Record the note")
    assert "say who you are" in shown(at)
    assert _entered(morning) == []
    _pick(at, f"{key}-who", "Bo Lind")
    press(at, "Record the note")
    assert _entered(morning) == [("note", "Bo Lind")]
    assert "Bo Lind, BL" in shown(at)
    assert at.button_group(key=f"{key}-1-who").value is None  # the next entry asks again


@pytest.mark.usefixtures("people")
def test_who_is_alone_on_shift_is_not_asked(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And where nobody is, the page says what to do."""
    monkeypatch.setattr(signedin, "here", lambda: kitchen_screen("Tomas Ek"))
    at, key = open_page("batches", batch=str(morning.slow)), f"b{morning.slow}-note"
    at.text_area(key=f"{key}-text").input("moved")
    press(at, "Record the note")
    assert _entered(morning) == [("note", "Tomas Ek")]
    monkeypatch.setattr(signedin, "here", kitchen_screen)
    at = open_page("batches", batch=str(morning.slow))
    assert "Nobody is on shift at this screen" in shown(at)


@pytest.mark.usefixtures("people", "open_page")
@pytest.mark.parametrize(
    ("screen", "by", "taken"),
    [
        ("kitchen", "Tomas Ek", True),
        ("kitchen", "Bo Lind", False),  # works here, and is not on shift at this screen
        ("kitchen", "Somebody", False),
        ("kitchen", "", False),
        ("kitchen", "Dr Falk", False),
        ("own", "Ines Okafor", True),
        ("own", "Tomas Ek", False),
        ("viewer", "Dr Falk", False),
        ("viewer", "Tomas Ek", False),
        ("gone", "Tomas Ek", False),
    ],
)
def test_the_server_takes_no_other_name(
    morning: Morning, monkeypatch: pytest.MonkeyPatch, screen: str, by: str, taken: bool
) -> None:
    """Whatever the page offers: the check stands before the store, and the try is kept."""
    signed: dict[str, Any] = {
        "kitchen": lambda: kitchen_screen("Tomas Ek", "Ines Okafor"),
        "own": lambda: _own("Ines Okafor", PersonRole.MANAGER),
        "viewer": lambda: _own("Dr Falk", PersonRole.VIEWER),
        "gone": lambda: None,
    }
    monkeypatch.setattr(signedin, "here", signed[screen])
    with morning.store.read() as session:
        lot = session.get_one(Batch, morning.slow).lot
    done = data.note(lot, EventKind.NOTE, by=by, at_ms=NOW, text="x")
    assert bool(done) == taken
    assert _entered(morning) == ([("note", by)] if taken else [])
    assert len(_refused(morning)) == (0 if taken else 1)


@pytest.mark.usefixtures("people", "open_page")
def test_a_discard_without_a_pin_is_taken_and_nothing_else(morning: Morning, monkeypatch: pytest.MonkeyPatch) -> None:
    """On the kitchen's screen by whoever says so, to be signed; in another's name on nobody's own browser."""
    number = next(f.id for f in data.findings(newest=10) if f.batch_id == morning.slow)
    monkeypatch.setattr(signedin, "here", lambda: kitchen_screen("Tomas Ek"))

    def act(act: Act, by: str, food: Disposition | None = None) -> bool:
        return data.record_act(number, act, by=by, pin="", may_be_unsigned=True, disposition=food) is not None

    assert not act(Act.SEEN, "Bo Lind")
    assert act(Act.SEEN, "Tomas Ek")
    assert act(Act.ACTION, "Bo Lind", Disposition.DISCARD)
    monkeypatch.setattr(signedin, "here", lambda: _own("Tomas Ek", PersonRole.COOK))
    assert not act(Act.ACTION, "Bo Lind", Disposition.DISCARD)
    assert _refused(morning) == [("Bo Lind", "recorded act"), ("Tomas Ek as Bo Lind", "recorded act")]


@pytest.mark.usefixtures("people", "open_page")
def test_signing_in_begins_and_ends_on_the_server(morning: Morning, monkeypatch: pytest.MonkeyPatch) -> None:
    """A cookie names a screen; the store says whether it holds: idle, left, signed out."""
    monkeypatch.undo()
    monkeypatch.setenv("HOLDWATCH_DATA", str(morning.store.data_dir))
    now = [NOW]
    monkeypatch.setattr(data, "now_ms", lambda: now[0])
    st.cache_resource.clear()
    signedin.forget()
    own = signedin.sign_in("Tomas Ek", "2739", kitchen=False)
    tablet = signedin.sign_in("Ines Okafor", "8046", kitchen=True)
    with pytest.raises(RefusedError, match="by a manager"):
        signedin.sign_in("Tomas Ek", "2739", kitchen=True)
    assert _refused(morning) == [("Tomas Ek", "sign in")]
    signed = signedin.who(own)
    assert signed is not None
    assert (signed.name, signed.role, signed.kitchen) == ("Tomas Ek", PersonRole.COOK, False)
    now[0] += IDLE_LASTS_MS - 1
    signedin.touch(signedin.who(own))
    now[0] += IDLE_LASTS_MS - 1
    assert signedin.who(own) is not None
    now[0] += 1
    assert signedin.who(own) is None
    kitchen = signedin.who(tablet)
    assert kitchen is not None
    assert kitchen.kitchen
    assert kitchen.on_shift == ()
    signedin.sign_out(tablet)
    assert signedin.who(tablet) is None


@pytest.mark.usefixtures("people")
def test_a_shift_is_begun_with_a_pin_on_the_page(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wrong one begins none; a name is one touch, and leaving as well."""
    with morning.store.write() as session:
        signedin.open_screen(session, person_named(session, "IO"), kitchen=True, now_ms=NOW)

    def screen() -> SignedIn:
        with morning.store.read() as session:
            found = signedin.open_screens(session)[1]
        return SignedIn("", PersonRole.COOK, kitchen=True, on_shift=found.on_shift, screen=1)

    monkeypatch.setattr(signedin, "here", screen)
    at = open_page("shift")
    assert "Nobody is on shift here." in shown(at)
    assert at.button_group(key="begin-name").options == ["Bo Lind", "Ines Okafor", "Tomas Ek"]
    _pick(at, "begin-name", "Tomas Ek")
    at.text_input(key="begin-pin").input("2738")
    press(at, "Begin my shift")
    assert "not the PIN of Tomas Ek" in shown(at)
    at.text_input(key="begin-pin").input("2739")
    press(at, "Begin my shift")
    assert "Tomas Ek is on shift here." in shown(at)
    assert shift_data.begin(by="Dr Falk", pin="6174") is None
    with morning.store.read() as session:
        assert [(each.outcome, each.act) for each in tries(session) if each.act][-1] == ("not-allowed", "record")
    press(at, "TE works alone")
    assert "Tomas Ek works alone</b> since" in shown(at)
    assert shift_data.begin(by="Bo Lind", pin="5128")  # who joins ends it
    press(at, "TE leaves")
    assert "works alone</b>" not in shown(at)
    assert "Bo Lind" in shown(at)


@pytest.mark.usefixtures("people")
def test_what_was_done_alone_is_reviewed_on_the_page(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By a manager with a PIN, and by nobody else."""
    with morning.store.write() as session:
        batch = session.get_one(Batch, morning.slow)
        declare_alone(session, person_named(session, "TE"), now_ms=NOW - 2, by="Tomas Ek")
        note(session, batch, EventKind.NOTE, at_ms=NOW - 1, now_ms=NOW - 1, by="Tomas Ek", text="moved <it>")
        end_alone(session, now_ms=NOW, by="Tomas Ek")
        number = lone_spans(session)[0].id
    monkeypatch.setattr(data, "now_ms", lambda: NOW + 1)
    monkeypatch.setattr(signedin, "here", lambda: kitchen_screen("Tomas Ek", "Bo Lind"))
    at, key = open_page("shift"), f"alone-{number}"
    assert "To be reviewed: Tomas Ek worked alone" in shown(at)
    assert "moved &lt;it&gt;" in shown(at)
    for who, pin, words in (("Bo Lind", "5128", "may not do this"), ("Ines Okafor", "8046", "Reviewed by Ines Okafor")):
        at.selectbox(key=f"{key}-who").set_value(who)
        at.text_input(key=f"{key}-pin").input(pin)
        press(at, "Reviewed")
        assert words in shown(at)


@pytest.mark.usefixtures("people")
def test_several_entries_are_signed_with_one_pin(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each person's own list; a wrong PIN signs none, and what is not ticked waits on."""
    with morning.store.write() as session:
        batch = session.get_one(Batch, morning.slow)
        for by, text in (("Tomas Ek", "one"), ("TE", "two"), ("Tomas Ek", "three"), ("Bo Lind", "four")):
            note(session, batch, EventKind.ACTION, at_ms=NOW, now_ms=NOW, by=by, text=text)
    at, key = open_page("shift"), "sign-Tomas Ek"
    next(box for box in at.checkbox if box.label.endswith("three")).uncheck()
    for pin, words in (("2738", "not the PIN of Tomas Ek"), ("2739", "2 signed by Tomas Ek.")):
        at.text_input(key=f"{key}-pin").input(pin)
        next(button for button in at.button if button.form_id == key).click().run()
        assert words in shown(at)
    assert [(each.person, each.text) for each in shift_data.to_be_signed()] == [
        ("Tomas Ek", "three"),
        ("Bo Lind", "four"),
    ]
    monkeypatch.setattr(signedin, "here", lambda: _own("Bo Lind", PersonRole.COOK))
    at = open_page("shift")
    assert [button.form_id for button in at.button if button.form_id] == ["sign-Bo Lind"]
