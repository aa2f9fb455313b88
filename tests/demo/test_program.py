"""``holdwatch demo`` as a newcomer starts it: a real broker, all parts, Ctrl-C, and again."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from holdwatch.demo.inbox import read_inbox
from holdwatch.demo.plan import DemoPlan
from holdwatch.settings import Settings
from holdwatch.storage.engine import open_store
from holdwatch.storage.readings import count_readings
from holdwatch.storage.register import batches

pytestmark = pytest.mark.long


def _start(data: Path, log: Path) -> "subprocess.Popen[bytes]":
    with log.open("ab") as out:
        return subprocess.Popen(
            (sys.executable, "-m", "holdwatch", "demo", "--data", str(data), "--no-dashboard"),
            stdout=out,
            stderr=out,
            start_new_session=True,
        )


def _until(condition: Callable[[], bool], process: "subprocess.Popen[bytes]", log: Path, seconds: float = 200) -> None:
    for _ in range(int(seconds / 0.1)):
        if condition():
            return
        assert process.poll() is None, log.read_text(encoding="utf-8")
        time.sleep(0.1)
    pytest.fail(log.read_text(encoding="utf-8"))


def _interrupt(process: "subprocess.Popen[bytes]") -> int:
    process.send_signal(signal.SIGINT)
    return process.wait(30)


def _readings(data: Path) -> int:
    store = open_store(Settings(data=data).store_url)
    try:
        with store.read() as session:
            return count_readings(session)
    finally:
        store.close()


def _ours(data: Path) -> list[str]:
    """Return the command lines of processes that belong to a data directory."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            environment = (entry / "environ").read_bytes()
            command = (entry / "cmdline").read_bytes()
        except OSError:
            continue
        if f"HOLDWATCH_DATA={data}".encode() in environment or str(data).encode() in command:
            found.append(command.replace(b"\0", b" ").decode(errors="replace"))
    return found


def _lot(data: Path) -> str:
    """Return the lot of the forgotten custard."""
    plan = DemoPlan.load(data)
    assert plan is not None
    return plan.live()[0].lot


@pytest.mark.broker
@pytest.mark.timeout(600)
def test_demo_starts_stops_and_goes_on(tmp_path: Path) -> None:
    """The custard's alert reaches the inbox; live readings are kept; Ctrl-C leaves nothing; the next start goes on."""
    data, log = tmp_path / "demo", tmp_path / "out.txt"
    process = _start(data, log)
    try:
        _until(lambda: "\nready" in log.read_text(encoding="utf-8"), process, log)
        before = _readings(data)
        _until(lambda: any(_lot(data) in told["title"] for told in read_inbox(data)), process, log)
        _until(lambda: _readings(data) >= before + 10, process, log)
        assert _interrupt(process) == 0
        assert _ours(data) == []
        first = _readings(data)
        process = _start(data, log)
        _until(lambda: log.read_text(encoding="utf-8").count("\nready") == 2, process, log)
        _until(lambda: _readings(data) > first, process, log)
        assert _interrupt(process) == 0
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait(10)
    assert _ours(data) == []
    told = [(alert["title"], alert["message"]) for alert in read_inbox(data, 1_000)]
    assert len(set(told)) == len(told), "no alert is sent twice"
    store = open_store(Settings(data=data).store_url)
    with store.read() as session:
        lots = [batch.lot for batch in batches(session)]
    store.close()
    assert len(set(lots)) == len(lots)
    assert len(json.loads((data / "demo.json").read_text(encoding="utf-8"))["sets_ms"]) == 1
