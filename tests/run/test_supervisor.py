"""`holdwatch run`: everything starts, is kept running, and is stopped in order."""

import json
import os
import signal
import sqlite3
import subprocess
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import IO

import pytest

from holdwatch.run.ports import answers
from holdwatch.run.screens import healthy
from holdwatch.settings import Settings
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.readings import count_readings, last_readings
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import RoleStatus
from tests.support.commands import holdwatch, start
from tests.support.mosquitto import mosquitto, require_mosquitto
from tests.support.waiting import wait_for

pytestmark = pytest.mark.long

PARTS = {"listen", "watch", "notify"}
SLOW_S = 60.0  # how long a busy machine may take over anything


class Run:
    """A `holdwatch run` and what it has said."""

    def __init__(self, process: subprocess.Popen[str], store: Store) -> None:
        self.process, self.store = process, store
        self.out: list[str] = []
        self.told: list[str] = []
        self._readers = [
            threading.Thread(target=self._read, args=(process.stdout, self.out), daemon=True),
            threading.Thread(target=self._read, args=(process.stderr, self.told), daemon=True),
        ]
        for reader in self._readers:
            reader.start()

    @staticmethod
    def _read(pipe: IO[str] | None, lines: list[str]) -> None:
        if pipe is not None:
            with pipe:
                lines += iter(pipe.readline, "")

    def wait(self, question: Callable[[], object], what: str) -> None:
        """Wait for something while it runs."""
        wait_for(lambda: question() or self.process.poll() is not None, SLOW_S, what=f"{what}\n{''.join(self.told)}")
        assert question(), "".join(self.told)

    def ready(self) -> None:
        """Wait until it says so."""
        self.wait(lambda: "ready\n" in self.out, "it is ready")

    def status(self, role: str) -> RoleStatus | None:
        """Return what a part said last."""
        with self.store.read() as session:
            return next((each for each in statuses(session) if each.role == role), None)

    def pid(self, role: str) -> int:
        """Return the process of a part."""
        found = self.status(role)
        return 0 if found is None else found.pid

    def family(self) -> set[int]:
        """Return its children and theirs."""
        return descendants(self.process.pid)

    def stop(self, number: int = signal.SIGINT) -> int:
        """Ask it to stop; return the exit status."""
        self.process.send_signal(number)
        status = self.process.wait(SLOW_S)
        for reader in self._readers:
            reader.join(SLOW_S)
        return status


def descendants(pid: int) -> set[int]:
    """Return the processes that a process has started, and they."""
    found: set[int] = set()
    with suppress(OSError):
        for task in Path(f"/proc/{pid}/task").iterdir():
            for child in (task / "children").read_text(encoding="ascii").split():
                found |= {int(child)} | descendants(int(child))
    return found


def alive(pids: set[int]) -> set[int]:
    """Return which of them still run."""
    running = set()
    for pid in pids:
        with suppress(OSError):
            if Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0] != "Z":
                running.add(pid)
    return running


@contextmanager
def run(settings: Settings, *words: object, **environment: str) -> Iterator[Run]:
    """Run a kitchen for the time of a block; nothing is left of it."""
    store = open_store(settings.store_url)
    process = start(
        *("run", "--data", settings.data, "--port", settings.port, "--broker-port", settings.broker_port, *words),
        **environment,
    )
    running = Run(process, store)
    family: set[int] = set()
    try:
        yield running
        family = running.family()
    finally:
        if process.poll() is None:
            running.stop()
        store.close()
    assert alive(family) == set()


def publish(port: int, topic: str, payload: str) -> None:
    """Publish with an independent client."""
    _, program = require_mosquitto()
    subprocess.run([program, "-p", str(port), "-t", topic, "-m", payload, "-q", "1"], check=True, timeout=20)


@pytest.mark.broker
@pytest.mark.parametrize("own", ["mosquitto", "built-in"])
def test_run_keeps_a_reading_and_goes_on_where_it_was(settings: Settings, own: str) -> None:
    """With either broker: ready, a reading is kept, Ctrl-C stops all, and the next run has the same record."""
    with run(settings, "--no-dashboard", HOLDWATCH_OWN_BROKER=own) as first:
        first.ready()
        assert first.out == ["ready\n"]
        publish(settings.broker_port, "holdwatch/p1", "4.5")
        first.wait(lambda: last_readings_of(first.store), "the reading is kept")
        broker = first.status("broker")
        assert broker is not None
        assert (broker.state, broker.facts["kind"]) == ("ready", own)
        family = first.family()
        assert first.stop() == 0
        assert alive(family) == set()
        assert first.told[-1] == "stopped\n"
        assert {role: getattr(first.status(role), "state", None) for role in PARTS} == dict.fromkeys(PARTS, "stopped")
    with run(settings, "--no-dashboard", HOLDWATCH_OWN_BROKER=own) as second:
        second.ready()
        with second.store.read() as session:
            assert count_readings(session) == 1


def last_readings_of(store: Store) -> dict[int, object]:
    """Return what was heard last."""
    with store.read() as session:
        return dict(last_readings(session))


