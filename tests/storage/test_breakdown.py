"""A walk-in that broke down: one sheet, the same acts as on the page of a finding, one finding for the unit."""

import pytest
from sqlmodel import Session

from holdwatch.alerts.breakdown import Decided, record_breakdown
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.people.handling import Disposition, Stage
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import findings, open_finding
from holdwatch.storage.handling import Signer, handling
from holdwatch.storage.outbox import alerts_of
from holdwatch.storage.people import add_person, person_named
from holdwatch.storage.register import add_unit, batch_named, events, note, start_batch, unit_named
from holdwatch.storage.signing import signatures
from holdwatch.storage.standing import standing
from holdwatch.storage.tables import Event, EventKind, Finding, FindingKind, Unit
from holdwatch.storage.unsigned import unsigned_entries
from tests.storage.kitchen import BY, NOW, open_kitchen

HOUR = 3_600_000
DISCARD, HOLD, KEEP, CHILL = Disposition.DISCARD, Disposition.HOLD, Disposition.KEEP, Disposition.RE_CHILL


@pytest.fixture
def failed(store: Store) -> Store:
    """A walk-in with forty batches in it, a second one, and a finding about the first; a cook and a manager."""
    with store.write() as session:
        unit = open_kitchen(session).walk_in
        add_unit(session, "Walk-in 2", "walk-in", now_ms=NOW, by=BY)
        for number in range(40):
            batch = start_batch(session, product="Mousse", lot=f"M{number}", at_ms=NOW - HOUR, now_ms=NOW, by=BY)
            note(session, batch, EventKind.MOVED, at_ms=NOW - HOUR, now_ms=NOW, by=BY, unit=unit)
        for name, initials, role in (("Tomas Ek", "TE", "cook"), ("Ines Okafor", "IO", "manager")):
            add_person(session, name, initials, role, now_ms=NOW - HOUR, by=BY)
        _found(session, "unit:1:1", unit_id=unit.id)
    return store


def _found(session: Session, subject: str, *, unit_id: int | None = None, batch_id: int | None = None) -> Finding:
    return open_finding(
        session,
        key=f"{subject}/3-501.16(A)(2)",
        kind=FindingKind.DEVIATION,
        subject=subject,
        title="Walk-in 1, probe w1",
        reason="above 41 °F.",
        since_ms=NOW - HOUR,
        now_ms=NOW,
        unit_id=unit_id,
        batch_id=batch_id,
    )


def _signer(session: Session, name: str, *, signed: bool = True) -> Signer:
    return Signer(name, person_named(session, name), signed=signed)


def _record(session: Session, rows: list[Decided], signer: Signer) -> str:
    return record_breakdown(session, _unit(session), rows, signer, now_ms=NOW, base_url="http://127.0.0.1:8501")


def _unit(session: Session) -> Unit:
    return unit_named(session, "Walk-in 1")


def _actions(session: Session, lot: str) -> list[Event]:
    return events(session, batch_id=batch_named(session, lot).id, kinds=[EventKind.ACTION])


def test_forty_batches_are_decided_on_one_sheet(failed: Store) -> None:
    """Reading, disposition and place of each; the unit's finding is handled once, and told once."""
    with failed.write() as session:
        add_contact(session, "Ines", "json://127.0.0.1:1", now_ms=NOW, by=BY)
        rows = [Decided(f"M{number}", DISCARD, 9.5) for number in range(30)]
        rows += [Decided(f"M{number}", CHILL, 4.0, place="Walk-in 2", text="ice") for number in range(30, 40)]
        words = _record(session, rows, _signer(session, "Tomas Ek"))
        assert words == "breakdown of Walk-in 1, 40 batches: 10 re-chill, 30 discard"
    with failed.read() as session:
        first, last = batch_named(session, "M0"), batch_named(session, "M39")
        assert (first.outcome, first.ended_ms, last.ended_ms) == ("discarded", NOW, None)
        (reading,) = events(session, batch_id=last.id, kinds=[EventKind.READING])
        assert (reading.celsius, reading.by) == (4.0, "Tomas Ek")
        assert standing(session, _unit(session), NOW) == []
        assert last.id in {each.id for each in standing(session, unit_named(session, "Walk-in 2"), NOW)}
        (finding,) = findings(session)
        now = handling(session, finding)
        assert (now.stage, now.disposition, now.handled_by) == (Stage.HANDLED, CHILL, ("Tomas Ek",))
        assert len(alerts_of(session, finding.id or 0)) <= 1
        (entry,) = _actions(session, "M39")
        assert entry.facts["disposition"] == "re-chill"
        assert entry.id in signatures(session, [entry.id or 0])


