"""Putting alerts into the store, in the transaction that writes the finding they are about."""

from sqlmodel import Session

from holdwatch.alerts.decide import Reason, Told, decide
from holdwatch.alerts.message import compose
from holdwatch.alerts.offers import to_do
from holdwatch.alerts.routing import Route, told
from holdwatch.language import _, speaking
from holdwatch.storage.contacts import contacts
from holdwatch.storage.ids import id_of
from holdwatch.storage.outbox import NEVER_MS, alerts_of, queue_alert
from holdwatch.storage.register import site_at
from holdwatch.storage.routes import routes
from holdwatch.storage.secrets import link_token
from holdwatch.storage.tables import Alert, AlertState, ContactRoute, Finding, FindingKind, SiteVersion

__all__ = ["queue_alerts", "replace_waiting", "waits_for"]


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
    site = site_at(session, now_ms)
    waits = waits_for(session, finding, site, now_ms)
    token = link_token(session, id_of(finding), now_ms=now_ms)
    for contact in contacts(session):
        own = [alert for alert in earlier if alert.contact_id == contact.id]
        was_due_ms = replace_waiting(own, now_ms)
        if reason is Reason.CLOSED and not any(_left(alert) for alert in own):
            continue  # nobody there knows that it began
        wait_ms = 0 if reason is Reason.CLOSED else waits.get(id_of(contact))
        if wait_ms is None:
            continue  # not theirs, or not at this hour
        at_ms = now_ms + wait_ms
        with speaking(site.language):
            do = to_do(session, finding, at_ms)
            message = compose(finding, site, reason, at_ms, base_url, waited_ms=wait_ms, token=token, do=do)
        queue_alert(
            session,
            finding=finding,
            contact=contact,
            reason=reason.value,
            title=message.title,
            body=message.body,
            now_ms=now_ms,
            wait_ms=wait_ms,
            due_ms=max(now_ms, min(now_ms + wait_ms, was_due_ms)),
        )
    return reason


def waits_for(session: Session, finding: Finding, site: SiteVersion, now_ms: int) -> dict[int, int]:
    """Return after how long each contact is told of a finding, by the contact's number, in ms."""
    kind, known = FindingKind(finding.kind), routes(session)
    return told(
        {c: [_route(row) for row in rows] for c, rows in known.items()}, kind, finding.unit_id, now_ms, site.timezone
    )


def _route(row: ContactRoute) -> Route:
    return Route(
        kinds=frozenset(FindingKind(kind) for kind in row.kinds),
        units=frozenset(row.unit_ids),
        days=frozenset(row.days),
        from_min=row.from_min,
        to_min=row.to_min,
        after_ms=row.after_ms,
    )


def _before(previous: tuple[str, str] | None, earlier: list[Alert]) -> Told | None:
    """Return what stood before; that the last message said "no longer" shows that it had been over."""
    if previous is None:
        return None
    kind, verdict = previous
    return Told(FindingKind(kind), verdict, over=bool(earlier) and earlier[-1].reason == Reason.CLOSED)


def replace_waiting(alerts: list[Alert], now_ms: int) -> int:
    """Take back what is not sent yet: the new message says all of it, as it stands now.

    One that is on its way at this moment (leased) is let go; it may arrive beside the new one.

    Returns
    -------
    int
        When the first of those that waited for somebody would have been sent: a new version begins no new wait. [ms]
    """
    was_due_ms = NEVER_MS
    for alert in alerts:
        leased = alert.leased_until_ms is not None and alert.leased_until_ms > now_ms
        if alert.state in {AlertState.WAITING, AlertState.UNDELIVERED} and not leased:
            if alert.wait_ms and not alert.attempts:
                was_due_ms = min(was_due_ms, alert.next_try_ms)
            alert.state = AlertState.REPLACED
            alert.last_error = _("a newer message about the same finding took its place")
    return was_due_ms


def _left(alert: Alert) -> bool:
    """Tell whether an alert was sent, or is on its way."""
    return alert.state != AlertState.REPLACED
