"""A process that the supervisor keeps running."""

import logging
import os
import signal
import subprocess
import sys
from collections import deque
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field

__all__ = ["Child", "Running"]

_LAST_LINES = 5
_LONGEST_LINE = 2_000
_BACKOFF_S = (0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 30.0)
_HEALTHY_AFTER_MS = 60_000


@dataclass(frozen=True)
class Child:
    """What to start, and how to treat it."""

    name: str
    command: tuple[str, ...]
    environment: Mapping[str, str] = field(default_factory=dict)
    shown: bool = True
    """Whether its lines are shown to people; they are always in the log."""
    patience_s: float = 1.0
    """How long it may take to end when it is asked to."""
    holds_nothing: bool = False
    """Whether ending it at once loses nothing, so that nobody need be told of it."""
    reports: str | None = None
    """The role under which it says in the store how it goes; ``run`` is not ready before it has said so."""


class Running:
    """A child, its process, and what to do when that ends."""

    def __init__(self, child: Child, log: logging.Logger) -> None:
        self.child, self.log = child, log
        self.process: subprocess.Popen[bytes] | None = None
        self.started_ms = self.restart_ms = 0
        self.failures = 0
        self.given_up = False
        self.last = deque[str](maxlen=_LAST_LINES)
        self._rest = b""

    def start(self, environment: Mapping[str, str], now_ms: int) -> None:
        """Start it in its own session, tied to this process."""
        lifeline = (sys.executable, "-m", "holdwatch.run.lifeline", str(os.getpid()))
        self.process = subprocess.Popen(
            (*lifeline, *self.child.command),
            env={**environment, **self.child.environment},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        if self.process.stdout is not None:
            os.set_blocking(self.process.stdout.fileno(), False)
        self.started_ms, self.restart_ms = now_ms, 0

    @property
    def pid(self) -> int | None:
        """Its process id while it runs."""
        return None if self.process is None or self.process.poll() is not None else self.process.pid

    def read_lines(self) -> list[str]:
        """Take what it has written since; the log gets it too."""
        if self.process is None or self.process.stdout is None:
            return []
        with suppress(BlockingIOError, ValueError):
            while block := os.read(self.process.stdout.fileno(), 65_536):
                self._rest += block
        *whole, self._rest = self._rest.split(b"\n")
        self._rest = self._rest[-_LONGEST_LINE:]
        lines = [line.decode(errors="replace").rstrip()[:_LONGEST_LINE] for line in whole if line.strip()]
        for line in lines:
            self.last.append(line)
            self.log.info("%s: %s", self.child.name, line)
        return lines

    def note_end(self, status: int, useless: int, now_ms: int) -> str:
        """Decide when it is started again; return a sentence about it."""
        if now_ms - self.started_ms >= _HEALTHY_AFTER_MS:
            self.failures = 0
        self.close()
        why = f": {self.last[-1]}" if self.last and not self.child.shown else ""  # shown lines were read already
        ended = f"{self.child.name} ended ({_words(status)}){why}"
        if status == useless:
            self.given_up = True
            return f"{ended}; starting it again would not help"
        pause_s = _BACKOFF_S[min(self.failures, len(_BACKOFF_S) - 1)]
        self.failures += 1
        self.restart_ms = now_ms + round(pause_s * 1_000)
        return f"{ended}; it is started again in {pause_s:g} s"

    def ask_to_stop(self) -> None:
        """Ask it to end."""
        self._signal(signal.SIGTERM)

    def kill(self) -> None:
        """End it and whatever it has started."""
        self._signal(signal.SIGKILL)
        if self.process is not None:
            self.process.wait()
        self.close()

    def close(self) -> None:
        """Let go of a process that has ended."""
        if self.process is not None and self.process.stdout is not None:
            self.read_lines()
            self.process.stdout.close()
        self.process = None

    def _signal(self, number: int) -> None:
        """Send a signal to its session; to nobody once the process is gone."""
        if self.process is not None and (self.process.poll() is None or number == signal.SIGKILL):
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(self.process.pid, number)


def _words(status: int) -> str:
    """Say how a process ended."""
    return f"exit status {status}" if status >= 0 else f"killed by {signal.Signals(-status).name}"
