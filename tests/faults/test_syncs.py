"""Between a reading's arrival and its acknowledgement the disk is told to keep it: seen from outside, by strace."""

import os
import re
import shutil
import signal
from pathlib import Path

import pytest

from holdwatch.storage.engine import Store
from tests.faults.conftest import process
from tests.intake.conftest import is_ready, readings_of
from tests.support.mosquitto import Mosquitto
from tests.support.waiting import wait_for

pytestmark = pytest.mark.broker

READINGS = 25
SYNC = re.compile(r"(?:fdatasync|fsync)\(\d+<[^>]*-wal>")
PUBACK = re.compile(r'(?:sendto|write)\(\d+<[^>]*>, "@\\2')
TOLD = re.compile(r'(?:sendto|write)\(\d+<[^>]*>, "[^"]*ack/p2')


def strace(trace: Path) -> tuple[str, ...]:
    """Return the command that writes down what a process asks of the system; without it skip, in CI fail."""
    found = shutil.which("strace")
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("strace is not installed")
        pytest.skip("strace is not installed")
    return (found, "-f", "-y", "-o", str(trace), "-e", "trace=fdatasync,fsync,sendto,write")


def acknowledged_without_sync(lines: list[str]) -> tuple[int, int]:
    """Return how many readings were acknowledged, and how many of them with nothing synced since the one before.

    After each commit the listener sends the broker's acknowledgement (PUBACK, 0x40 0x02), then the device's.
    """
    readings = unsynced = 0
    synced = synced_before_puback = False
    for line in lines:
        if SYNC.search(line):
            synced = True
        elif PUBACK.search(line):
            synced_before_puback = synced
        elif TOLD.search(line):
            readings += 1
            unsynced += not synced_before_puback
            synced = synced_before_puback = False
    return readings, unsynced


@pytest.mark.parametrize(("mistake", "expected"), [("sound", 0), ("unsynced", READINGS)])
def test_listener_syncs_before_every_acknowledgement(
    store: Store, broker: Mosquitto, tmp_path: Path, mistake: str, expected: int
) -> None:
    """One sync of the log at least before each PUBACK; with synchronous NORMAL the same count finds none."""
    trace = tmp_path / "trace.txt"
    with process("listener_process", tmp_path, broker.url, mistake, before=strace(trace)) as traced:
        wait_for(lambda: is_ready(store), within_s=60, what="the traced listener is ready")
        for number in range(READINGS):
            broker.publish("holdwatch/p2", str(number))
            wait_for(lambda known=number: len(readings_of(store, "p2")) > known)
        child = int(Path(f"/proc/{traced.pid}/task/{traced.pid}/children").read_text(encoding="ascii").split()[0])
        os.kill(child, signal.SIGTERM)
        traced.wait(20)
    readings, unsynced = acknowledged_without_sync(trace.read_text(encoding="utf-8", errors="replace").splitlines())
    assert (readings, unsynced) == (READINGS, expected)


def test_acknowledged_without_sync_sees_the_order() -> None:
    """The counter itself: a sync after the PUBACK does not count for it."""
    sync = "7 fdatasync(9</d/holdwatch.db-wal>) = 0"
    puback, told = (
        '7 sendto(5<socket:[1]>, "@\\2\\0\\7", 4) = 4',
        '7 sendto(5<socket:[1]>, "2\\17\\0\\6ack/p2\\0", 17) = 17',
    )
    other = "7 fdatasync(9</d/other>) = 0"
    assert acknowledged_without_sync([sync, puback, told]) == (1, 0)
    assert acknowledged_without_sync([puback, sync, told]) == (1, 1)
    assert acknowledged_without_sync([sync, puback, told, puback, told]) == (2, 1)
    assert acknowledged_without_sync([other, puback, told]) == (1, 1)
