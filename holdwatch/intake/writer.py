"""The one thread that writes: commit what is there as soon as it is free, then acknowledge, in that order.

A group whose commit fails is kept and tried again: its messages stay unacknowledged, and the broker keeps what
follows. A single message that the store refuses for its own sake, while others are taken, is set aside; if
nothing is taken, it is not the message's fault, and everything waits.

A message that comes alone is committed at once. Where many come, each after the other, those that come just after a
commit are collected for a moment: a commit a message would hold the writer's place nearly always, and the watch, which
has to come in between, would be kept out for seconds.
"""

import logging
import queue
import threading
import time
from collections.abc import Callable, Sequence

from holdwatch import clock
from holdwatch.errors import StorageError
from holdwatch.intake.keeper import Keeper, Kept
from holdwatch.intake.message import Message
from holdwatch.language import ENGLISH, _, speak
from holdwatch.storage.engine import Store

__all__ = ["LARGEST_GROUP", "Confirm", "Writer"]

Confirm = Callable[[Sequence[Message], Kept], None]
"""Told of every group that is on disk: acknowledge it now."""

LARGEST_GROUP = 1_000
PACE_S = 0.04
"""Ours: so long after a commit no other is begun for a few messages; far less than anybody waits for a reading."""
ENOUGH = 10
"""So many are not collected any further: half of what a broker sends, as it comes, before one is acknowledged (20)."""
_LOOK_EVERY_S = 0.2
_FIRST_RETRY_S, _LAST_RETRY_S = 0.1, 5.0

_log = logging.getLogger(__name__)


class Writer:
    """Takes messages from a queue and brings them to disk in groups."""

    def __init__(self, store: Store, keeper: Keeper, waiting: "queue.Queue[Message]", confirm: Confirm) -> None:
        self._store, self._keeper, self._waiting, self._confirm = store, keeper, waiting, confirm
        self._stopping = threading.Event()
        self._rests_until = 0.0
        self._thread = threading.Thread(target=self._run, name="holdwatch-writer", daemon=True)
        self.problem = ""
        self.problem_since_ms = 0
        self.language = ENGLISH
        """In which it says why something is set aside: the site's."""
        self.readings = 0
        self.set_aside = 0
        self.last_arrival_ms = 0

    def start(self) -> None:
        """Begin writing."""
        self._thread.start()

    def finish(self, within_s: float) -> None:
        """Write what waits, then end; what cannot be written by then stays with the broker."""
        self._stopping.set()
        self._thread.join(within_s)

    def _run(self) -> None:
        group: list[Message] = []
        retry_s = _FIRST_RETRY_S
        while True:
            group += self._take(LARGEST_GROUP - len(group), block=not group)
            group += self._collect(ENOUGH - len(group))
            if not group:
                if self._stopping.is_set():
                    return
                continue
            group = self._settle(group)
            if not group:
                retry_s = _FIRST_RETRY_S
                continue
            if self._stopping.wait(retry_s):
                self._settle(group)  # once more; after that the broker keeps them for us
                return
            retry_s = min(2 * retry_s, _LAST_RETRY_S)

    def _take(self, limit: int, *, block: bool) -> list[Message]:
        """Return what waits, up to a limit; with `block`, wait a moment for the first."""
        taken: list[Message] = []
        try:
            if block:
                taken.append(self._waiting.get(timeout=_LOOK_EVERY_S))
            while len(taken) < limit:
                taken.append(self._waiting.get_nowait())
        except queue.Empty:
            pass
        return taken

    def _collect(self, limit: int) -> list[Message]:
        """Return what else comes, up to a limit, until the pause after the last commit is over."""
        taken: list[Message] = []
        while (
            len(taken) < limit and (left_s := self._rests_until - time.monotonic()) > 0 and not self._stopping.is_set()
        ):
            try:
                taken.append(self._waiting.get(timeout=left_s))
            except queue.Empty:
                break
        return taken

    def _settle(self, group: list[Message]) -> list[Message]:
        """Bring a group to disk; return what is still to be done."""
        speak(self.language)
        try:
            self._keep(group)
        except StorageError as exc:
            self._trouble(str(exc))
            return group
        except Exception as exc:  # noqa: BLE001  whatever it is, the next message must still be kept
            _log.exception("a group of %d messages was not taken", len(group))
            left = self._settle_singly(group)
            if left:
                self._trouble(_("the store did not take a message ({error})").format(error=type(exc).__name__))
            return left
        self._fine()
        return []

    def _settle_singly(self, group: list[Message]) -> list[Message]:
        """Try each message on its own; set aside what fails while others are taken."""
        failed: list[tuple[Message, str]] = []
        for place, message in enumerate(group):
            try:
                self._keep([message])
            except StorageError:
                return [each for each, _ in failed] + group[place:]
            except Exception as exc:  # noqa: BLE001  as above
                failed.append((message, type(exc).__name__))
        if len(failed) == len(group):
            return group
        for message, error in failed:
            self._refuse(message, error)
        self._fine()
        return []

    def _keep(self, group: Sequence[Message]) -> None:
        """Commit a group; only then acknowledge it."""
        kept = Kept()
        prepared = self._keeper.prepare(group)  # outside the transaction: others wait for it
        if prepared:
            with self._store.write() as session:
                kept = self._keeper.keep(session, prepared, clock.now_ms())
            self._rests_until = time.monotonic() + PACE_S
        self._confirm(group, kept)
        self.readings += kept.readings
        self.set_aside += kept.set_aside
        self.last_arrival_ms = max(self.last_arrival_ms, kept.last_arrival_ms)

    def _refuse(self, message: Message, error: str) -> None:
        """Set aside a message that breaks its own transaction, and acknowledge it."""
        with self._store.write() as session:
            self._keeper.refuse(session, message, _("the store did not take it ({error})").format(error=error))
        self._confirm([message], Kept(set_aside=1))
        self.set_aside += 1

    def _trouble(self, problem: str) -> None:
        if problem != self.problem:
            _log.warning("readings wait to be kept: %s", problem)
            self.problem_since_ms = self.problem_since_ms or clock.now_ms()
            self.problem = problem

    def _fine(self) -> None:
        self.problem, self.problem_since_ms = "", 0
