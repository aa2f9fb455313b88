"""The page of a finding: what can be done with it, and who did."""

import pytest
from streamlit.testing.v1 import AppTest

from dashboards import signedin
from holdwatch.people.pins import hash_pin
from holdwatch.storage.findings import change_finding, finding_numbered, findings
from holdwatch.storage.handling import acts_of, handling
from holdwatch.storage.people import add_person, keep_pin
from holdwatch.storage.tables import FindingKind
from tests.dashboards.conftest import Opener, empty, kitchen_screen, morning, press, shown
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning"]


@pytest.fixture
def missed(morning: Morning) -> int:
    """The number of a deviation; a cook with the PIN 2739 and a manager with 8046 work here."""
    kept = {"2739": hash_pin("2739"), "8046": hash_pin("8046")}
    with morning.store.write() as session:
        finding = next(f for f in findings(session, open_only=True) if f.batch_id == morning.slow)
        change_finding(session, finding, kind=FindingKind.DEVIATION, verdict="missed", now_ms=NOW)
        for name, initials, role, pin in (
            ("Tomas Ek", "TE", "cook", "2739"),
            ("Ines Okafor", "IO", "manager", "8046"),
        ):
            person = add_person(session, name, initials, role, now_ms=NOW, by=BY)
            keep_pin(session, person, kept[pin], now_ms=NOW, by=BY)
        return finding.id or 0


def _fill(at: AppTest, key: str, who: str, pin: str, food: str | None = None, text: str = "") -> None:
    """Fill in the form as a person does."""
    if food is not None:
        at.radio(key=f"{key}-food").set_value(food)
    if text:
        (at.text_input if key.endswith("ways") else at.text_area)(key=f"{key}-text").input(text)
    at.selectbox(key=f"{key}-who").set_value(who)
    at.text_input(key=f"{key}-pin").input(pin)


def _stage(morning: Morning, missed: int) -> str:
    with morning.store.read() as session:
        return handling(session, finding_numbered(session, missed)).stage.value


def test_a_cook_decides_and_a_manager_verifies(morning: Morning, missed: int, open_page: Opener) -> None:
    """Signed entries with initials; the second form offers what is left to do."""
    at = open_page("findings", finding=str(missed))
    assert "Unseen" in shown(at)
    assert at.selectbox(key=f"f{missed}-who").options == ["Ines Okafor", "Tomas Ek"]
    _fill(at, f"f{missed}", "Tomas Ek", "2739", "discard", "all of it")
    press(at, "Record it")
    assert "Recorded: discard: all of it, by Tomas Ek. The finding is handled." in shown(at)
    assert "Tomas Ek (TE)" in shown(at)
    _fill(at, f"f{missed}-ways", "Ines Okafor", "8046")
    press(at, "Verify")
    assert "Verified by Ines Okafor" in shown(at)
    assert _stage(morning, missed) == "verified"


def test_an_entry_is_corrected_and_stays_readable(morning: Morning, missed: int, open_page: Opener) -> None:
    """With the PIN, also where it is a discard; the finding stands as the correction says."""
    at = open_page("findings", finding=str(missed))
    _fill(at, f"f{missed}", "Tomas Ek", "2739", "re-chill", "ice bath")
    press(at, "Record it")
    with morning.store.read() as session:
        (wrong,) = acts_of(session, [missed])[missed]
    key = f"f{missed}-1"
    at.selectbox(key=f"{key}-instead").set_value(wrong.id)
    _fill(at, key, "Tomas Ek", "", "discard", "it was too warm")
    press(at, "Record it")
    assert "needs Tomas Ek's PIN" in shown(at).replace("&#x27;", "'")
    _fill(at, key, "Tomas Ek", "2739", "discard", "it was too warm")
    press(at, "Record it")
    assert "corrected below" in shown(at)
    with morning.store.read() as session:
        assert [each.replaces_id for each in acts_of(session, [missed])[missed]] == [None, wrong.id]
        assert handling(session, finding_numbered(session, missed)).disposition == "discard"


