"""Emptying the outbox: a sender for each contact, so that one whose channel hangs holds up nobody else.

An alert is leased in one short transaction, sent outside of any, and its outcome recorded in another. Two senders
never lease the same alert. One that dies between a channel's yes and the record of it leaves a lease that runs out:
the alert is sent again, and says so. So a message arrives at least once, twice only after such a death, and never
zero times while its channel works.
"""

import logging
import random
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass

from sqlmodel import Session

from holdwatch import clock
from holdwatch.alerts.decide import Reason, not_needed
from holdwatch.alerts.hold import Hold, hold_of, morning
from holdwatch.alerts.message import Message, again, late
from holdwatch.alerts.retry import NextTry, next_try
from holdwatch.errors import DeliveryError, StorageError
from holdwatch.language import ENGLISH, _, speaking
from holdwatch.storage.engine import Store
from holdwatch.storage.handling import handling
from holdwatch.storage.outbox import drop_alert, due_contacts, due_ms, hold_alert, lease_due, record_attempt, wake
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import Alert, Contact, Finding, FindingKind

__all__ = ["LATE_MS", "LEASE_MS", "Outbox", "Send"]

Send = Callable[[str, Message], None]
"""Hands a message to the channel behind a URL, or raises DeliveryError."""

LEASE_MS = 2 * clock.MS_PER_MINUTE  # more than five sends of 15 s one after the other
_LEASED_AT_ONCE = 5
LATE_MS = 5 * clock.MS_PER_MINUTE
"""Ours: a message that comes so much later than it should says so. [ms]"""
_SENDERS = 64
"""So many contacts are sent to at once; one more waits at most as long as a channel may take."""

_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class _Job:
    """A message to one contact, with the alerts that it tells of; all of them are leased by us."""

    alerts: tuple[Alert, ...]
    url: str
    message: Message
    over: bool
    retired: bool


