"""A listener in a process of its own, to be killed; on request with a mistake built in that a test must find.

Usage: ``python -m tests.faults.listener_process DATA BROKER [sound | ack-first | unsynced]``
"""

import signal
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from holdwatch import clock
from holdwatch.intake.listener import run
from holdwatch.intake.message import Message
from holdwatch.intake.writer import Writer
from holdwatch.storage import engine


@dataclass(frozen=True)
class ListenSettings:
    """What the listener is told."""

    data: Path
    broker_url: str
    database_url: str | None = None


def acknowledge_first() -> None:
    """Build in the mistake of acknowledging before the commit; the pause makes the window wide enough to hit."""

    def keep(self: Any, group: Sequence[Message]) -> None:
        with self._store.write() as session:
            kept = self._keeper.keep(session, self._keeper.prepare(group), clock.now_ms())
            self._confirm(group, kept)
            time.sleep(0.05)

    Writer._keep = keep  # type: ignore[method-assign]


def leave_unsynced() -> None:
    """Build in the mistake of a commit that is not brought to the disk."""
    prepare = engine._prepare_sqlite

    def prepare_unsynced(connection: Any, record: Any) -> None:
        prepare(connection, record)
        connection.execute("PRAGMA synchronous = NORMAL")

    engine._prepare_sqlite = prepare_unsynced


MISTAKES = {"sound": lambda: None, "ack-first": acknowledge_first, "unsynced": leave_unsynced}


def main(data: str, broker: str, mistake: str = "sound") -> None:
    """Listen until asked to end."""
    MISTAKES[mistake]()
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    run(ListenSettings(Path(data), broker), stop)


if __name__ == "__main__":
    main(*sys.argv[1:])
