"""The role that sends what waits in the outbox, and watches the clock for what people promised: ``holdwatch notify``."""

import logging
import os
import random
import socket
import threading
from collections.abc import Callable

from sqlalchemy import text

from holdwatch import clock
from holdwatch.alerts.alive import Alive
from holdwatch.alerts.reminders import remind
from holdwatch.alerts.sending import Outbox, Send
from holdwatch.clock import MS_PER_SECOND
from holdwatch.errors import StorageError, StoreVersionError
from holdwatch.language import _, many, speak
from holdwatch.settings import Settings
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.outbox import waiting_alerts
from holdwatch.storage.status import report
from holdwatch.storage.tables import AlertState, Role

__all__ = ["deliver_due", "run", "store_now_ms"]

_LOOK_EVERY_S = 0.1
"""How often the outbox is looked at: one seek in an index, which finds nothing nearly always."""
_REPORT_EVERY_MS = 10 * clock.MS_PER_SECOND
_REMIND_EVERY_MS = 5 * clock.MS_PER_SECOND
_LONGEST_PAUSE_S = 30.0

_log = logging.getLogger(__name__)


def run(settings: Settings, stop: threading.Event) -> None:
    """Deliver alerts until told to stop."""
    from holdwatch.alerts.carrier import send

    store = open_store(store_url(settings.data, settings.database_url))
    try:
        outbox = Outbox(store, send, lambda: store_now_ms(store), base_url=settings.base_url)
        url = settings.alive_url
        alive = None if url is None else Alive(store, url, settings.alive_every_ms)
        try:
            _loop(store, outbox, alive, stop, settings.base_url)
        finally:
            outbox.close()
        _report(store, "stopped", "", alive)
    finally:
        store.close()


def deliver_due(
    store: Store,
    send: Send,
    now_ms: int,
    *,
    base_url: str = "",
    jitter: Callable[[], float] = random.random,
) -> int:
    """Send what is due at `now_ms`; return how many alerts were taken by their channels."""
    outbox = Outbox(store, send, lambda: now_ms, base_url=base_url, jitter=jitter)
    try:
        outbox.start()
        outbox.finish()
    finally:
        outbox.close()
    return outbox.taken


def store_now_ms(store: Store) -> int:
    """Return the present instant by the clock that all processes of this store share.

    SQLite's is the machine's own; a PostgreSQL server may stand on another machine.
    """
    if store.engine.dialect.name != "postgresql":
        return clock.now_ms()
    with store.read() as session:
        found = session.connection().execute(text("select floor(extract(epoch from clock_timestamp()) * 1000)::bigint"))
        return int(found.scalar_one())


def _loop(store: Store, outbox: Outbox, alive: Alive | None, stop: threading.Event, base_url: str) -> None:
    """Look for due alerts and promised checks, call the outside address, and say how it goes, until told to stop."""
    reported_ms, reminded_ms, pause_s, taken = 0, 0, _LOOK_EVERY_S, 0
    while not stop.is_set():
        try:
            outbox.start()
            speak(outbox.language)
            if abs(clock.now_ms() - reminded_ms) >= _REMIND_EVERY_MS:
                remind(store, clock.now_ms(), base_url)
                reminded_ms = clock.now_ms()
            if alive is not None:
                alive.go_on(clock.now_ms())
            now_ms = clock.now_ms()
            due_ms = reported_ms + (MS_PER_SECOND if outbox.taken != taken else _REPORT_EVERY_MS)
            if not reported_ms <= now_ms < due_ms:
                _report(store, *_state(store, alive), alive)
                reported_ms, taken = now_ms, outbox.taken
            pause_s = _LOOK_EVERY_S
        except StoreVersionError:
            raise
        except StorageError as exc:
            pause_s = min(pause_s * 2, _LONGEST_PAUSE_S)
            _log.warning("the outbox cannot be read, trying again in %.0f s: %s", pause_s, exc)
        except Exception:  # noqa: BLE001  one alert must not stop all others
            pause_s = min(pause_s * 2, _LONGEST_PAUSE_S)
            _log.exception("delivering alerts failed, trying again in %.0f s", pause_s)
        stop.wait(pause_s)


def _state(store: Store, alive: Alive | None) -> tuple[str, str]:
    """Say in a word and a sentence how delivering goes, and calling where that does not go well."""
    state, detail = _delivering(store)
    also_state, also = ("", "") if alive is None else alive.state()
    return ("trouble" if "trouble" in {state, also_state} else state), "; ".join(filter(None, (detail, also)))


def _delivering(store: Store) -> tuple[str, str]:
    """Say in a word and a sentence how delivering goes."""
    with store.read() as session:
        waiting = waiting_alerts(session)
    failing = [alert for alert in waiting if alert.attempts]
    if not failing:
        return "ready", _("{count} to send").format(count=len(waiting)) if waiting else _("nothing to send")
    undelivered = sum(alert.state == AlertState.UNDELIVERED for alert in waiting)
    count = _("{count} not taken yet").format(count=len(failing))
    if undelivered:
        count += ", " + many("{count} undelivered", "{count} undelivered", undelivered)
    return "trouble", _("{count}; last: {error}").format(count=count, error=failing[-1].last_error)


def _report(store: Store, state: str, detail: str, alive: Alive | None) -> None:
    """Write how it goes into the store; that it cannot be written stops nothing."""
    facts = {"host": socket.gethostname(), **({} if alive is None else alive.facts())}
    try:
        with store.write() as session:
            report(session, Role.NOTIFY, os.getpid(), state, detail, facts, clock.now_ms())
    except StorageError as exc:
        _log.warning("the state of notify cannot be recorded: %s", exc)
