"""Alerts on their way: they wait here until a channel took them, and every try is kept."""

from collections.abc import Iterable
from typing import Any

from sqlmodel import Session, col, or_, select

from holdwatch.storage.ids import id_of
from holdwatch.storage.tables import Alert, AlertAttempt, AlertState, Contact, Finding

__all__ = [
    "NEVER_MS",
    "alerts_about",
    "alerts_of",
    "attempts_of",
    "drop_alert",
    "due_contacts",
    "due_ms",
    "hold_alert",
    "lease_due",
    "queue_alert",
    "record_attempt",
    "waiting_alerts",
    "wake",
]

NEVER_MS = 2**62
"""The next try of an alert that is not tried again. [ms]"""

_UNSENT = (AlertState.WAITING.value, AlertState.UNDELIVERED.value)


def queue_alert(
    session: Session,
    *,
    finding: Finding,
    contact: Contact,
    reason: str,
    title: str,
    body: str,
    now_ms: int,
    entry_id: int = 0,
    wait_ms: int = 0,
    due_ms: int | None = None,
) -> Alert:
    """Queue one message to one contact; the same version of a finding, or the same entry, is told to them once.

    With `wait_ms` it waits for somebody to see the finding; `due_ms` is when it is sent, at once where not given.
    """
    session.flush()
    known = session.exec(
        select(Alert).where(
            Alert.finding_id == finding.id,
            Alert.finding_version == finding.version,
            Alert.contact_id == contact.id,
            Alert.entry_id == entry_id,
        )
    ).first()
    if known is not None:
        return known
    alert = Alert(
        finding_id=id_of(finding),
        finding_version=finding.version,
        contact_id=id_of(contact),
        entry_id=entry_id,
        wait_ms=wait_ms,
        reason=reason,
        title=title,
        body=body,
        queued_ms=now_ms,
        next_try_ms=now_ms if due_ms is None else due_ms,
    )
    session.add(alert)
    session.flush()
    return alert


def due_contacts(session: Session, now_ms: int) -> list[int]:
    """Return the numbers of the contacts for whom something is due; it takes nothing and locks nothing."""
    query = select(Alert.contact_id).where(*_is_due(now_ms)).distinct().order_by(col(Alert.contact_id))
    return list(session.exec(query))


def lease_due(session: Session, contact_id: int, now_ms: int, limit: int, lease_ms: int) -> list[tuple[Alert, bool]]:
    """Return a contact's alerts to try now, oldest first, and lease them: nobody else gets them until the lease runs out.

    `now_ms` is the database's clock where senders on several machines share one store, so that leases agree;
    on SQLite, which is for one machine, that is this machine's own.

    Returns
    -------
    list of (Alert, bool)
        Whether an earlier lease of it ran out: whoever held it died, perhaps after sending it.
    """
    query = select(Alert).where(Alert.contact_id == contact_id, *_is_due(now_ms)).order_by(col(Alert.id)).limit(limit)
    rows = [(alert, alert.leased_until_ms is not None) for alert in session.exec(query)]
    for alert, _ in rows:
        alert.leased_until_ms = now_ms + lease_ms
        session.add(alert)
    session.flush()
    return rows


def _is_due(now_ms: int) -> tuple[Any, ...]:
    return (
        col(Alert.state).in_(_UNSENT),
        col(Alert.next_try_ms) <= now_ms,
        or_(col(Alert.leased_until_ms).is_(None), col(Alert.leased_until_ms) <= now_ms),
    )


def due_ms(alert: Alert) -> int:
    """Return when an alert should have been sent: after what it waited for, however often it was tried since. [ms]."""
    return max(alert.queued_ms + alert.wait_ms, alert.held_until_ms)


def hold_alert(session: Session, alert: Alert, held: str, until_ms: int, why: str) -> None:
    """Let an alert wait until an instant for what it is held for."""
    alert.held, alert.held_until_ms, alert.next_try_ms = held, until_ms, until_ms
    alert.leased_until_ms, alert.last_error = None, why
    session.add(alert)


def record_attempt(
    session: Session,
    alert: Alert,
    *,
    taken: bool,
    detail: str,
    now_ms: int,
    next_try_ms: int | None = None,
    undelivered: bool = False,
) -> None:
    """Record a try. One that was not taken waits for `next_try_ms`; without one it is undelivered for good."""
    alert.attempts += 1
    alert.leased_until_ms = None
    if taken:
        alert.state, alert.sent_ms, alert.last_error = AlertState.SENT.value, now_ms, ""
    else:
        given_up = undelivered or next_try_ms is None
        alert.state = (AlertState.UNDELIVERED if given_up else AlertState.WAITING).value
        alert.next_try_ms = NEVER_MS if next_try_ms is None else next_try_ms
        alert.last_error = detail
    session.add(alert)
    session.add(AlertAttempt(alert_id=id_of(alert), at_ms=now_ms, taken=taken, detail=detail))


def wake(session: Session, contact_id: int, now_ms: int) -> None:
    """Make due what waits for a contact's channel to be back: it has just taken something."""
    due_then_ms = col(Alert.queued_ms) + col(Alert.wait_ms)
    query = select(Alert).where(
        Alert.contact_id == contact_id,
        col(Alert.state).in_(_UNSENT),
        col(Alert.leased_until_ms).is_(None),
        due_then_ms <= now_ms,
        col(Alert.held_until_ms) <= now_ms,
        col(Alert.next_try_ms) > now_ms,
        col(Alert.next_try_ms) < NEVER_MS,
    )
    for alert in session.exec(query):
        alert.next_try_ms = now_ms
        session.add(alert)


def alerts_of(session: Session, finding_id: int) -> list[Alert]:
    """Return every alert about a finding, oldest first."""
    return alerts_about(session, [finding_id]).get(finding_id, [])


def alerts_about(session: Session, finding_ids: Iterable[int]) -> dict[int, list[Alert]]:
    """Return every alert about each of several findings, oldest first, by its number."""
    found: dict[int, list[Alert]] = {}
    wanted = select(Alert).where(col(Alert.finding_id).in_(list(finding_ids)))
    for alert in session.exec(wanted.order_by(col(Alert.finding_id), col(Alert.id))):
        found.setdefault(alert.finding_id, []).append(alert)
    return found


def drop_alert(session: Session, alert: Alert, why: str) -> None:
    """Let an alert that waited for somebody go, with the reason."""
    alert.state, alert.leased_until_ms, alert.last_error = AlertState.NOT_NEEDED.value, None, why
    session.add(alert)


def waiting_alerts(session: Session) -> list[Alert]:
    """Return every alert that no channel has taken yet, oldest first."""
    return list(session.exec(select(Alert).where(col(Alert.state).in_(_UNSENT)).order_by(col(Alert.id))))


def attempts_of(session: Session, alert_id: int) -> list[AlertAttempt]:
    """Return every try to deliver an alert, oldest first."""
    query = select(AlertAttempt).where(AlertAttempt.alert_id == alert_id).order_by(col(AlertAttempt.id))
    return list(session.exec(query))
