"""The role ``watch``: a round about every second, at once when something has arrived, until it is told to stop."""

import logging
import os
import socket
from collections.abc import Sequence
from dataclasses import dataclass
from threading import Event

from holdwatch import clock
from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.errors import HoldwatchError, StorageError
from holdwatch.settings import Settings
from holdwatch.storage.arrivals import is_waiting
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.lock import watch_lock
from holdwatch.storage.status import report
from holdwatch.storage.tables import Role
from holdwatch.watch.health import Health
from holdwatch.watch.lookback import LookBack
from holdwatch.watch.reminding import Reminders
from holdwatch.watch.rounds import RoundReport, Watch, go_round
from holdwatch.watch.sealer import Sealer

__all__ = ["RoundReport", "Watch", "go_round", "run", "watch_of"]

ROUND_S = 1.0
LOOK_S = 0.1
"""How often the queue is looked at: one seek in a table that is nearly always empty."""
STATUS_MS = 10 * MS_PER_SECOND
CHECKPOINT_MS = MS_PER_MINUTE
TRY_AGAIN_S = (1.0, 30.0)
_log = logging.getLogger(__name__)


@dataclass
class _Said:
    """What was last told of the role, and when."""

    state: tuple[str, str] = ("", "")
    at_ms: int = 0
    checkpoint_ms: int = 0


def run(settings: Settings, stop: Event) -> None:
    """Watch until `stop` is set.

    Raises
    ------
    StorageError
        If there is no store, it is of another version, or another watch judges it already. Later trouble with the store is waited out.
    """
    store = open_store(store_url(settings.data, settings.database_url))
    try:
        with watch_lock(store):
            watch = watch_of(store, settings)
            watch.give_way = stop.wait
            beside = (
                Sealer(store, settings.data, settings.witness),
                LookBack(store, watch.base_url, watch.largest_gap_ms),
                Health(store, settings.data, watch.base_url),
                Reminders(store, watch.base_url, settings.remind_at_min),
            )
            _go_on(watch, beside, stop)
    finally:
        store.close()


def watch_of(store: Store, settings: Settings) -> Watch:
    """Make the watch of a store as the settings say."""
    default = type(settings).model_fields["largest_gap_min"].default
    gap_ms = None if settings.largest_gap_min == default else settings.largest_gap_ms
    return Watch(store, settings.base_url, gap_ms)


def _go_on(watch: Watch, beside: Sequence[Sealer | LookBack | Health | Reminders], stop: Event) -> None:
    said, pause_s = _Said(checkpoint_ms=clock.monotonic_ms()), TRY_AGAIN_S[0]
    _tell(watch.store, said, "starting", "")
    while not stop.is_set():
        try:
            done = watch.go_round(clock.now_ms(), clock.monotonic_ms())
        except StorageError as exc:
            _log.warning("the store cannot be used, trying again: %s", exc)
            pause_s = _wait_out(watch, said, str(exc), stop, pause_s)
            continue
        except Exception as exc:  # noqa: BLE001  the role's one broad except: it goes on, and says so
            _log.exception("a round failed, trying again")
            pause_s = _wait_out(watch, said, f"a round failed: {exc}", stop, pause_s)
            continue
        pause_s = TRY_AGAIN_S[0]
        _tell(watch.store, said, "trouble" if done.trouble else "ready", done.trouble)
        _checkpoint(watch.store, said)
        _do_beside(beside)
        _rest(watch.store, done, stop)
    _tell(watch.store, said, "stopped", "")


def _wait_out(watch: Watch, said: _Said, detail: str, stop: Event, pause_s: float) -> float:
    """Say what is wrong, wait, and return how long to wait the next time."""
    _tell(watch.store, said, "trouble", detail)
    stop.wait(pause_s)
    return min(2 * pause_s, TRY_AGAIN_S[1])


def _rest(store: Store, done: RoundReport, stop: Event) -> None:
    """Wait for the next round: a second, or until something arrives."""
    begun_ms = clock.monotonic_ms()
    while not stop.wait(LOOK_S):
        rested_ms = clock.monotonic_ms() - begun_ms
        if rested_ms >= ROUND_S * MS_PER_SECOND or done.unfinished:
            return
        if not done.trouble and _has_arrivals(store):
            return


def _has_arrivals(store: Store) -> bool:
    try:
        with store.read() as session:
            return is_waiting(session)
    except StorageError:
        return True  # the round itself meets the trouble, and tells it


def _tell(store: Store, said: _Said, state: str, detail: str) -> None:
    """Report how the watch is doing, when that changed and now and then; that it cannot be written stops nothing."""
    now_ms = clock.now_ms()
    if (state, detail) == said.state and 0 <= now_ms - said.at_ms < STATUS_MS:
        return
    facts = {"host": socket.gethostname()}
    try:
        with store.write() as session:
            report(session, Role.WATCH, os.getpid(), state, detail, facts, now_ms)
    except StorageError as exc:
        _log.warning("the state of the watch cannot be recorded: %s", exc)
        return
    said.state, said.at_ms = (state, detail), now_ms


def _do_beside(beside: Sequence[Sealer | LookBack | Health | Reminders]) -> None:
    """Do what is done between rounds; that it cannot be done stops no watching."""
    for each in beside:
        try:
            each.go_on(clock.now_ms(), clock.monotonic_ms())
        except HoldwatchError as exc:
            _log.warning("%s has to be tried again: %s", type(each).__name__, exc)


def _checkpoint(store: Store, said: _Said) -> None:
    """Move the write-ahead log into the store now and then, so that it does not grow."""
    if clock.monotonic_ms() - said.checkpoint_ms < CHECKPOINT_MS:
        return
    said.checkpoint_ms = clock.monotonic_ms()
    try:
        store.checkpoint()
    except StorageError as exc:
        _log.warning("the store's log cannot be moved into it yet: %s", exc)
