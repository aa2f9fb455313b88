"""What people did about a finding, in the store."""

import subprocess
import sys

import pytest
from sqlmodel import select

from holdwatch.errors import ConfigError
from holdwatch.people.handling import Act, Disposition, Handling, Stage
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import change_finding, close_finding, finding_by_key, open_finding
from holdwatch.storage.handling import Signer, acts_of, handling, needs_somebody, record_act
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import add_person, person_named
from holdwatch.storage.people_tables import Signature
from holdwatch.storage.register import events, note, start_batch
from holdwatch.storage.tables import Event, EventKind, FindingKind
from holdwatch.storage.unsettled import for_the_page
from tests.storage.kitchen import BY, NOW

MINUTE = 60_000
KEY = "batch:1:1 3-501.14(A)(1)"


@pytest.fixture
def kitchen(store: Store) -> Store:
    """A deviation, a cook and two managers."""
    with store.write() as session:
        open_finding(
            session,
            key=KEY,
            kind=FindingKind.DEVIATION,
            subject="batch:1:1",
            title="Pastry cream L1",
            reason="too late",
            since_ms=NOW,
            now_ms=NOW,
        )
        add_person(session, "Tomas Ek", "TE", "cook", now_ms=NOW, by=BY)
        add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by=BY)
        add_person(session, "Ana Ruiz", "AR", "manager", now_ms=NOW, by=BY)
        add_person(session, "Dr Falk", "DF", "viewer", now_ms=NOW, by=BY)
    return store


def _do(
    store: Store,
    act: Act,
    who: str,
    after_min: int,
    disposition: Disposition | None = None,
    text: str = "",
    *,
    signed: bool = True,
    known: bool = True,
    check_min: int | None = None,
    replaces_id: int | None = None,
) -> int:
    at_ms = NOW + after_min * MINUTE
    with store.write() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        person = person_named(session, who) if known else None
        signer = Signer(person.name if person else who, person, signed=signed)
        event = record_act(
            session,
            finding,
            act,
            signer,
            at_ms=at_ms,
            now_ms=at_ms,
            disposition=disposition,
            text=text,
            check_ms=None if check_min is None else NOW + check_min * MINUTE,
            replaces_id=replaces_id,
        )
        return id_of(event)


def _now(store: Store) -> Handling:
    with store.read() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        return handling(session, finding)


def test_from_seen_to_verified(kitchen: Store) -> None:
    """Cook sees and decides, a manager verifies; each entry is signed with name, initials and instant."""
    _do(kitchen, Act.SEEN, "TE", 1)
    _do(kitchen, Act.ACTION, "TE", 2, Disposition.DISCARD, "down the drain")
    assert _now(kitchen).stage is Stage.HANDLED
    _do(kitchen, Act.VERIFIED, "IO", 60)
    now = _now(kitchen)
    assert (now.stage, now.seen_by, now.handled_by, now.verified_by) == (
        Stage.VERIFIED,
        "Tomas Ek",
        ("Tomas Ek",),
        "Ines Okafor",
    )
    with kitchen.read() as session:
        assert [event.kind for event in events(session) if event.finding_id] == ["seen", "action", "verified"]
        found = {each.initials for each in session.exec(select(Signature))}
    assert found == {"TE", "IO"}


@pytest.mark.parametrize(
    ("act", "who", "disposition", "text", "signed", "words"),
    [
        (Act.ACTION, "TE", None, "", True, "say what becomes of the food"),
        (Act.ACTION, "TE", Disposition.KEEP, "it is fine", True, "a manager does this"),
        (Act.ACTION, "IO", Disposition.KEEP, "", True, "for a reason"),
        (Act.ACTION, "IO", Disposition.KEEP, "hand reading 39F", False, "manager's PIN"),
        (Act.MISTAKEN, "TE", None, "", True, "the probe lay on the bench"),
        (Act.SEEN, "DF", None, "", True, "a manager does this"),
        (Act.VERIFIED, "IO", None, "", True, "nobody has recorded what was done"),
        (Act.PROMISE, "TE", Disposition.RE_CHILL, "", True, "when the check is due"),
    ],
)
def test_what_is_refused_leaves_no_entry(
    kitchen: Store, act: Act, who: str, disposition: Disposition | None, text: str, signed: bool, words: str
) -> None:
    """A refusal says what is missing."""
    with pytest.raises(ConfigError, match=words):
        _do(kitchen, act, who, 1, disposition, text, signed=signed)
    with kitchen.read() as session:
        assert [event for event in events(session) if event.finding_id] == []
    assert _now(kitchen) == Handling()


