"""Findings as their pages show them."""

import pytest

from holdwatch.charts.marks import Mark
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import close_finding, open_finding
from holdwatch.storage.ids import id_of
from holdwatch.storage.outbox import lease_due, queue_alert, record_attempt
from holdwatch.storage.tables import FindingKind
from holdwatch.views.findings import finding_view, finding_views
from tests.charts.kitchen import STAGE_1
from tests.views.conftest import BY, NOW, Morning


def test_finding_view_of_a_warning_tells_clause_and_due(morning: Morning) -> None:
    """The watch's warning is shown with what it asks, since when and until when."""
    with morning.store.read() as session:
        found = finding_views(session, open_only=True, batch_id=morning.slow)
    assert [(view.kind, view.mark, view.clause, view.lot, view.vessel) for view in found] == [
        ("soon", Mark.SOON, STAGE_1, "B-0412", 1)
    ]
    assert found[0].requires.startswith("135 °F to 70 °F")
    assert found[0].due_ms is not None
    assert found[0].verdict is Verdict.OPEN
    assert [version.version for version in found[0].versions] == [1]


def test_finding_view_tells_who_was_told_and_what_failed(empty: Store) -> None:
    """Each alert stands with its contact, its state, its attempts and the last error."""
    with empty.write() as session:
        contact = add_contact(session, "Rosa", "json://127.0.0.1:9", now_ms=NOW, by=BY)
        finding = open_finding(
            session,
            key="system:clock",
            kind=FindingKind.SYSTEM,
            subject="system:clock",
            title="Clock",
            reason="it jumped",
            since_ms=NOW,
            now_ms=NOW,
        )
        queue_alert(session, finding=finding, contact=contact, reason="first", title="Check", body="…", now_ms=NOW)
        ((alert, _),) = lease_due(session, id_of(contact), NOW, 10, 60_000)
        record_attempt(session, alert, taken=False, detail="connection refused", now_ms=NOW, next_try_ms=NOW + 1)
        number = id_of(finding)
    with empty.read() as session:
        view = finding_view(session, number)
    assert view is not None
    (told,) = view.alerts
    assert (told.contact, told.state, told.attempts, told.sent_ms) == ("Rosa", "waiting", 1, None)
    assert told.last_error == "connection refused"
    assert view.verdict is None


def test_finding_views_put_open_ones_first(empty: Store) -> None:
    """What is open stands above what is closed, the newest first in each part."""
    with empty.write() as session:
        for number in range(4):
            finding = open_finding(
                session,
                key=f"k{number}",
                kind=FindingKind.SYSTEM,
                subject="system:clock",
                title=f"{number}",
                reason="",
                since_ms=NOW + number,
                now_ms=NOW + number,
            )
            if number in {1, 3}:
                close_finding(session, finding, reason="over", now_ms=NOW + 10)
    with empty.read() as session:
        assert [view.title for view in finding_views(session)] == ["2", "0", "3", "1"]
        assert [view.title for view in finding_views(session, open_only=True)] == ["2", "0"]


@pytest.mark.parametrize("number", [0, 99])
def test_finding_view_of_an_unknown_number_is_none(empty: Store, number: int) -> None:
    """A link to a finding that is not there is no error."""
    with empty.read() as session:
        assert finding_view(session, number) is None
