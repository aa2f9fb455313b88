"""A disk that is nearly full, and alerts that reached nobody: one finding each, told once, closed by itself."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from sqlmodel import select

from holdwatch.alerts.queue import queue_alerts
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import store_url
from holdwatch.storage.findings import open_finding
from holdwatch.storage.outbox import record_attempt
from holdwatch.storage.status import report
from holdwatch.storage.tables import Alert, FindingKind, Role
from holdwatch.watch.health import ALERTS, DISK, OUTSIDE, Health, nearly_full
from tests.watch.kitchen import MIN, T0, Kitchen

GB = 1_000_000_000


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A kitchen with two who are told."""
    found = Kitchen.on(store_url(tmp_path, None), migrate=True)
    with found.store.write() as session:
        for name in ("cook", "manager"):
            add_contact(session, name, f"json://{name}", now_ms=T0, by="test")
    yield found
    found.store.close()


def _alerts(kitchen: Kitchen, subject: str) -> int:
    with kitchen.store.read() as session:
        numbers = [found.id for found in kitchen.found() if found.subject == subject]
        return sum(alert.finding_id in numbers for alert in session.exec(select(Alert)))


@pytest.mark.parametrize(
    ("free", "total", "full"),
    [(GB // 2, 100 * GB, False), (GB // 2 - 1, 100 * GB, True), (GB // 10, GB, False), (GB // 10 - 1, GB, True)],
)
def test_nearly_full_is_half_a_gigabyte_or_a_tenth(free: int, total: int, full: bool) -> None:
    """Both ends, on a large disk and a small one."""
    assert nearly_full(free, total) is full


def test_disk_is_told_once_and_closes(kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However often it is looked at."""
    disk = SimpleNamespace(free=GB // 4, total=100 * GB)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: disk)
    health = Health(kitchen.store, tmp_path, "http://x")
    assert [health.go_on(T0 + n * MIN, n * MIN) for n in range(3)] == [1, 0, 0]
    (found,) = kitchen.found(open_only=True)
    assert (found.subject, found.kind) == (DISK, "system")
    assert "250 MB free" in found.reason
    assert _alerts(kitchen, DISK) == 2
    disk.free = 10 * GB
    assert health.go_on(T0 + 3 * MIN, 3 * MIN) == 1
    assert kitchen.found(open_only=True) == []


def test_undelivered_alerts_are_one_fault_that_does_not_feed_itself(kitchen: Kitchen, tmp_path: Path) -> None:
    """Ten alerts to a dead channel are one message; its own undelivered copy keeps nothing open."""
    health = Health(kitchen.store, tmp_path, "http://x")
    with kitchen.store.write() as session:
        for number in range(10):
            finding = open_finding(
                session,
                key=f"k{number}",
                kind=FindingKind.DEVIATION,
                subject=f"batch:{number}:1",
                title=f"Pan {number}",
                reason="r",
                since_ms=T0,
                now_ms=T0,
            )
            queue_alerts(session, finding, None, T0, "http://x")
        rows = [alert for alert in session.exec(select(Alert)) if alert.contact_id == 1]
        for alert in rows:
            record_attempt(session, alert, taken=False, detail="no such host", now_ms=T0)
    assert [health.go_on(T0 + n * MIN, n * MIN) for n in range(3)] == [1, 0, 0]
    (found,) = [each for each in kitchen.found(open_only=True) if each.subject == ALERTS]
    assert found.reason == "cook cannot be reached: no such host."
    assert _alerts(kitchen, ALERTS) == 2
    with kitchen.store.write() as session:
        for alert in session.exec(select(Alert).where(Alert.contact_id == 1)):
            own = alert.finding_id == found.id
            record_attempt(session, alert, taken=not own, detail="no such host" if own else "taken", now_ms=T0 + MIN)
    assert health.go_on(T0 + 3 * MIN, 3 * MIN) == 1
    assert ALERTS not in [each.subject for each in kitchen.found(open_only=True)]


def test_outside_address_is_told_after_an_hour_and_closes(kitchen: Kitchen, tmp_path: Path) -> None:
    """Not a millisecond before the hour is over; once, and closed when a call is taken again."""
    health = Health(kitchen.store, tmp_path, "http://x")

    def told(alive: dict[str, object]) -> None:
        with kitchen.store.write() as session:
            report(session, Role.NOTIFY, 1, "trouble", "", {"host": "", "alive": alive}, T0)

    told({"ok_ms": None, "failing_since_ms": T0, "problem": "it answered 503"})
    assert health.go_on(T0 + 60 * MIN - 1, 0) == 0
    assert [health.go_on(T0 + (60 + n) * MIN, (1 + n) * MIN) for n in range(3)] == [1, 0, 0]
    (found,) = kitchen.found(open_only=True)
    assert (found.subject, found.kind) == (OUTSIDE, "system")
    assert "it answered 503" in found.reason
    assert _alerts(kitchen, OUTSIDE) == 2
    told({"ok_ms": T0 + 63 * MIN, "failing_since_ms": None, "problem": ""})
    assert health.go_on(T0 + 64 * MIN, 5 * MIN) == 1
    assert kitchen.found(open_only=True) == []