def test_keep_after_a_deviation_is_a_managers(kitchen: Store) -> None:
    """With a reason and a PIN; somebody else verifies it."""
    _do(kitchen, Act.ACTION, "IO", 1, Disposition.KEEP, "the probe had slipped out; hand reading 39 °F at 10:02")
    with pytest.raises(ConfigError, match="somebody else verifies"):
        _do(kitchen, Act.VERIFIED, "IO", 2)
    _do(kitchen, Act.VERIFIED, "AR", 3)
    assert _now(kitchen).stage is Stage.VERIFIED


def test_keep_before_any_limit_is_missed_is_a_cooks(kitchen: Store) -> None:
    """A warning that was answered in time breaks nothing."""
    with kitchen.write() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        change_finding(session, finding, kind=FindingKind.SOON, now_ms=NOW)
    _do(kitchen, Act.ACTION, "TE", 1, Disposition.KEEP, "moved to the ice bath")
    assert _now(kitchen).stage is Stage.HANDLED


def test_a_discard_without_a_pin_is_taken_unsigned(kitchen: Store) -> None:
    """A forgotten PIN stops nobody from throwing away; the entry says who was said to do it."""
    _do(kitchen, Act.ACTION, "the night baker", 1, Disposition.DISCARD, signed=False, known=False)
    now = _now(kitchen)
    assert (now.stage, now.unsigned, now.handled_by) == (Stage.HANDLED, 1, ("the night baker",))


def test_the_watch_opens_it_again_when_it_gets_worse(kitchen: Store) -> None:
    """A change of wording does not; a graver kind, or a new beginning, does."""
    with kitchen.write() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        change_finding(session, finding, kind=FindingKind.SOON, now_ms=NOW)
    _do(kitchen, Act.ACTION, "TE", 1, Disposition.RE_CHILL)

    def change(after_min: int, **changes: object) -> Stage:
        with kitchen.write() as session:
            finding = finding_by_key(session, KEY)
            assert finding is not None
            if "close" in changes:
                close_finding(session, finding, reason="kept again", now_ms=NOW + after_min * MINUTE)
            else:
                change_finding(session, finding, now_ms=NOW + after_min * MINUTE, **changes)  # type: ignore[arg-type]
        return _now(kitchen).stage

    assert change(2, reason="worded otherwise") is Stage.HANDLED
    assert change(3, kind=FindingKind.DEVIATION) is Stage.UNSEEN
    _do(kitchen, Act.ACTION, "TE", 4, Disposition.DISCARD)
    assert change(5, close=True) is Stage.HANDLED
    assert change(6, reason="once more", reopen=True) is Stage.UNSEEN


def test_a_correction_keeps_what_was_said_and_asks_for_verifying_again(kitchen: Store) -> None:
    """The entry of before stays readable; whoever wrote either does not verify."""
    first = _do(kitchen, Act.ACTION, "TE", 1, Disposition.DISCARD, "all of it")
    _do(kitchen, Act.VERIFIED, "IO", 2)
    second = _do(kitchen, Act.HOLD, "AR", 3, text="two pans were kept apart", replaces_id=first)
    now = _now(kitchen)
    assert (now.stage, now.verified_by, now.handled_by) == (Stage.HELD, "", ("Tomas Ek", "Ana Ruiz"))
    third = _do(kitchen, Act.ACTION, "AR", 4, Disposition.DISCARD, "all three pans", replaces_id=second)
    now = _now(kitchen)
    assert (now.stage, now.disposition) == (Stage.HANDLED, Disposition.DISCARD)
    with kitchen.read() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        (entries,) = acts_of(session, [id_of(finding)]).values()
        assert [(id_of(each), each.text) for each in entries if each.kind == "action"] == [
            (first, "all of it"),
            (second, "two pans were kept apart"),
            (third, "all three pans"),
        ]
    with pytest.raises(ConfigError, match="corrected already"):
        _do(kitchen, Act.ACTION, "TE", 5, Disposition.DISCARD, replaces_id=first)
    with pytest.raises(ConfigError, match="no entry 99"):
        _do(kitchen, Act.ACTION, "TE", 5, Disposition.DISCARD, replaces_id=99)
    with pytest.raises(ConfigError, match="cannot be corrected"):
        _do(kitchen, Act.MISTAKEN, "TE", 5, text="no", replaces_id=third)


