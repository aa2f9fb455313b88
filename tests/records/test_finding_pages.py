"""What is printed of a finding: who dealt with it, signed or not, corrected or not."""

import pytest

from holdwatch.people.handling import Act, Disposition
from holdwatch.quantities import Scale
from holdwatch.records.finding_pages import finding_pages
from holdwatch.records.setting import Setting
from holdwatch.records.span import parse_span
from holdwatch.records.times import Times
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import finding_numbered, open_finding
from holdwatch.storage.handling import Signer, record_act
from holdwatch.storage.people import add_person
from holdwatch.storage.register import note, start_batch
from holdwatch.storage.tables import EventKind, FindingKind
from tests.records.conftest import SITE_SET_MS, ZONE
from tests.records.kitchen import MINUTE

BEGAN = SITE_SET_MS + 600 * MINUTE


@pytest.fixture
def setting() -> Setting:
    """A paper of three days."""
    now_ms = BEGAN + 1000 * MINUTE
    span = parse_span("2026-10-01", "2026-10-02", ZONE, now_ms)
    return Setting(span, now_ms, ZONE, Scale.F, Times(ZONE, span))


def test_paper_shows_who_decided_who_corrected_and_who_verified(store: Store, setting: Setting) -> None:
    """A corrected entry stays in print; initials stand behind what was signed, and what was not says so."""
    with store.write() as session:
        batch = start_batch(session, product="Lemon curd", lot="L-7", at_ms=BEGAN, now_ms=BEGAN, by="ana")
        finding = open_finding(
            session,
            key="batch:1:1 clause",
            kind=FindingKind.DEVIATION,
            subject="batch:1:1",
            title="Lemon curd L-7",
            reason="above 70 °F after 2 h",
            since_ms=BEGAN,
            now_ms=BEGAN,
            batch_id=batch.id,
        )
        note(session, batch, EventKind.NOTE, at_ms=BEGAN, now_ms=BEGAN, by="ana", text="lid off")
        cook = add_person(session, "Tomas Ek", "TE", "cook", now_ms=BEGAN, by="ana")
        boss = add_person(session, "Ines Okafor", "IO", "manager", now_ms=BEGAN, by="ana")

        def act(act: Act, signer: Signer, after_min: int, **more: object) -> int:
            at_ms = BEGAN + after_min * MINUTE
            return record_act(session, finding, act, signer, at_ms=at_ms, now_ms=at_ms, **more).id or 0  # type: ignore[arg-type]

        said = act(Act.ACTION, Signer("Tomas Ek", cook), 5, disposition=Disposition.DISCARD, text="one pan")
        act(
            Act.ACTION,
            Signer("Tomas Ek", cook, signed=True),
            9,
            disposition=Disposition.DISCARD,
            text="both pans",
            replaces_id=said,
        )
        act(Act.VERIFIED, Signer("Ines Okafor", boss, signed=True), 60)
        session.flush()
        pages = finding_pages(session, finding.id or 0, setting)
        assert finding_numbered(session, finding.id or 0).kind == FindingKind.DEVIATION
    assert [row[1:] for row in pages.printed["actions"]] == [
        ["note: lid off", "ana"],
        ["corrective action: discard – one pan (corrected by a later entry)", "Tomas Ek, not signed"],
        ["corrective action: discard – both pans", "Tomas Ek (TE)"],
        ["verified", "Ines Okafor (IO)"],
    ]
    assert ["Stands", "verified by Ines Okafor"] in pages.printed["facts"]
    assert "both pans, Tomas Ek (TE); verified by Ines Okafor" in pages.line[-1]
