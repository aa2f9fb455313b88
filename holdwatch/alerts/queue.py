"""Putting alerts into the store, in the transaction that writes the finding they are about."""

from sqlmodel import Session

from holdwatch.alerts.decide import Reason, Told, decide
from holdwatch.alerts.message import compose
from holdwatch.storage.contacts import contacts
from holdwatch.storage.outbox import alerts_of, queue_alert
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import Alert, AlertState, Finding, FindingKind

__all__ = ["queue_alerts"]


def queue_alerts(
    session: Session,
    finding: Finding,
    previous: tuple[str, str] | None,
    now_ms: int,
    base_url: str,
) -> Reason:
    """Queue one alert a contact about a finding that was just opened, changed or closed.

    Call it with the finding already written and flushed (it has an id and its new version), in the same session.

    Parameters
    ----------
    previous : (kind, verdict) of the finding before this change, ``None`` when it was just opened.
    base_url : where the dashboard is reached, for the link.

    Returns
    -------
    Reason
        Why alerts were queued; ``Reason.NONE`` when there was nothing to tell.
    """
    earlier = alerts_of(session, finding.id) if finding.id is not None else []
    reason = decide(_before(previous, earlier), Told.of(finding))
    if reason is Reason.NONE:
        return reason
    message = compose(finding, site_at(session, now_ms), reason, now_ms, base_url)
    for contact in contacts(session):
        own = [alert for alert in earlier if alert.contact_id == contact.id]
        _replace_waiting(own, now_ms)
        if reason is Reason.CLOSED and not any(_left(alert) for alert in own):
            continue  # nobody there knows that it began
        queue_alert(
            session,
            finding=finding,
            contact=contact,
            reason=reason.value,
            title=message.title,
            body=message.body,
            now_ms=now_ms,
        )
    return reason


def _before(previous: tuple[str, str] | None, earlier: list[Alert]) -> Told | None:
    """Return what stood before; that the last message said "no longer" shows that it had been over."""
    if previous is None:
        return None
    kind, verdict = previous
    return Told(FindingKind(kind), verdict, over=bool(earlier) and earlier[-1].reason == Reason.CLOSED)


def _replace_waiting(alerts: list[Alert], now_ms: int) -> None:
    """Take back what is not sent yet: the new message says all of it, as it stands now.

    One that is on its way at this moment (leased) is let go; it may arrive beside the new one.
    """
    for alert in alerts:
        leased = alert.leased_until_ms is not None and alert.leased_until_ms > now_ms
        if alert.state in {AlertState.WAITING, AlertState.UNDELIVERED} and not leased:
            alert.state = AlertState.REPLACED
            alert.last_error = "a newer message about the same finding took its place"


def _left(alert: Alert) -> bool:
    """Tell whether an alert was sent, or is on its way."""
    return alert.state != AlertState.REPLACED