def test_a_warning_that_passed_asks_for_nobody(kitchen: Store) -> None:
    """A deviation does, also when it is over."""
    with kitchen.write() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        assert needs_somebody(finding, Handling())
        close_finding(session, finding, reason="kept again", now_ms=NOW)
        assert needs_somebody(finding, Handling())
        assert not needs_somebody(finding, Handling(Stage.HANDLED))
        finding.kind = FindingKind.SOON.value
        assert not needs_somebody(finding, Handling())
        session.rollback()


@pytest.mark.parametrize(
    ("kind", "verdict", "wants"),
    [
        (FindingKind.NOT_SHOWN, Verdict.MET, False),
        (FindingKind.NOT_SHOWN, Verdict.UNPROVEN, True),
        (FindingKind.NOT_SHOWN, "", True),  # a probe that was silent: what it did not show stays not shown
        (FindingKind.DEVIATION, Verdict.MET, True),  # somebody was told to keep the food apart
    ],
)
def test_what_a_later_reading_shows_kept_asks_for_nobody(
    kitchen: Store, kind: FindingKind, verdict: str, *, wants: bool
) -> None:
    """Once it is over, and only where the record shows it kept after all."""
    with kitchen.write() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        change_finding(session, finding, now_ms=NOW, kind=kind, verdict=verdict)
        assert needs_somebody(finding, Handling())
        close_finding(session, finding, reason="it is shown now", now_ms=NOW)
        assert needs_somebody(finding, Handling()) is wants
        assert [each.id for each in for_the_page(session, 0)] == [finding.id] * wants
        session.rollback()


def test_an_action_noted_of_the_batch_speaks_for_what_was_missed_before_it(store: Store) -> None:
    """Once the limit was missed; what was done while there was still time is no answer to a deviation."""
    with store.write() as session:
        batch = start_batch(session, product="Pastry cream", lot="L1", at_ms=NOW, now_ms=NOW, by=BY)
        finding = open_finding(
            session,
            key=KEY,
            kind=FindingKind.DEVIATION,
            subject="batch:1:1",
            title="Pastry cream L1",
            reason="too late",
            since_ms=NOW,
            now_ms=NOW + 121 * MINUTE,
            batch_id=batch.id,
            facts={"due_ms": NOW + 120 * MINUTE},
        )
        stages = []
        for after_min in (119, 125):
            at_ms = NOW + after_min * MINUTE
            note(session, batch, EventKind.ACTION, at_ms=at_ms, now_ms=at_ms, by="Tomas Ek", text="thrown away")
            stages.append(handling(session, finding).stage)
    assert stages == [Stage.UNSEEN, Stage.HANDLED]


def test_while_nobody_is_entered_as_a_person_entries_are_taken_unsigned(store: Store) -> None:
    """A kitchen that has just begun is not locked out."""
    with store.write() as session:
        finding = open_finding(
            session,
            key=KEY,
            kind=FindingKind.DEVIATION,
            subject="batch:1:1",
            title="Pastry cream L1",
            reason="too late",
            since_ms=NOW,
            now_ms=NOW,
        )
        said = Signer("console user root")
        record_act(
            session, finding, Act.ACTION, said, at_ms=NOW, now_ms=NOW, disposition=Disposition.KEEP, text="a reason"
        )
        assert handling(session, finding).unsigned == 1
        assert session.get_one(Event, 1).facts == {"act": "action", "disposition": "keep"}


def test_two_processes_verify_at_one_instant_and_one_of_them_is_told(kitchen: Store) -> None:
    """On either database: the second reads what the first has written, and is refused by the table."""
    _do(kitchen, Act.ACTION, "TE", 2, Disposition.DISCARD)
    command = [sys.executable, "-m", "tests.storage.verifier", kitchen.url, KEY]
    started = [
        subprocess.Popen([*command, who], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        for who in ("IO", "AR")
    ]
    for process in started:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    for process in started:
        assert process.stdin is not None
        process.stdin.write("now\n")
        process.stdin.flush()
    said = sorted(process.communicate(timeout=60)[0].strip() for process in started)
    assert said == ["it has been verified already", "recorded"]
    with kitchen.read() as session:
        finding = finding_by_key(session, KEY)
        assert finding is not None
        acts = acts_of(session, [id_of(finding)])[id_of(finding)]
    assert [event.kind for event in acts] == ["action", "verified"]
    assert _now(kitchen).verified_by in {"Ines Okafor", "Ana Ruiz"}