def test_the_one_who_decided_does_not_verify(morning: Morning, missed: int, open_page: Opener) -> None:
    """The page says who may."""
    at = open_page("findings", finding=str(missed))
    _fill(at, f"f{missed}", "Ines Okafor", "8046", "keep", "hand reading 39 °F at 11:30")
    press(at, "Record it")
    _fill(at, f"f{missed}-ways", "Ines Okafor", "8046")
    press(at, "Verify")
    assert "somebody else verifies" in shown(at)
    assert _stage(morning, missed) == "handled"


@pytest.mark.parametrize(
    ("who", "pin", "food", "text", "words"),
    [
        ("Tomas Ek", "2738", "discard", "", "not the PIN of Tomas Ek"),
        ("Tomas Ek", "8046", "discard", "", "not the PIN of Tomas Ek"),  # somebody else's
        ("Tomas Ek", "", "re-chill", "", "thrown away, or set apart, without one"),
        ("Tomas Ek", "2739", "keep", "smells fine", "may not do this"),
        ("Ines Okafor", "8046", "keep", "", "kept for a reason"),
        ("Ines Okafor", "", "keep", "a reason", "without one"),
        ("Tomas Ek", "2739", None, "", "Say what becomes of the food"),
    ],
)
def test_what_is_refused_is_said_and_recorded_nowhere(
    morning: Morning, missed: int, open_page: Opener, who: str, pin: str, food: str | None, text: str, words: str
) -> None:
    """And what was typed stays."""
    at = open_page("findings", finding=str(missed))
    _fill(at, f"f{missed}", who, pin, food, text)
    press(at, "Record it")
    assert words in shown(at)
    assert at.text_area(key=f"f{missed}-text").value == text
    with morning.store.read() as session:
        assert acts_of(session, [missed]) == {}


def test_a_forgotten_pin_stops_no_discard(morning: Morning, missed: int, open_page: Opener) -> None:
    """It is taken unsigned, and says that it waits for a signature."""
    at = open_page("findings", finding=str(missed))
    _fill(at, f"f{missed}", "Tomas Ek", "", "discard")
    press(at, "Record it")
    assert "1 to be signed" in shown(at)
    assert "Tomas Ek, to be signed" in shown(at)
    assert _stage(morning, missed) == "handled"


def test_a_promised_check_is_shown_and_asked_for(morning: Morning, missed: int, open_page: Opener) -> None:
    """An action with a check is not the end of it."""
    at = open_page("findings", finding=str(missed))
    at.selectbox(key=f"f{missed}-check").set_value("Look again in 20 min")
    _fill(at, f"f{missed}", "Tomas Ek", "2739", "re-chill", "two pans, ice bath")
    press(at, "Record it")
    assert "look again at 12:02" in shown(at)
    assert _stage(morning, missed) == "check promised"
    _fill(at, f"f{missed}-ways", "Tomas Ek", "2739")
    press(at, "It has not worked")
    assert _stage(morning, missed) == "seen"


def test_before_anybody_is_entered_no_pin_is_asked(morning: Morning, open_page: Opener) -> None:
    """A kitchen that has just begun records by name alone."""
    with morning.store.read() as session:
        number = next(f for f in findings(session, open_only=True) if f.batch_id == morning.slow).id or 0
    at = open_page("findings", finding=str(number))
    assert [field.label for field in at.text_input if field.label == "PIN"] == []
    at.radio(key=f"f{number}-food").set_value("re-chill")
    at.selectbox(key=f"f{number}-who").set_value(BY)
    press(at, "Record it")
    assert f"by {BY}. The finding is handled." in shown(at)


def test_whoever_has_signed_in_is_proposed(missed: int, open_page: Opener, monkeypatch: pytest.MonkeyPatch) -> None:
    """One touch less; with several on shift they stand first, and one is chosen."""
    at = open_page("findings", finding=str(missed))
    assert at.selectbox(key=f"f{missed}-who").value is None
    monkeypatch.setattr(signedin, "here", lambda: kitchen_screen("Tomas Ek"))
    at = open_page("findings", finding=str(missed))
    assert at.selectbox(key=f"f{missed}-who").value == "Tomas Ek"
    assert at.selectbox(key=f"f{missed}-who").options == ["Tomas Ek", "Ines Okafor"]
