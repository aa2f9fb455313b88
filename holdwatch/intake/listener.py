"""The role that listens to the probes: ``holdwatch listen``.

Three threads. The network's takes messages and puts them into a bounded queue, where it waits when that is
full. The writer commits what is there and acknowledges it afterwards. The minder, which is the caller's own,
reads the register again, sends markers, looks after the other two, and says how it goes.
"""

import logging
import os
import queue
import secrets
import socket
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from holdwatch import clock
from holdwatch.errors import StorageError
from holdwatch.intake.address import DEFAULT_BROKER, BrokerAddress, parse_broker
from holdwatch.intake.condition import describe
from holdwatch.intake.keeper import Keeper, Kept
from holdwatch.intake.link import Link
from holdwatch.intake.message import Message
from holdwatch.intake.roster import Roster
from holdwatch.intake.writer import Writer
from holdwatch.language import speak
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.lock import listener_lock
from holdwatch.storage.register import site_at
from holdwatch.storage.status import report
from holdwatch.storage.tables import Role

__all__ = ["ListenSettings", "Listener", "client_id", "run"]

_QUEUE = 10_000
_MIND_EVERY_S = 0.25
_READ_REGISTER_EVERY_MS = 1_000
_REPORT_CHANGE_MS = 2_000
_REPORT_EVERY_MS = 10_000
_CHECKPOINT_EVERY_MS = 5 * clock.MS_PER_MINUTE
_FINISH_WITHIN_S = 3.0
_CLIENT_ID_FILE = "mqtt-client-id"

_log = logging.getLogger(__name__)


class ListenSettings(Protocol):
    """What the listener needs of the settings."""

    @property
    def data(self) -> Path:
        """Data directory."""

    @property
    def database_url(self) -> str | None:
        """URL of the store, where it is not the data directory's own."""

    @property
    def broker_url(self) -> str | None:
        """URL of the broker."""


def run(settings: ListenSettings, stop: threading.Event) -> None:
    """Keep what the probes say until told to stop."""
    address = parse_broker(settings.broker_url or DEFAULT_BROKER)
    store = open_store(store_url(settings.data, settings.database_url))
    try:
        with listener_lock(store):
            Listener(store, address, client_id(settings.data)).run(stop)
    finally:
        store.close()


def client_id(data_dir: Path) -> str:
    """Return the name under which the broker keeps our messages; made once, and kept in the data directory.

    Raises
    ------
    StorageError
        If it cannot be kept.
    """
    path = data_dir / _CLIENT_ID_FILE
    try:
        if path.exists() and (known := path.read_text(encoding="ascii").strip()):
            return known
        made = f"holdwatch-{secrets.token_hex(4)}"
        part = path.with_suffix(".part")
        part.write_text(made + "\n", encoding="ascii")
        part.replace(path)
    except (OSError, UnicodeDecodeError) as exc:
        raise StorageError(f"{path} cannot be used ({exc}); see that the data directory is there and writable") from exc
    return made


class Listener:
    """One listener and its three threads."""

    def __init__(self, store: Store, address: BrokerAddress, name: str) -> None:
        self._store, self._address = store, address
        self._roster = Roster()
        self._waiting: queue.Queue[Message] = queue.Queue(_QUEUE)
        self._taking = threading.Event()
        self.link = Link(address, name, self._deliver)
        self.writer = Writer(store, Keeper(self._roster), self._waiting, self._confirm)
        self._zone = "UTC"
        self._read_ms = self._reported_ms = 0
        self._checkpointed_ms = clock.monotonic_ms()
        self._said = ("", "")

    def run(self, stop: threading.Event) -> None:
        """Listen until told to stop; then keep and acknowledge what is in hand."""
        self._read_register()
        self._taking.set()
        self.writer.start()
        self.link.start()
        try:
            while not stop.wait(_MIND_EVERY_S):
                self._mind()
        finally:
            self._taking.clear()
            self.writer.finish(_FINISH_WITHIN_S)
            self.link.stop()
            self._report("stopped", "")

    # ---- the network thread

    def _deliver(self, message: Message) -> None:
        """Hand a message to the writer; wait while it has too many."""
        while self._taking.is_set():
            try:
                self._waiting.put(message, timeout=_MIND_EVERY_S)
            except queue.Full:
                continue
            return

    # ---- the writer thread

    def _confirm(self, group: Sequence[Message], kept: Kept) -> None:
        """Acknowledge what is on disk, to the broker and to the devices."""
        for message in group:
            self.link.acknowledge(message)
        for topic, payload in kept.acks.messages():
            self.link.tell(topic, payload)

    # ---- the minder

    def _mind(self) -> None:
        """Do what is due; the store's trouble must not end it."""
        now_ms = clock.monotonic_ms()
        self.link.tick()
        try:
            if now_ms - self._read_ms >= _READ_REGISTER_EVERY_MS:
                self._read_register()
            if now_ms - self._checkpointed_ms >= _CHECKPOINT_EVERY_MS:
                self._checkpointed_ms = now_ms
                self._store.checkpoint()
        except StorageError as exc:
            _log.warning("the register cannot be read: %s", exc)
        except Exception:  # noqa: BLE001  the minder goes on whatever happens
            _log.exception("minding the listener failed")
        self._report_when_due(now_ms)

    def _read_register(self) -> None:
        """Learn of new probes, and of the site's time zone and language."""
        self._read_ms = clock.monotonic_ms()
        with self._store.read() as session:
            self._roster.read(session)
            site = site_at(session, None)
        self._zone, self.writer.language = site.timezone, site.language
        speak(site.language)
        self.link.listen_to(self._roster.topics_outside())

    def _report_when_due(self, now_ms: int) -> None:
        """Say how it goes: soon after a change, now and then without one."""
        state = describe(
            self._address,
            self.link.state(),
            problem=self.writer.problem,
            problem_since_ms=self.writer.problem_since_ms,
            unfit=self._roster.unfit(),
            zone=self._zone,
        )
        pause_ms = _REPORT_CHANGE_MS if state != self._said else _REPORT_EVERY_MS
        if now_ms - self._reported_ms >= pause_ms:
            self._reported_ms, self._said = now_ms, state
            self._report(*state)

    def _report(self, state: str, detail: str) -> None:
        """Write how it goes into the store; that it cannot be written stops nothing."""
        facts = {
            "host": socket.gethostname(),
            "broker": str(self._address),
            "probes": len(self._roster),
            "waiting": self._waiting.qsize(),
            "readings": self.writer.readings,
            "set_aside": self.writer.set_aside,
            "last_arrival_ms": self.writer.last_arrival_ms,
            "live": self.link.state().live,
        }
        try:
            with self._store.write() as session:
                report(session, Role.LISTEN, os.getpid(), state, detail, facts, clock.now_ms())
        except StorageError as exc:
            _log.warning("the state of the listener cannot be recorded: %s", exc)
        except Exception:  # noqa: BLE001  as above
            _log.exception("the state of the listener cannot be recorded")
