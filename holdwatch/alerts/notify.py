"""The role that empties the outbox: ``holdwatch notify``.

An alert is leased in one short transaction, sent outside of any, and its outcome recorded in another. Two of these
processes beside each other never lease the same alert. A process that dies between a channel's yes and the record
of it leaves an alert whose lease runs out: it is sent again. So a message arrives at least once, twice only after
such a death, and never zero times while its channel works.

When one contact's channel fails, the rest of that contact's alerts wait for the same next try; others are not held up.
"""

import logging
import os
import random
import socket
import threading
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from sqlalchemy import text
from sqlmodel import Session

from holdwatch import clock
from holdwatch.alerts.decide import Reason, not_needed
from holdwatch.alerts.message import Message
from holdwatch.alerts.reminders import remind
from holdwatch.alerts.retry import NextTry, next_try
from holdwatch.errors import DeliveryError, StorageError, StoreVersionError
from holdwatch.settings import Settings
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.handling import handling
from holdwatch.storage.outbox import drop_alert, due_alerts, record_attempt, waiting_alerts
from holdwatch.storage.status import report
from holdwatch.storage.tables import Alert, AlertState, Contact, Finding, FindingKind, Role

__all__ = ["Send", "deliver_due", "run", "store_now_ms"]

Send = Callable[[str, Message], None]
"""Hands a message to the channel behind a URL, or raises DeliveryError."""

_LEASED_AT_ONCE = 5
LEASE_MS = 2 * clock.MS_PER_MINUTE  # more than five sends of 15 s one after the other
_LOOK_EVERY_S = 0.5
_REPORT_EVERY_MS = 10 * clock.MS_PER_SECOND
_REMIND_EVERY_MS = 5 * clock.MS_PER_SECOND
_LONGEST_PAUSE_S = 30.0

_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class _Job:
    """An alert that we hold the lease of, with where it goes and what it is about."""

    alert: Alert
    url: str
    retired: bool
    over: bool


def run(settings: Settings, stop: threading.Event) -> None:
    """Deliver alerts until told to stop."""
    from holdwatch.alerts.carrier import send

    store = open_store(store_url(settings.data, settings.database_url))
    try:
        _loop(store, send, stop, settings.base_url)
        _report(store, "stopped", "")
    finally:
        store.close()


def deliver_due(store: Store, send: Send, now_ms: int, *, jitter: Callable[[], float] = random.random) -> int:
    """Send what is due at `now_ms`; return how many alerts were taken by their channels."""
    return _deliver(store, send, lambda: now_ms, jitter)


def store_now_ms(store: Store) -> int:
    """Return the present instant by the clock that all processes of this store share.

    SQLite's is the machine's own; a PostgreSQL server may stand on another machine.
    """
    if store.engine.dialect.name != "postgresql":
        return clock.now_ms()
    with store.read() as session:
        found = session.connection().execute(text("select floor(extract(epoch from clock_timestamp()) * 1000)::bigint"))
        return int(found.scalar_one())


def _loop(store: Store, send: Send, stop: threading.Event, base_url: str) -> None:
    """Look for due alerts and promised checks, and say how it goes, until told to stop."""
    reported_ms, reminded_ms, pause_s = 0, 0, _LOOK_EVERY_S
    while not stop.is_set():
        try:
            taken = _deliver(store, send, lambda: store_now_ms(store), random.random)
            if abs(clock.now_ms() - reminded_ms) >= _REMIND_EVERY_MS:
                remind(store, clock.now_ms(), base_url)
                reminded_ms = clock.now_ms()
            now_ms = clock.now_ms()
            if taken or abs(now_ms - reported_ms) >= _REPORT_EVERY_MS:
                _report(store, *_state(store))
                reported_ms = now_ms
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


def _state(store: Store) -> tuple[str, str]:
    """Say in a word and a sentence how delivering goes."""
    with store.read() as session:
        waiting = waiting_alerts(session)
    failing = [alert for alert in waiting if alert.last_error]
    if not failing:
        return "ready", f"{len(waiting)} to send" if waiting else "nothing to send"
    undelivered = sum(alert.state == AlertState.UNDELIVERED for alert in waiting)
    count = f"{len(failing)} not taken yet" + (f", {undelivered} undelivered" if undelivered else "")
    return "trouble", f"{count}; last: {failing[-1].last_error}"


def _report(store: Store, state: str, detail: str) -> None:
    """Write how it goes into the store; that it cannot be written stops nothing."""
    try:
        with store.write() as session:
            report(session, Role.NOTIFY, os.getpid(), state, detail, {"host": socket.gethostname()}, clock.now_ms())
    except StorageError as exc:
        _log.warning("the state of notify cannot be recorded: %s", exc)


