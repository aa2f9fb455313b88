"""The listener is killed again and again; nothing that the broker acknowledged may be missing."""

import random
import time
from collections import Counter
from pathlib import Path

import pytest
from sqlmodel import col, func, select

from holdwatch import clock
from holdwatch.storage.engine import Store
from holdwatch.storage.tables import Contested, Probe, Reading, SetAsideMessage
from tests.faults.conftest import process
from tests.faults.publisher_process import celsius
from tests.intake.conftest import is_ready, listen_status
from tests.support.mosquitto import Mosquitto
from tests.support.waiting import wait_for

pytestmark = [pytest.mark.broker, pytest.mark.long]

KILLS = 20
SENTINEL_C = 299.5


def stored(store: Store, code: str) -> list[tuple[int, float]]:
    """Return instant and temperature of a probe's readings, contested ones too."""
    found: list[tuple[int, float]] = []
    with store.read() as session:
        for table in (Reading, Contested):
            asked = select(table.at_ms, table.celsius).join(Probe, col(Probe.id) == col(table.probe_id))
            found += session.exec(asked.where(Probe.code == code)).all()
    return found


def count(store: Store) -> int:
    """Return how many readings there are."""
    with store.read() as session:
        return session.exec(select(func.count()).select_from(Reading)).one()


def is_stored(store: Store, celsius_sought: float) -> bool:
    """Return whether a reading of a value is there."""
    with store.read() as session:
        return session.exec(select(Reading.at_ms).where(Reading.celsius == celsius_sought)).first() is not None


def run_and_kill(
    store: Store, data: Path, broker: Mosquitto, mistake: str, lives_s: list[float]
) -> tuple[set[int], int]:
    """Kill a listener once for each length of life; return the acknowledged publishes and their first instant."""
    with process("listener_process", data, broker.url, mistake):  # makes the durable session
        wait_for(lambda: is_ready(store), within_s=60, what="the first listener is ready")
    first_ms = clock.now_ms() // 1_000 * 1_000 - 20 * clock.MS_PER_DAY
    notes = data / "acknowledged.txt"
    with process("publisher_process", broker.port, first_ms, notes) as publisher:
        for life_s in lives_s:
            before = count(store)
            with process("listener_process", data, broker.url, mistake) as listener:
                wait_for(lambda known=before: count(store) > known, within_s=60, what="the listener writes")
                time.sleep(life_s)  # an instant like any other: this is what is tested
                listener.kill()
                listener.wait(5)
        publisher.terminate()
        publisher.wait(20)
    with process("listener_process", data, broker.url):
        broker.publish("holdwatch/p2", str(SENTINEL_C))  # the broker keeps the order: it comes last
        wait_for(lambda: is_stored(store, SENTINEL_C), within_s=60, what="all is delivered")
    return set(map(int, notes.read_text(encoding="ascii").split())), first_ms


def missing(store: Store, acknowledged: set[int], first_ms: int) -> set[int]:
    """Return the acknowledged publishes that are not on disk as promised."""
    own, bare = Counter(stored(store, "p1")), Counter(c for _, c in stored(store, "p2"))
    lost = {n for n in acknowledged if n % 2 == 0 and own[first_ms + n * 1_000, celsius(n)] != 1}
    return lost | {n for n in acknowledged if n % 2 and bare[celsius(n)] < 1}


def test_listener_killed_twenty_times_loses_nothing_acknowledged(
    store: Store, broker: Mosquitto, tmp_path: Path
) -> None:
    """Own instants are on disk exactly once, bare numbers at least once, under 300 readings a second."""
    dice = random.Random(20_261_124)  # noqa: S311  lengths of life, nothing secret
    lives_s = [dice.uniform(0.0, 0.6) for _ in range(KILLS)]
    acknowledged, first_ms = run_and_kill(store, tmp_path, broker, "sound", lives_s)
    assert len(acknowledged) > 3_000
    assert missing(store, acknowledged, first_ms) == set()
    assert len({at_ms for at_ms, _ in stored(store, "p1")}) == len(stored(store, "p1"))
    with store.read() as session:
        assert session.exec(select(SetAsideMessage)).all() == []


def test_listener_that_acknowledges_first_is_found_out(store: Store, broker: Mosquitto, tmp_path: Path) -> None:
    """The check above sees the mistake of acknowledging before the commit."""
    acknowledged, first_ms = run_and_kill(store, tmp_path, broker, "ack-first", [0.3] * 4)
    assert missing(store, acknowledged, first_ms) != set()
    assert listen_status(store) is not None