def test_what_is_undecided_leaves_the_finding_of_the_unit_open(failed: Store) -> None:
    """It is seen, and says which batches wait; food that is held for the manager holds it."""
    with failed.write() as session:
        words = _record(session, [Decided("M0", DISCARD)], _signer(session, "Tomas Ek"))
        assert "not decided yet: M1, M2" in words
        (finding,) = findings(session)
        assert handling(session, finding).stage is Stage.SEEN
        rest = [Decided(f"M{number}", HOLD) for number in range(1, 40)]
        _record(session, rest, _signer(session, "Tomas Ek"))
        assert handling(session, finding).stage is Stage.HELD


def test_a_batch_with_its_own_finding_is_handled_by_the_same_sheet(failed: Store) -> None:
    """As on the finding's page."""
    with failed.write() as session:
        own = _found(session, "batch:2:1", batch_id=batch_named(session, "M0").id)
        _record(session, [Decided("M0", DISCARD)], _signer(session, "Tomas Ek"))
        assert handling(session, own).stage is Stage.HANDLED
        assert [each.finding_id for each in _actions(session, "M0")] == [own.id]


def test_a_discard_is_taken_unsigned_and_waits_for_a_signature(failed: Store) -> None:
    """A forgotten PIN stops nothing."""
    with failed.write() as session:
        _record(session, [Decided("M0", DISCARD)], _signer(session, "Tomas Ek", signed=False))
        waiting = {event.batch_id for event in unsigned_entries(session)}
        assert batch_named(session, "M0").id in waiting


@pytest.mark.parametrize(
    ("rows", "who", "signed", "says"),
    [
        ([], "Tomas Ek", True, "nothing is decided"),
        ([Decided("M0", DISCARD), Decided("M0", HOLD)], "Tomas Ek", True, "M0 stands on the sheet twice"),
        ([Decided("M0", DISCARD), Decided("M9X", HOLD)], "Tomas Ek", True, "no batch is called 'M9X'"),
        (
            [Decided("M0", DISCARD), Decided("M1", KEEP, text="39 °F")],
            "Tomas Ek",
            True,
            "M1: to keep food is a manager's",
        ),
        ([Decided("M1", KEEP, text="39 °F")], "Ines Okafor", False, "needs a manager's PIN"),
        ([Decided("M1", KEEP)], "Ines Okafor", True, "kept for a reason"),
        ([Decided("M1", CHILL, place="Walk-in 1")], "Tomas Ek", True, "the unit that broke down"),
        ([Decided("M1", CHILL, place="Walk-in 7")], "Tomas Ek", True, "no unit is called"),
        ([Decided("M0", DISCARD), Decided("M1", CHILL, 900.0)], "Tomas Ek", True, "M1: .*no temperature of food"),
        ([Decided("L1", DISCARD, 9.0)], "Tomas Ek", True, "L1: say which vessel"),
    ],
)
def test_all_of_a_sheet_is_recorded_or_nothing(
    failed: Store, rows: list[Decided], who: str, signed: bool, says: str
) -> None:
    """What is wrong names its lot."""
    with pytest.raises(HoldwatchError, match=says), failed.write() as session:
        _record(session, rows, _signer(session, who, signed=signed))
    with failed.read() as session:
        assert events(session, kinds=[EventKind.ACTION, EventKind.ENDED, EventKind.READING]) == []


def test_a_manager_keeps_with_a_reason(failed: Store) -> None:
    """Signed."""
    with failed.write() as session:
        line = Decided("M0", KEEP, 3.9, place="Walk-in 2", text="39 °F at the core")
        _record(session, [line], _signer(session, "Ines Okafor"))
        (entry,) = _actions(session, "M0")
        assert (entry.facts["disposition"], entry.text) == ("keep", "Walk-in 1 broke down; 39 °F at the core")


def test_food_that_stands_elsewhere_is_not_on_the_sheet(failed: Store) -> None:
    """Its move comes first; food of which nobody wrote down where it stands may be decided."""
    with failed.write() as session:
        batch = batch_named(session, "M0")
        other = unit_named(session, "Walk-in 2")
        note(session, batch, EventKind.MOVED, at_ms=NOW, now_ms=NOW, by=BY, unit=other)
        with pytest.raises(ConfigError, match="M0 stands elsewhere"):
            _record(session, [Decided("M0", DISCARD)], _signer(session, "Tomas Ek"))
        _record(session, [Decided("L1", DISCARD)], _signer(session, "Tomas Ek"))
        with pytest.raises(ConfigError, match="has ended"):
            _record(session, [Decided("L1", DISCARD)], _signer(session, "Tomas Ek"))


def test_without_a_finding_the_sheet_stands_with_the_unit(store: Store) -> None:
    """The compressor was heard to die before anything was warm."""
    with store.write() as session:
        unit = open_kitchen(session).walk_in
        _record(session, [Decided("L1", DISCARD)], Signer(BY))
        (entry,) = events(session, unit_id=unit.id, kinds=[EventKind.ACTION])
        assert entry.text == "breakdown of Walk-in 1, 1 batch: 1 discard"
