"""Several writers, a full disk, a read-only one, a lock held by somebody else."""

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.errors import StorageError, StoreBusyError, StoreFullError, StoreReadOnlyError
from holdwatch.storage import engine as engine_module
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.readings import NewReading, count_readings, write_readings
from holdwatch.storage.states import watch_state
from tests.storage.kitchen import NOW

_ROOT = Path(__file__).parents[2]


@pytest.fixture
def _new_stores_are_copies() -> None:
    """Migrate each store here."""


def test_write_by_four_processes_at_once_loses_nothing(url: str) -> None:
    """Transactions that read first and write then all succeed, each on what the one before left."""
    times = 50
    command = [sys.executable, "-m", "tests.storage.writer", url, str(times)]
    running = [subprocess.Popen(command, cwd=_ROOT, stderr=subprocess.PIPE, text=True) for _ in range(4)]
    complaints = [process.communicate(timeout=240)[1] for process in running]
    assert [process.returncode for process in running] == [0] * 4, complaints
    store = open_store(url)
    with store.read() as session:
        row = watch_state(session, "counter")
    store.close()
    assert row is not None
    assert row.facts == {"count": 4 * times}


def test_write_while_another_program_holds_the_file_is_a_busy_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody's open editor of the database is named as what it may be."""
    monkeypatch.setattr(engine_module, "BUSY_TIMEOUT_MS", 100)
    store = open_store(store_url(tmp_path, None), migrate=True)
    other = sqlite3.connect(tmp_path / "holdwatch.db", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")

    def add() -> None:
        with store.write() as session:
            write_readings(session, [NewReading(1, NOW, 4.0, NOW)], NOW)

    with pytest.raises(StoreBusyError, match="locked by another process"):
        add()
    other.execute("ROLLBACK")
    other.close()
    add()
    with store.read() as session:
        assert count_readings(session) == 1
    store.close()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of one mebibyte."""
    mount = shutil.which("mount")
    if os.geteuid() != 0 or mount is None:
        pytest.skip("mounting a small file system needs root")
    place = tmp_path / "small"
    place.mkdir()
    done = subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(place)], capture_output=True, text=True, check=False
    )
    if done.returncode:
        pytest.skip(f"this machine lets nothing be mounted: {done.stderr.strip()}")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_write_on_a_full_disk_is_one_line_and_loses_nothing(small_disk: Path) -> None:
    """What was committed stays; what was not is not half there; with space it goes on."""
    (small_disk / "ballast").write_bytes(b"x" * 200_000)
    store = open_store(store_url(small_disk, None), migrate=True)
    committed = 0

    def add() -> int:
        at_ms = NOW + committed
        with store.write() as session:
            write_readings(session, [NewReading(1, at_ms + i, 4.0, at_ms) for i in range(200)], NOW)
        return 200

    def fill() -> None:
        nonlocal committed
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            committed += add()

    with pytest.raises(StoreFullError, match="is full: free some space") as caught:
        fill()
    assert "\n" not in str(caught.value)
    assert committed > 0
    with store.read() as session:
        assert count_readings(session) == committed
    (small_disk / "ballast").unlink()
    committed += add()
    store.close()
    again = open_store(store_url(small_disk, None))
    with again.read() as session:
        assert count_readings(session) == committed
    again.close()


def test_open_store_on_a_full_disk_is_one_line(small_disk: Path) -> None:
    """A store that cannot be made for want of space says so."""
    with pytest.raises(OSError, match="No space"):
        (small_disk / "ballast").write_bytes(b"x" * 2_000_000)
    with pytest.raises(StorageError, match="is full") as caught:
        open_store(store_url(small_disk, None), migrate=True)
    assert "\n" not in str(caught.value)


def test_open_store_on_a_read_only_disk_is_one_line(small_disk: Path) -> None:
    """A store that may not be written says so, and what to do."""
    open_store(store_url(small_disk, None), migrate=True).close()
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(StoreReadOnlyError, match="may not be written") as caught:
        open_store(store_url(small_disk, None))
    assert "\n" not in str(caught.value)
    with pytest.raises(StoreReadOnlyError):
        open_store(store_url(small_disk / "new", None), migrate=True)