@pytest.mark.broker
def test_run_with_a_broker_of_the_kitchen_starts_none(settings: Settings, tmp_path: Path) -> None:
    """--broker names the one to use."""
    with mosquitto(tmp_path / "broker") as broker, run(settings, "--no-dashboard", "--broker", broker.url) as running:
        running.ready()
        broker.publish("holdwatch/p1", "4.5")
        running.wait(lambda: last_readings_of(running.store), "the reading is kept")
        status = running.status("broker")
        assert status is not None
        assert status.facts["kind"] == "given"
        commands = [Path(f"/proc/{pid}/cmdline").read_bytes() for pid in running.family()]
        assert not any(b"mosquitto" in command.partition(b"\0")[0] for command in commands)


@pytest.mark.broker
def test_run_starts_whatever_was_killed_again(settings: Settings) -> None:
    """Each part may be killed at any instant, the broker too; the listener finds that by itself."""
    with run(settings, "--no-dashboard") as running:
        running.ready()
        for role in sorted(PARTS):
            before = running.pid(role)
            os.kill(before, signal.SIGKILL)
            running.wait(lambda role=role, before=before: running.pid(role) not in {0, before}, f"{role} runs again")  # type: ignore[misc]
            assert any(f"{role} ended (killed by SIGKILL)" in line for line in running.told)
        os.kill(running.pid("broker"), signal.SIGKILL)
        running.wait(lambda: any(line.startswith("broker ended") for line in running.told), "its end is noticed")
        running.wait(
            lambda: _publishes(settings.broker_port) and last_readings_of(running.store), "the listener hears again"
        )


def _publishes(port: int) -> bool:
    """Publish once, if the broker is there; before the listener is back, nobody may hear it."""
    if not answers("127.0.0.1", port):
        return False
    publish(port, "holdwatch/p1", "4.5")
    return True


def test_run_with_a_broker_that_cannot_be_reached_says_so_and_keeps_trying(settings: Settings) -> None:
    """It is not ready, it does not end, and the trouble is on the screens; a broker that comes is found."""
    url = f"mqtt://127.0.0.1:{settings.broker_port}"
    with run(settings, "--no-dashboard", "--broker", url) as running:
        running.wait(lambda: getattr(running.status("listen"), "state", "") == "trouble", "the trouble is told")
        status = running.status("listen")
        assert status is not None
        assert f"cannot reach the broker at 127.0.0.1:{settings.broker_port}" in status.detail
        running.wait(lambda: any("not ready yet, waiting for listen" in line for line in running.told), "it tells why")
        assert running.out == []
        found = {each["subject"]: each for each in _checkup(settings, url)}
        assert found["listen"]["state"] == "look"
        assert found["broker"]["state"] == "broken"


def _checkup(settings: Settings, url: str) -> list[dict[str, str]]:
    """Return what the check-up says; something is broken."""
    result = holdwatch("checkup", "--json", "--data", settings.data, "--broker", url)
    assert result.exit_code == 1
    found: list[dict[str, str]] = json.loads(result.stdout)
    return found


def test_run_that_is_killed_leaves_nothing_running(settings: Settings) -> None:
    """Even without a chance to stop the others."""
    with run(settings, "--no-dashboard") as running:
        running.ready()
        family = running.family()
        assert len(family) >= 4
        running.process.kill()
        running.process.wait()
        wait_for(lambda: not alive(family), SLOW_S, what="all are gone")


def test_run_with_a_store_of_another_version_while_it_runs_gives_the_part_up(settings: Settings) -> None:
    """A part that would fail again in the same way is not started again; the others go on."""
    with run(settings, "--no-dashboard") as running:
        running.ready()
        with closing(sqlite3.connect(settings.data / "holdwatch.db")) as connection:
            connection.execute("UPDATE alembic_version SET version_num = '9999'")
            connection.commit()
        os.kill(running.pid("notify"), signal.SIGKILL)
        running.wait(
            lambda: any(
                "notify ended (exit status 2); starting it again would not help" in line for line in running.told
            ),
            "it is given up",
        )
        assert alive({running.pid("watch")}) == {running.pid("watch")}
        assert running.stop() == 2


def test_run_serves_the_screens(settings: Settings) -> None:
    """They answer before it is ready, at the address that it prints."""
    with run(settings) as running:
        running.ready()
        assert healthy("127.0.0.1", settings.port)
        assert any(f"the screens are at http://127.0.0.1:{settings.port}" in line for line in running.told)
        found = {each["subject"]: each["state"] for each in _lines(settings)}
        assert found["dashboard"] == "ok"
        assert {name for name, state in found.items() if state == "ok"} >= PARTS
    assert not healthy("127.0.0.1", settings.port)


def _lines(settings: Settings) -> list[dict[str, str]]:
    """Return what the check-up says, whatever it is."""
    result = holdwatch("checkup", "--json", "--data", settings.data)
    found: list[dict[str, str]] = json.loads(result.stdout)
    return found
