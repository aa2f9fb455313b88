"""The sender is killed after a receiver has the message and before that is written down: it is sent again, and says so."""

import json
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlmodel import col, select

from holdwatch import clock
from holdwatch.alerts.sending import LEASE_MS
from holdwatch.storage.engine import Store
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import Alert, AlertAttempt, AlertState
from tests.alerts.alert_receivers import Hook, http_receiver
from tests.alerts.queued import queue_findings
from tests.support.commands import start
from tests.support.waiting import wait_for

TITLES = ("Pastry cream B-0412", "Lemon curd B-0413")


@pytest.fixture
def hook() -> Iterator[Hook]:
    """Give a receiver."""
    with http_receiver() as running:
        yield running


def alerts(store: Store) -> list[Alert]:
    """Return the alerts as they stand."""
    with store.read() as session:
        return list(session.exec(select(Alert).order_by(col(Alert.id))))


def let_leases_run_out(store: Store) -> None:
    """Let two minutes pass for whoever held what was being sent."""
    with store.write() as session:
        for alert in session.exec(select(Alert)):
            if alert.leased_until_ms is not None:
                assert clock.now_ms() < alert.leased_until_ms <= clock.now_ms() + LEASE_MS
                alert.leased_until_ms = clock.now_ms()
                session.add(alert)


def is_at_work(store: Store, pid: int) -> bool:
    """Tell whether a sender has said that it is there."""
    with store.read() as session:
        return any(status.role == "notify" and status.pid == pid for status in statuses(session))


def titles(hook: Hook) -> list[str]:
    """Return the titles that a receiver has got."""
    return [json.loads(body)["title"] for body in hook.got]


def test_notify_killed_between_sending_and_recording_sends_again(store: Store, hook: Hook, tmp_path: Path) -> None:
    """The receiver kills the sender when it has the message and before it answers; after the restart nothing is lost."""
    queue_findings(store, {"manager": hook.url}, TITLES, clock.now_ms())
    killed = threading.Event()
    with start("notify", "--data", tmp_path) as sender:

        def kill() -> None:
            sender.kill()
            sender.wait(10)
            killed.set()

        hook.before_answer = kill
        assert killed.wait(60)
        hook.before_answer = None
    assert titles(hook) == [f"Deviation: {TITLES[0]} – 3-501.14(A)(1)"]
    assert [alert.state for alert in alerts(store)] == [AlertState.WAITING] * 2
    with start("notify", "--data", tmp_path) as sender:
        try:
            wait_for(lambda: is_at_work(store, sender.pid), within_s=60, what="the second sender is at work")
            assert len(hook.got) == 1  # the first one might still be at it
            let_leases_run_out(store)
            wait_for(lambda: [a.state for a in alerts(store)] == [AlertState.SENT] * 2, within_s=60, what="all is sent")
        finally:
            sender.terminate()
            sender.communicate(timeout=30)
    first, second = (f"{title} – 3-501.14(A)(1)" for title in TITLES)
    assert titles(hook)[1] == f"Again: Deviation: {first}"
    assert json.loads(hook.got[1])["message"].startswith("Sent again: it may have reached you before.\n")
    assert [title.removeprefix("Again: ") for title in titles(hook)[2:]] == [f"Deviation: {second}"]
    with store.read() as session:
        tries = session.exec(select(AlertAttempt)).all()
    assert [(tried.alert_id, tried.taken) for tried in tries] == [(1, True), (2, True)]
