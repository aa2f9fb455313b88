"""Recording what somebody did about a finding, and telling those who wait for it, in one transaction."""

from typing import Any

from sqlmodel import Session

from holdwatch.alerts.decide import Reason
from holdwatch.alerts.message import compose_entry
from holdwatch.alerts.queue import replace_waiting, waits_for
from holdwatch.language import speaking
from holdwatch.people.handling import Act, Handling
from holdwatch.storage.contacts import contacts
from holdwatch.storage.handling import Signer, handling, record_act
from holdwatch.storage.ids import id_of
from holdwatch.storage.outbox import alerts_of, queue_alert
from holdwatch.storage.register import site_at
from holdwatch.storage.secrets import link_token
from holdwatch.storage.tables import Alert, AlertState, Event, Finding

__all__ = ["act", "tell"]

_ENDS = frozenset({Act.ACTION, Act.CHECK_KEPT, Act.MISTAKEN})


def act(
    session: Session, finding: Finding, done: Act, signer: Signer, *, now_ms: int, base_url: str, **more: Any
) -> Handling:
    """Record an act as `holdwatch.storage.handling.record_act` does, and return where the finding stands.

    Whoever was told of the finding is told by whom it was handled. Food that is held for the manager is told to
    everybody whom a route names, at once, however long they would have waited.

    Raises
    ------
    ConfigError
        If the act is refused.
    """
    entry = record_act(session, finding, done, signer, now_ms=now_ms, **more)
    now = handling(session, finding)
    if done is Act.HOLD:
        tell(session, finding, Reason.HELD, entry, now, now_ms=now_ms, base_url=base_url)
    elif done in _ENDS and now.settled:
        tell(session, finding, Reason.HANDLED, entry, now, now_ms=now_ms, base_url=base_url)
    return now


def tell(
    session: Session, finding: Finding, reason: Reason, entry: Event, now: Handling, *, now_ms: int, base_url: str
) -> int:
    """Queue a message about an entry; return to how many contacts.

    *Handled* goes to those whom an earlier message has reached, or is on its way to; *held* to everybody at once; a
    check that is due goes by the routes, passed on where it stays due.
    """
    site, earlier = site_at(session, now_ms), alerts_of(session, id_of(finding))
    waits = waits_for(session, finding, site, now_ms)
    token = link_token(session, id_of(finding), now_ms=now_ms)
    with speaking(site.language):
        message = compose_entry(finding, site, reason, entry, now, base_url, token)
    count = 0
    for contact in contacts(session):
        own = [alert for alert in earlier if alert.contact_id == contact.id]
        if reason is Reason.HANDLED and not any(_reached(alert) for alert in own):
            continue
        if reason is Reason.HELD:
            replace_waiting([alert for alert in own if alert.wait_ms], now_ms)
        elif reason is Reason.CHECK_DUE and id_of(contact) not in waits:
            continue
        wait_ms = waits.get(id_of(contact), 0) if reason is Reason.CHECK_DUE else 0
        queue_alert(
            session,
            finding=finding,
            contact=contact,
            reason=reason.value,
            title=message.title,
            body=message.body,
            now_ms=now_ms,
            entry_id=id_of(entry),
            wait_ms=wait_ms,
            due_ms=now_ms + wait_ms,
        )
        count += 1
    return count


def _reached(alert: Alert) -> bool:
    """Tell whether a message was sent, or will be without waiting for anybody."""
    return alert.state == AlertState.SENT or (
        alert.state in {AlertState.WAITING, AlertState.UNDELIVERED} and not alert.wait_ms
    )
