"""Alerts put into the store beside the finding they are about."""

import pytest
from sqlmodel import Session, col, select

from holdwatch.alerts.decide import Reason
from holdwatch.alerts.queue import queue_alerts
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import change_finding, close_finding, open_finding
from holdwatch.storage.outbox import lease_due, record_attempt
from holdwatch.storage.tables import Alert, AlertState, Finding, FindingKind
from tests.alerts.conftest import START_MS

BASE_URL = "http://127.0.0.1:8501"


def _open(session: Session, kind: FindingKind = FindingKind.SOON) -> Finding:
    """Open a finding about a custard."""
    return open_finding(
        session,
        key="batch:1:1/3-501.14(A)(1)",
        kind=kind,
        subject="batch:1:1",
        title="Custard B-0412",
        reason="it will miss",
        since_ms=START_MS,
        now_ms=START_MS,
        clause="3-501.14(A)(1)",
        verdict="open",
    )


def _alerts(session: Session) -> list[Alert]:
    """Return every alert by its id."""
    return list(session.exec(select(Alert).order_by(col(Alert.id))))


def _queue_and_fail(store: Store) -> None:
    """Queue an alert in a transaction that then fails."""
    with store.write() as session:
        queue_alerts(session, _open(session), None, START_MS, BASE_URL)
        raise RuntimeError


def test_queue_alerts_new_finding_queues_one_a_contact(store: Store) -> None:
    """Everyone who is told gets one alert, in the transaction of the finding."""
    with store.write() as session:
        for name in ("mgr", "chef"):
            add_contact(session, name, "json://127.0.0.1:1", now_ms=START_MS, by="ana")
        assert queue_alerts(session, _open(session), None, START_MS, BASE_URL) is Reason.FIRST
    with store.read() as session:
        assert [(a.contact_id, a.reason, a.state, a.next_try_ms) for a in _alerts(session)] == [
            (1, "first", "waiting", START_MS),
            (2, "first", "waiting", START_MS),
        ]


def test_queue_alerts_undone_transaction_queues_nothing(store: Store) -> None:
    """A finding that was not written is not told."""
    with store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:1", now_ms=START_MS, by="ana")
    with pytest.raises(RuntimeError):
        _queue_and_fail(store)
    with store.read() as session:
        assert _alerts(session) == []


def test_queue_alerts_other_words_queue_nothing(store: Store) -> None:
    """A reason worded anew is no news."""
    with store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:1", now_ms=START_MS, by="ana")
        finding = _open(session)
        queue_alerts(session, finding, None, START_MS, BASE_URL)
        change_finding(session, finding, now_ms=START_MS + 1, reason="it will miss by far")
        assert queue_alerts(session, finding, ("soon", "open"), START_MS + 1, BASE_URL) is Reason.NONE
        assert len(_alerts(session)) == 1


def test_queue_alerts_contact_added_later_gets_no_old_alert(store: Store) -> None:
    """Who is added later is told from then on, and not that something they never heard of is over."""
    with store.write() as session:
        finding = _open(session)
        queue_alerts(session, finding, None, START_MS, BASE_URL)
        add_contact(session, "late", "json://127.0.0.1:1", now_ms=START_MS + 1, by="ana")
        close_finding(session, finding, reason="reached", now_ms=START_MS + 2)
        assert queue_alerts(session, finding, ("soon", "open"), START_MS + 2, BASE_URL) is Reason.CLOSED
        assert _alerts(session) == []


def test_queue_alerts_worse_replaces_what_is_still_waiting(store: Store) -> None:
    """While the network is down, a warning gives way to the deviation it became."""
    with store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:1", now_ms=START_MS, by="ana")
        finding = _open(session)
        queue_alerts(session, finding, None, START_MS, BASE_URL)
        change_finding(session, finding, now_ms=START_MS + 1, kind=FindingKind.DEVIATION, verdict="missed")
        assert queue_alerts(session, finding, ("soon", "open"), START_MS + 1, BASE_URL) is Reason.WORSE
    with store.read() as session:
        assert [(a.reason, a.state) for a in _alerts(session)] == [
            ("first", AlertState.REPLACED.value),
            ("worse", AlertState.WAITING.value),
        ]


def test_queue_alerts_passed_before_it_was_sent_tells_nothing(store: Store) -> None:
    """A warning that nobody saw is taken back without a word."""
    with store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:1", now_ms=START_MS, by="ana")
        finding = _open(session)
        queue_alerts(session, finding, None, START_MS, BASE_URL)
        close_finding(session, finding, reason="reached", now_ms=START_MS + 1)
        queue_alerts(session, finding, ("soon", "open"), START_MS + 1, BASE_URL)
        assert [a.state for a in _alerts(session)] == [AlertState.REPLACED.value]


def test_queue_alerts_while_the_first_is_on_its_way_leaves_it(store: Store) -> None:
    """An alert that a sender holds is not taken from its hands; what follows comes after it."""
    with store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:1", now_ms=START_MS, by="ana")
        finding = _open(session)
        queue_alerts(session, finding, None, START_MS, BASE_URL)
        ((leased, _),) = lease_due(session, 1, START_MS, 5, 60_000)
        close_finding(session, finding, reason="reached", now_ms=START_MS + 1)
        queue_alerts(session, finding, ("soon", "open"), START_MS + 1, BASE_URL)
        record_attempt(session, leased, taken=True, detail="taken", now_ms=START_MS + 2)
        assert [(a.reason, a.state) for a in _alerts(session)] == [("first", "sent"), ("closed", "waiting")]


def test_queue_alerts_opened_again_after_no_longer_tells(store: Store) -> None:
    """Told "no longer", a person must hear that it is so again, though kind and verdict are the same."""
    with store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:1", now_ms=START_MS, by="ana")
        finding = _open(session)
        queue_alerts(session, finding, None, START_MS, BASE_URL)
        for alert, _ in lease_due(session, 1, START_MS, 5, 60_000):
            record_attempt(session, alert, taken=True, detail="taken", now_ms=START_MS)
        close_finding(session, finding, reason="reached", now_ms=START_MS + 1)
        queue_alerts(session, finding, ("soon", "open"), START_MS + 1, BASE_URL)
        change_finding(session, finding, now_ms=START_MS + 2, reopen=True)
        assert queue_alerts(session, finding, ("soon", "open"), START_MS + 2, BASE_URL) is Reason.CHANGED
