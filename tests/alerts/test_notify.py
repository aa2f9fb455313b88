"""The outbox emptied through real receivers, with time moved by hand."""

import json
import threading
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from sqlmodel import select

from holdwatch import clock
from holdwatch.alerts.carrier import send
from holdwatch.alerts.message import Message
from holdwatch.alerts.notify import deliver_due, run, store_now_ms
from holdwatch.alerts.queue import queue_alerts
from holdwatch.alerts.sending import LEASE_MS
from holdwatch.errors import DeliveryError
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import close_finding, open_finding
from holdwatch.storage.outbox import lease_due, waiting_alerts
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import Alert, AlertAttempt, AlertState, Contact, FindingKind
from tests.alerts.alert_receivers import http_receiver, smtp_receiver
from tests.alerts.conftest import START_MS
from tests.alerts.queued import queue_findings

SECOND, MINUTE, HOUR, DAY = 1_000, 60_000, 3_600_000, 86_400_000


def _even() -> float:
    """Spread nothing."""
    return 0.5


def _queue(store: Store, urls: dict[str, str], titles: tuple[str, ...] = ("Custard B-0412",)) -> None:
    queue_findings(store, urls, titles, START_MS)


def _alert(store: Store, number: int = 1) -> Alert:
    """Return an alert as it stands."""
    with store.read() as session:
        return session.get_one(Alert, number)


def _refuse(url: str, message: Message) -> None:
    """Stand for a channel that is down."""
    raise DeliveryError(f"{message.title[:4]} {url[:4]} did not take it", retryable=True)


def test_deliver_due_sends_to_a_real_hook_and_a_real_mailbox(store: Store) -> None:
    """Each contact's channel takes the alert once, and what was sent is recorded."""
    with http_receiver() as hook, smtp_receiver() as box:
        _queue(store, {"hook": hook.url, "mail": box.url})
        assert deliver_due(store, send, START_MS) == 2
        assert deliver_due(store, send, START_MS + HOUR) == 0
        assert [json.loads(body)["title"] for body in hook.got] == ["Deviation: Custard B-0412 – 3-501.14(A)(1)"]
        assert [mail["subject"] for mail in box.got] == ["Deviation: Custard B-0412 – 3-501.14(A)(1)"]
    for number in (1, 2):
        assert (_alert(store, number).state, _alert(store, number).sent_ms) == (AlertState.SENT, START_MS)


@pytest.mark.parametrize("trouble", ["500", "refused", "hang"])
def test_deliver_due_failing_channel_is_tried_again_until_it_takes(store: Store, trouble: str) -> None:
    """Three ways to fail, one way on: wait, double the wait, and deliver when the channel is back."""
    with http_receiver() as hook:
        url = f"{hook.url}?rto=0.2&cto=0.2"
        hook.answer = 500 if trouble == "500" else 200
        hook.hang = threading.Event() if trouble == "hang" else None
        given = url.replace(str(hook.url.rsplit(":", 1)[1].split("/")[0]), "1") if trouble == "refused" else url
        _queue(store, {"mgr": given})
        assert deliver_due(store, send, START_MS, jitter=_even) == 0
        assert _alert(store).next_try_ms == START_MS + 5 * SECOND
        assert deliver_due(store, send, START_MS + 5 * SECOND - 1, jitter=_even) == 0
        assert _alert(store).attempts == 1
        assert deliver_due(store, send, START_MS + 5 * SECOND, jitter=_even) == 0
        assert _alert(store).next_try_ms == START_MS + 15 * SECOND
        hook.answer = 200
        if hook.hang is not None:
            hook.hang.set()
            hook.hang = None
        _mend(store, url)
        assert deliver_due(store, send, START_MS + 15 * SECOND, jitter=_even) == 1
        assert len(hook.got) == 1
    with store.read() as session:
        assert [tried.taken for tried in session.exec(select(AlertAttempt))] == [False, False, True]


def _mend(store: Store, url: str) -> None:
    """Put the right port into a contact's URL."""
    with store.write() as session:
        contact = session.get_one(Contact, 1)
        contact.url = url
        session.add(contact)


def test_deliver_due_dead_channel_holds_up_nobody_else(store: Store) -> None:
    """Twenty alerts to a dead channel cost one try; the other contact gets all of theirs."""
    tried: list[str] = []

    def sending(url: str, message: Message) -> None:
        tried.append(url)
        if "dead" in url:
            _refuse(url, message)

    _queue(store, {"dead": "json://dead.example", "live": "json://live.example"}, tuple(f"Pan {n}" for n in range(20)))
    assert deliver_due(store, sending, START_MS, jitter=_even) == 20
    assert tried.count("json://dead.example") == 1


def test_deliver_due_keeps_the_order_of_one_contact(store: Store) -> None:
    """What happened first is told first."""
    titles: list[str] = []
    _queue(store, {"mgr": "json://x.example"}, ("Pan 1", "Pan 2", "Pan 3"))
    deliver_due(store, lambda _, message: titles.append(message.title[:16]), START_MS)
    assert titles == ["Deviation: Pan 1", "Deviation: Pan 2", "Deviation: Pan 3"]


def test_deliver_due_after_death_between_sending_and_recording_sends_again(store: Store) -> None:
    """An alert whose sender died is sent when its lease has run out, not before, and marked as sent again."""
    _queue(store, {"mgr": "json://x.example"})
    with store.write() as session:
        assert len(lease_due(session, 1, START_MS, 5, LEASE_MS)) == 1
    sent: list[Message] = []
    assert deliver_due(store, lambda _, message: sent.append(message), START_MS + LEASE_MS - 1) == 0
    assert deliver_due(store, lambda _, message: sent.append(message), START_MS + LEASE_MS) == 1
    assert [message.title for message in sent] == ["Again: Deviation: Custard B-0412 – 3-501.14(A)(1)"]
    assert sent[0].body.startswith("Sent again: it may have reached you before.\n")


