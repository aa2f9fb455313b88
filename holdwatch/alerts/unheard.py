"""Messages that no channel has taken and that nobody has seen on a screen either: what the Bench has to shout."""

from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.people.handling import Stage
from holdwatch.storage.handling import handlings
from holdwatch.storage.outbox import due_ms, waiting_alerts
from holdwatch.storage.tables import Alert, AlertState, Contact, Finding

__all__ = ["LOUD_AFTER_MS", "is_loud", "unheard_alerts"]

LOUD_AFTER_MS = 5 * MS_PER_MINUTE
"""Ours: a message that no channel took for so long is not only shown, it sounds. [ms]"""


def unheard_alerts(session: Session) -> list[Alert]:
    """Return every alert that was tried, was not taken, and whose finding nobody has said to have seen; oldest first.

    One to somebody who is no longer told is none.
    """
    tried = [alert for alert in waiting_alerts(session) if alert.attempts or alert.state == AlertState.UNDELIVERED]
    if not tried:
        return []
    told = set(session.exec(select(Contact.id).where(col(Contact.retired_ms).is_(None))))
    numbers = {alert.finding_id for alert in tried}
    rows = list(session.exec(select(Finding).where(col(Finding.id).in_(numbers))))
    stands = handlings(session, rows)
    return [a for a in tried if a.contact_id in told and stands[a.finding_id].stage is Stage.UNSEEN]


def is_loud(alert: Alert, now_ms: int) -> bool:
    """Tell whether an unheard alert should sound: its channel has failed for some minutes, or for good."""
    return alert.state == AlertState.UNDELIVERED or now_ms - due_ms(alert) >= LOUD_AFTER_MS