def _deliver(store: Store, send: Send, now: clock.Clock, jitter: Callable[[], float]) -> int:
    """Send until nothing is due; each failing channel is tried once."""
    outbox = _Outbox(store, send, now, jitter)
    taken = 0
    while jobs := outbox.lease():
        by_contact: dict[int, list[_Job]] = defaultdict(list)
        for job in jobs:
            by_contact[job.alert.contact_id].append(job)
        with ThreadPoolExecutor(max_workers=len(by_contact)) as pool:
            taken += sum(pool.map(outbox.send_in_turn, by_contact.values()))
    return taken


class _Outbox:
    """One pass over the outbox; it remembers which channels failed in it."""

    def __init__(self, store: Store, send: Send, now: clock.Clock, jitter: Callable[[], float]) -> None:
        self._store, self._send, self._now, self._jitter = store, send, now, jitter
        self._failed: dict[int, DeliveryError] = {}

    def lease(self) -> list[_Job]:
        """Take the next alerts so that no other process sends them meanwhile."""
        while True:
            with self._store.write() as session:
                leased = due_alerts(session, self._now(), _LEASED_AT_ONCE, LEASE_MS)
                jobs = self._jobs(session, leased)
            if jobs or not leased:
                return jobs

    @staticmethod
    def _jobs(session: Session, leased: list[Alert]) -> list[_Job]:
        """Return what is to be sent; what waited for somebody who has come meanwhile is dropped."""
        jobs = []
        for alert in leased:
            contact = session.get_one(Contact, alert.contact_id)
            finding = session.get_one(Finding, alert.finding_id)
            why = (
                not_needed(Reason(alert.reason), alert.wait_ms, handling(session, finding))
                if alert.wait_ms or alert.entry_id
                else ""
            )
            if why:
                drop_alert(session, alert, why)
                continue
            passing = finding.kind in {FindingKind.SOON, FindingKind.SYSTEM}
            over = contact.retired_ms is not None or (passing and finding.closed_ms is not None)
            jobs.append(_Job(alert, contact.url, retired=contact.retired_ms is not None, over=over))
        return jobs

    def send_in_turn(self, jobs: list[_Job]) -> int:
        """Send one contact's alerts in their order; stop at the first that is not taken."""
        for sent, job in enumerate(jobs):
            failed = self._failed.get(job.alert.contact_id)
            if failed is not None:
                self._put_off(jobs[sent:], failed)
                return sent
            try:
                self._hand_over(job)
            except DeliveryError as exc:
                self._failed[job.alert.contact_id] = exc
                self._record_failure(job, exc)
                self._put_off(jobs[sent + 1 :], exc)
                return sent
        return len(jobs)

    def _hand_over(self, job: _Job) -> None:
        """Send one alert, and record that it was taken."""
        if job.retired:
            raise DeliveryError("the contact was retired", retryable=False)
        self._send(job.url, Message(job.alert.title, job.alert.body))
        with self._store.write() as session:
            alert = session.get_one(Alert, job.alert.id)
            record_attempt(session, alert, taken=True, detail="taken", now_ms=self._now())

    def _record_failure(self, job: _Job, exc: DeliveryError) -> None:
        """Record that a channel did not take an alert, and when it is tried again."""
        later = self._next_try(job, exc)
        with self._store.write() as session:
            record_attempt(
                session,
                session.get_one(Alert, job.alert.id),
                taken=False,
                detail=str(exc),
                now_ms=self._now(),
                next_try_ms=later.at_ms,
                undelivered=later.undelivered,
            )
        _log.warning("alert %s: %s", job.alert.id, exc)

    def _put_off(self, jobs: list[_Job], exc: DeliveryError) -> None:
        """Give back alerts that were not tried, because their channel failed just now."""
        with self._store.write() as session:
            for job in jobs:
                later = self._next_try(job, exc)
                alert = session.get_one(Alert, job.alert.id)
                alert.leased_until_ms = None
                alert.next_try_ms = self._now() + LEASE_MS if later.at_ms is None else later.at_ms
                session.add(alert)

    def _next_try(self, job: _Job, exc: DeliveryError) -> NextTry:
        """Return when a job is tried again."""
        return next_try(
            failures=job.alert.attempts + 1,
            queued_ms=job.alert.queued_ms + job.alert.wait_ms,
            now_ms=self._now(),
            retryable=exc.retryable,
            over=job.over,
            jitter=self._jitter(),
        )