class Outbox:
    """What waits in a store, and who is being sent to."""

    def __init__(
        self,
        store: Store,
        send: Send,
        now: clock.Clock,
        *,
        base_url: str = "",
        jitter: Callable[[], float] = random.random,
    ) -> None:
        self._store, self._send, self._now, self._jitter = store, send, now, jitter
        self._base_url = base_url
        self._pool = ThreadPoolExecutor(max_workers=_SENDERS, thread_name_prefix="sender")
        self._busy: dict[int, Future[None]] = {}
        self._counting = threading.Lock()
        self.language = ENGLISH
        """What the site speaks, as it was last looked up."""
        self.taken = 0
        """How many alerts channels have taken so far."""

    def start(self) -> None:
        """Begin to send to every contact for whom something is due and to whom nothing is being sent."""
        self._busy = {contact: task for contact, task in self._busy.items() if not task.done()}
        with self._store.read() as session:
            now_ms = self._now()
            self.language, due = site_at(session, now_ms).language, due_contacts(session, now_ms)
        for contact_id in due:
            if contact_id not in self._busy:
                self._busy[contact_id] = self._pool.submit(self._empty, contact_id)

    def finish(self) -> None:
        """Wait until nothing is being sent."""
        wait(self._busy.values())
        for task in self._busy.values():
            task.result()

    def close(self) -> None:
        """Begin nothing more, and wait for what is being sent."""
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _empty(self, contact_id: int) -> None:
        """Send all that is due to a contact, in its order; after the first that is not taken, put the rest off."""
        try:
            with speaking(self.language):
                self._send_all(contact_id)
        except StorageError as exc:
            _log.warning("what was sent cannot be recorded, it will be sent again: %s", exc)

    def _send_all(self, contact_id: int) -> None:
        again_ms: int | None = None
        while (jobs := self._lease(contact_id)) is not None:
            for job in jobs:
                if again_ms is None:
                    again_ms = self._try(job)
                else:
                    self._put_off(job, again_ms)

    # ------------------------------------------------------------ leasing

    def _lease(self, contact_id: int) -> list[_Job] | None:
        """Take the next alerts of a contact so that nobody else sends them; ``None`` where nothing is due."""
        now_ms = self._now()
        with self._store.write() as session:
            rows = lease_due(session, contact_id, now_ms, _LEASED_AT_ONCE, LEASE_MS)
            return self._jobs(session, rows, now_ms) if rows else None

    def _jobs(self, session: Session, rows: list[tuple[Alert, bool]], now_ms: int) -> list[_Job]:
        """Return what is to be sent now; what is not needed any more is dropped, what can wait is held."""
        jobs, waited = [], []
        for alert, before in rows:
            finding = session.get_one(Finding, alert.finding_id)
            if (why := _not_needed(session, alert, finding)) or (why := self._held(session, alert, finding, now_ms)):
                _log.debug("alert %s: %s", alert.id, why)
            elif alert.held == Hold.MORNING:
                waited.append((alert, finding, before))
            else:
                jobs.append(self._job(session, [(alert, finding)], now_ms, before=before))
        if waited:
            told = [(alert, finding) for alert, finding, _ in waited]
            jobs.append(self._job(session, told, now_ms, before=any(before for *_, before in waited)))
        return jobs

    def _held(self, session: Session, alert: Alert, finding: Finding, now_ms: int) -> str:
        """Hold what can wait; return why, empty where it rings now."""
        hold = hold_of(session, alert, finding, now_ms)
        if hold is None:
            return ""
        if hold.drop:
            drop_alert(session, alert, hold.why)
        else:
            hold_alert(session, alert, hold.until.value, hold.until_ms, hold.why)
        return hold.why

    def _job(self, session: Session, told: list[tuple[Alert, Finding]], now_ms: int, *, before: bool) -> _Job:
        """Write the message that tells of some alerts; it says where it comes late, or perhaps a second time."""
        first = told[0][0]
        contact = session.get_one(Contact, first.contact_id)
        message = Message(first.title, first.body)
        site = site_at(session, now_ms)
        if len(told) > 1:
            message = morning(told, site, self._base_url)
        if (late_ms := now_ms - due_ms(first)) >= LATE_MS:
            message = late(message, late_ms)
        if before:
            message = again(message)
        retired = contact.retired_ms is not None
        passed = all(f.kind in {FindingKind.SOON, FindingKind.SYSTEM} and f.closed_ms is not None for _, f in told)
        alerts = tuple(alert for alert, _ in told)
        return _Job(alerts, contact.url, message, over=retired or passed, retired=retired)

    # ------------------------------------------------------------ sending

    def _try(self, job: _Job) -> int | None:
        """Send one message and record the outcome; return when its channel is tried again, ``None`` if it took it. [ms]."""
        try:
            self._hand_over(job)
        except DeliveryError as exc:
            _log.warning("alert %s: %s", job.alerts[0].id, exc)
            return self._record(job, exc)
        now_ms = self._now()
        with self._store.write() as session:
            for each in job.alerts:
                record_attempt(session, session.get_one(Alert, each.id), taken=True, detail="taken", now_ms=now_ms)
            wake(session, job.alerts[0].contact_id, now_ms)
        with self._counting:
            self.taken += len(job.alerts)
        return None

    def _hand_over(self, job: _Job) -> None:
        if job.retired:
            raise DeliveryError(_("the contact was retired"), retryable=False)
        self._send(job.url, job.message)

    def _record(self, job: _Job, exc: DeliveryError) -> int:
        """Record that a channel did not take a message; return when it is tried again. [ms]."""
        now_ms = self._now()
        again_ms = now_ms + LEASE_MS
        with self._store.write() as session:
            for each in job.alerts:
                later = self._next_try(each, job, exc)
                again_ms = later.at_ms or again_ms
                record_attempt(
                    session,
                    session.get_one(Alert, each.id),
                    taken=False,
                    detail=str(exc),
                    now_ms=now_ms,
                    next_try_ms=later.at_ms,
                    undelivered=later.undelivered,
                )
        return again_ms

    def _put_off(self, job: _Job, again_ms: int) -> None:
        """Give back what was not tried, because its channel failed just now: it waits for the same next try."""
        with self._store.write() as session:
            for each in job.alerts:
                alert = session.get_one(Alert, each.id)
                alert.leased_until_ms, alert.next_try_ms = None, again_ms
                session.add(alert)

    def _next_try(self, alert: Alert, job: _Job, exc: DeliveryError) -> NextTry:
        """Return when an alert is tried again."""
        return next_try(
            failures=alert.attempts + 1,
            queued_ms=due_ms(alert),
            now_ms=self._now(),
            retryable=exc.retryable,
            over=job.over,
            jitter=self._jitter(),
        )


def _not_needed(session: Session, alert: Alert, finding: Finding) -> str:
    """Drop what waited for somebody who has come meanwhile; return why, empty where it is needed."""
    if not (alert.wait_ms or alert.entry_id):
        return ""
    why = not_needed(Reason(alert.reason), alert.wait_ms, handling(session, finding))
    if why:
        drop_alert(session, alert, why)
    return why
