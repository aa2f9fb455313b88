"""A store of a kitchen, a broker, and a listener between them."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlmodel import Session, col, select

from holdwatch import clock
from holdwatch.intake.listener import run
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.register import add_probe, set_site
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import Probe, Reading, RoleStatus
from tests.support.mosquitto import Mosquitto, mosquitto
from tests.support.waiting import wait_for


@dataclass(frozen=True)
class ListenSettings:
    """What the listener is told."""

    data: Path
    broker_url: str
    database_url: str | None = None


def make_store(data: Path) -> Store:
    """Make a store with a site and a probe for each format."""
    store = open_store(store_url(data, None), migrate=True)
    now_ms = clock.now_ms()
    with store.write() as session:
        set_site(
            session,
            name="Linden Street Patisserie",
            timezone="America/Denver",
            limits="us-food-code-2022",
            unit="F",
            from_ms=now_ms,
            now_ms=now_ms,
            by="test",
        )
        register(session, "p1", "senml")
        register(session, "p2", "number")
        register(session, "p3", "json", topic="gateway/p3", pointer="/t/0", time_pointer="/at", unit_pointer="/u")
    return store


def register(session: Session, code: str, payload: str, **more: str) -> None:
    """Add a probe."""
    add_probe(session, code, medium="food", payload=payload, now_ms=clock.now_ms(), by="test", **more)


def listen_status(store: Store) -> RoleStatus | None:
    """Return what the listener said last."""
    with store.read() as session:
        return next((status for status in statuses(session) if status.role == "listen"), None)


def is_ready(store: Store) -> bool:
    """Return whether the listener listens, and knows live from queued."""
    status = listen_status(store)
    return status is not None and status.state == "ready" and bool(status.facts["live"])


@contextmanager
def listening(store: Store, data: Path, broker_url: str, *, ready: bool = True) -> Iterator[threading.Event]:
    """Run a listener in a thread for the time of a block."""
    with store.write() as session:  # what an earlier listener said does not count
        for status in statuses(session):
            session.delete(status)
    stop, failures = threading.Event(), list[BaseException]()

    def listen() -> None:
        try:
            run(ListenSettings(data, broker_url), stop)
        except BaseException as exc:  # noqa: BLE001  shown by the assertion below
            failures.append(exc)

    thread = threading.Thread(target=listen)
    thread.start()
    try:
        if ready:
            wait_for(lambda: failures or is_ready(store), what="the listener is ready")
        yield stop
    finally:
        stop.set()
        thread.join(20)
    assert not thread.is_alive()
    assert not failures


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Open a store with three probes."""
    opened = make_store(tmp_path)
    yield opened
    opened.close()


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    """Run a broker."""
    with mosquitto(tmp_path / "broker") as running:
        yield running


@pytest.fixture
def kept(store: Store) -> Callable[[str], list[tuple[int, float, int]]]:
    """Answer with a probe's readings: instant, temperature, flags."""
    return lambda code: readings_of(store, code)


def readings_of(store: Store, code: str) -> list[tuple[int, float, int]]:
    """Return a probe's readings: instant, temperature, flags."""
    with store.read() as session:
        asked = select(Reading).join(Probe, col(Probe.id) == col(Reading.probe_id)).where(Probe.code == code)
        return [(r.at_ms, r.celsius, r.flags) for r in session.exec(asked.order_by(col(Reading.at_ms)))]