def test_deliver_due_that_nobody_took_is_not_marked_as_sent_again(store: Store) -> None:
    """A refused try is known not to have arrived."""
    _queue(store, {"mgr": "json://x.example"})
    deliver_due(store, _refuse, START_MS, jitter=_even)
    sent: list[str] = []
    deliver_due(store, lambda _, message: sent.append(message.title), START_MS + 5 * SECOND)
    assert sent == ["Deviation: Custard B-0412 – 3-501.14(A)(1)"]


def test_deliver_due_two_senders_at_once_send_each_alert_once(store: Store) -> None:
    """A lease belongs to one sender."""
    _queue(store, {"mgr": "json://x.example", "chef": "json://y.example"}, tuple(f"Pan {n}" for n in range(10)))
    sent: list[tuple[str, str]] = []
    senders = [
        threading.Thread(
            target=deliver_due, args=(store, lambda url, message: sent.append((url, message.title)), START_MS)
        )
        for _ in range(2)
    ]
    for sender in senders:
        sender.start()
    for sender in senders:
        sender.join()
    assert len(sent) == 20
    assert len(set(sent)) == 20


def test_deliver_due_not_taken_for_an_hour_is_shown_as_undelivered_and_still_tried(store: Store) -> None:
    """An alert is given up in sight of people, and sent when the channel is back."""
    _queue(store, {"mgr": "json://x.example"})
    now_ms = START_MS
    while now_ms < START_MS + HOUR:
        deliver_due(store, _refuse, now_ms, jitter=_even)
        now_ms = _alert(store).next_try_ms
    deliver_due(store, _refuse, now_ms, jitter=_even)
    shown = _alert(store)
    assert (shown.state, shown.next_try_ms) == (AlertState.UNDELIVERED, now_ms + HOUR)
    assert shown.attempts < 25
    with store.read() as session:
        assert len(waiting_alerts(session)) == 1
    assert deliver_due(store, lambda _url, _message: None, now_ms + HOUR, jitter=_even) == 1
    assert _alert(store).state == AlertState.SENT


def test_deliver_due_after_three_days_ends(store: Store) -> None:
    """Nobody is woken by what happened last week; it stays shown."""
    _queue(store, {"mgr": "json://x.example"})
    deliver_due(store, _refuse, START_MS + 3 * DAY, jitter=_even)
    assert _alert(store).state == AlertState.UNDELIVERED
    assert deliver_due(store, lambda _url, _message: None, START_MS + 30 * DAY, jitter=_even) == 0


def test_deliver_due_retired_contact_is_sent_nothing(store: Store) -> None:
    """Who is told no more is not sent what was waiting."""
    _queue(store, {"mgr": "json://x.example"})
    with store.write() as session:
        contact = session.get_one(Contact, 1)
        contact.retired_ms = START_MS
        session.add(contact)
    sent: list[Any] = []
    deliver_due(store, lambda url, _: sent.append(url), START_MS)
    assert sent == []
    assert _alert(store).last_error == "the contact was retired"


def test_run_delivers_and_reports_until_stopped(store: Store, tmp_path: Path) -> None:
    """The role sends what is waiting, says how it goes, and ends when it is told to."""
    with http_receiver() as hook:
        _queue(store, {"mgr": hook.url})
        stop = threading.Event()
        settings: Any = SimpleNamespace(
            data=tmp_path, database_url=store.url, base_url="http://127.0.0.1:8501", alive_url=None
        )
        role = threading.Thread(target=run, args=(settings, stop))
        role.start()
        try:
            assert _until(lambda: len(hook.got) == 1)
            assert _until(lambda: _state(store) == ("ready", "nothing to send"))
        finally:
            stop.set()
            role.join(20)
        assert not role.is_alive()
        assert _state(store)[0] == "stopped"


def test_store_now_is_the_clock_that_all_senders_share(store: Store) -> None:
    """On the test's one machine, the database's clock and our own are the same within seconds."""
    assert abs(store_now_ms(store) - clock.now_ms()) < 10_000


def _state(store: Store) -> tuple[str, str]:
    """Return what the role said of itself."""
    with store.read() as session:
        return next(((role.state, role.detail) for role in statuses(session) if role.role == "notify"), ("", ""))


def _until(holds: Callable[[], bool]) -> bool:
    """Wait for a condition, at most ten seconds."""
    waiting = threading.Event()
    return any(holds() or waiting.wait(0.05) for _ in range(200))


def test_deliver_due_warning_that_passed_while_undelivered_ends(store: Store) -> None:
    """A warning that has passed is not tried hourly."""
    with store.write() as session:
        add_contact(session, "mgr", "json://x.example", now_ms=START_MS, by="ana")
        finding = open_finding(
            session,
            key="k",
            kind=FindingKind.SOON,
            subject="batch:1:1",
            title="Pan",
            reason="r",
            since_ms=START_MS,
            now_ms=START_MS,
        )
        queue_alerts(session, finding, None, START_MS, "http://x")
        close_finding(session, finding, reason="reached", now_ms=START_MS + 1)
    deliver_due(store, _refuse, START_MS + HOUR, jitter=_even)
    assert deliver_due(store, lambda _url, _message: None, START_MS + 2 * DAY, jitter=_even) == 0
