"""A whole running system: real broker, real store, real receivers, all roles as processes of their own."""

import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from tests.alerts.alert_receivers import Hook, Mailbox, http_receiver, smtp_receiver
from tests.support.mosquitto import Mosquitto, free_port, mosquitto
from tests.support.waiting import wait_for

__all__ = ["Kitchen", "iso", "running_kitchen"]

READY_WITHIN_S = 60.0


def iso(at: datetime) -> str:
    """Write an instant for the command line."""
    return at.astimezone(UTC).isoformat(timespec="milliseconds")


@dataclass
class Kitchen:
    """What a test needs to know of the running system."""

    data: Path
    broker: Mosquitto
    hook: Hook
    mailbox: Mailbox
    port: int
    env: dict[str, str]
    out: list[str] = field(default_factory=list)

    @property
    def url(self) -> str:
        """Where the screens are."""
        return f"http://127.0.0.1:{self.port}"

    def run(self, *words: str, expect: Sequence[int] = (0,)) -> str:
        """Run one command of Holdwatch and return what it printed."""
        done = subprocess.run(
            [sys.executable, "-m", "holdwatch", *words],
            env=self.env,
            capture_output=True,
            text=True,
            timeout=90,
            check=False,
        )
        assert done.returncode in expect, f"{words}: exit {done.returncode}\n{done.stdout}\n{done.stderr}"
        return done.stdout

    def ask(self, *words: str, expect: Sequence[int] = (0,)) -> Any:
        """Run one command with --json and return its answer."""
        return json.loads(self.run(*words, "--json", expect=expect))

    def findings(self, clause: str, lot: str) -> list[dict[str, Any]]:
        """Return the findings of one clause for one lot."""
        return [f for f in self.ask("findings") if f["clause"] == clause and lot in f["subject"]]


@contextmanager
def running_kitchen(directory: Path, database_url: str | None) -> Iterator[Kitchen]:
    """Set a kitchen up by its own commands and run it until the block ends."""
    data = directory / "data"
    env = {**os.environ, "HOLDWATCH_DATA": str(data)}
    env.pop("HOLDWATCH_DATABASE_URL", None)
    if database_url is not None:
        env["HOLDWATCH_DATABASE_URL"] = database_url
    with mosquitto(directory / "broker") as broker, http_receiver() as hook, smtp_receiver() as mailbox:
        kitchen = Kitchen(data, broker, hook, mailbox, free_port(), env)
        kitchen.run(
            *("init", "--data", str(data), "--site", "Linden Street Patisserie"),
            *("--timezone", "America/Denver", "--limits", "us-food-code-2022"),
        )
        kitchen.run("unit", "add", "Walk-in 1", "--kind", "walk-in")
        kitchen.run("probe", "add", "p1", "--medium", "food")
        kitchen.run("probe", "add", "p2", "--medium", "food", "--payload", "senml")
        kitchen.run("probe", "add", "p3", "--medium", "air", "--payload", "json", "--pointer", "/d/temp", "--unit", "F")
        kitchen.run("place", "p3", "--unit", "Walk-in 1")
        kitchen.run("contact", "add", "mgr", "--url", hook.url)
        kitchen.run("contact", "add", "office", "--url", mailbox.url)
        with _supervised(kitchen):
            yield kitchen


@contextmanager
def _supervised(kitchen: Kitchen) -> Iterator[None]:
    words = ["run", "--broker", kitchen.broker.url, "--port", str(kitchen.port)]
    log = (kitchen.data / "run.stderr").open("ab")
    process = subprocess.Popen(
        [sys.executable, "-m", "holdwatch", *words], env=kitchen.env, stdout=subprocess.PIPE, stderr=log, text=True
    )
    stdout = process.stdout
    assert stdout is not None
    reader = threading.Thread(target=lambda: kitchen.out.extend(stdout), daemon=True)
    reader.start()
    try:
        wait_for(
            lambda: process.poll() is not None or any(line.strip() == "ready" for line in kitchen.out),
            within_s=READY_WITHIN_S,
            what="the line `ready`",
        )
        assert process.poll() is None, (kitchen.data / "run.stderr").read_text()
        yield
    finally:
        process.terminate()
        process.wait(20)
        reader.join(5)
        stdout.close()
        log.close()


def hours_ago(hours: float) -> datetime:
    """Return an instant some hours ago, in whole seconds."""
    return datetime.now(UTC).replace(microsecond=0) - timedelta(hours=hours)
