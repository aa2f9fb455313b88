"""The alert channels: whether somebody is told, and whether the channels take what is sent."""

from sqlmodel import Session

from holdwatch.alerts.carrier import mask, validate_url
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import ConfigError
from holdwatch.quantities import format_duration
from holdwatch.run.checkup.line import Lines, broken, look, ok, split
from holdwatch.storage.contacts import contacts
from holdwatch.storage.outbox import waiting_alerts
from holdwatch.storage.tables import Alert, Contact

__all__ = ["look_at_alerts"]

_SHOULD_BE_SENT_MS = 2 * MS_PER_MINUTE


def look_at_alerts(session: Session, now_ms: int) -> Lines:
    """Say of each contact whether alerts reach its channel."""
    known = contacts(session)
    if not known:
        yield look("alerts", "nobody is told of anything", "holdwatch contact add NAME --url APPRISE_URL")
    unsent = waiting_alerts(session)
    for contact in known:
        yield from _contact(contact, [alert for alert in unsent if alert.contact_id == contact.id], now_ms)


def _contact(contact: Contact, unsent: list[Alert], now_ms: int) -> Lines:
    """Say of one contact whether alerts reach its channel."""
    subject = f"contact {contact.name}"
    try:
        validate_url(contact.url)
    except ConfigError as exc:
        yield broken(subject, *split(str(exc), "add it again with a URL that Apprise understands"))
        return
    failing = [alert for alert in unsent if alert.last_error]
    if failing:
        oldest = format_duration(now_ms - min(alert.queued_ms for alert in failing))
        yield broken(
            subject,
            f"{len(failing)} alerts were not taken, the oldest for {oldest}; last: {failing[-1].last_error}",
            f"correct its address or its server, then try: holdwatch contact test {contact.name}",
        )
    elif any(now_ms - alert.queued_ms > _SHOULD_BE_SENT_MS for alert in unsent):
        yield broken(subject, f"{len(unsent)} alerts wait and nobody sends them", "start holdwatch notify")
    else:
        yield ok(subject, f"{mask(contact.url)}, nothing waits")
