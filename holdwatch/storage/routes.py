"""When a contact is told: routes are added and ended, never changed; each change is an event."""

from collections.abc import Sequence

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage.contacts import contacts
from holdwatch.storage.events import record_event
from holdwatch.storage.hours import MINUTES_A_DAY
from holdwatch.storage.ids import id_of
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Contact, ContactRoute, EventKind, FindingKind, Unit

__all__ = ["add_route", "end_routes", "routes"]

_LONGEST_WAIT_MS = 24 * 3_600_000


def add_route(
    session: Session,
    contact: Contact,
    *,
    kinds: Sequence[FindingKind] = (),
    units: Sequence[Unit] = (),
    days: Sequence[int] = (),
    from_min: int = 0,
    to_min: int = MINUTES_A_DAY,
    after_ms: int = 0,
    now_ms: int,
    by: str,
) -> ContactRoute:
    """Add a route to a contact, who is told by routes alone from then on.

    Parameters
    ----------
    kinds, units, days
        Of what, about which units, on which weekdays (Monday is 0); empty is all.
    from_min, to_min
        Minutes of the local day, the second one left out; not rising means over midnight.
    after_ms
        How long the finding may stay unseen before the message is sent. [ms]

    Raises
    ------
    ConfigError
        If an hour, weekday or wait cannot be.
    """
    if not (0 <= from_min < MINUTES_A_DAY and 0 < to_min <= MINUTES_A_DAY):
        raise ConfigError(_("the hours of a route lie between 00:00 and 24:00"))
    if from_min == to_min:
        raise ConfigError(_("a route whose hours end where they begin would never be on: give another end"))
    if not 0 <= after_ms <= _LONGEST_WAIT_MS:
        raise ConfigError(_("a finding is passed on within a day: give up to 1440 min"))
    route = ContactRoute(
        contact_id=id_of(contact),
        kinds=[kind.value for kind in kinds],
        unit_ids=[id_of(unit) for unit in units],
        days=sorted(set(days)),
        from_min=from_min,
        to_min=to_min,
        after_ms=after_ms,
        added_ms=now_ms,
    )
    session.add(route)
    facts = route.model_dump(include={"kinds", "unit_ids", "days", "from_min", "to_min", "after_ms"})
    with in_site_language(session):
        said = _("{name} is told by one more route").format(name=contact.name)
    _tell(session, said, now_ms, by, facts)
    return route


def routes(session: Session) -> dict[int, list[ContactRoute]]:
    """Return the routes in force of everyone who is told at present, by the contact's number."""
    found: dict[int, list[ContactRoute]] = {id_of(contact): [] for contact in contacts(session)}
    query = select(ContactRoute).where(col(ContactRoute.ended_ms).is_(None)).order_by(col(ContactRoute.id))
    for route in session.exec(query):
        if route.contact_id in found:
            found[route.contact_id].append(route)
    return found


def end_routes(session: Session, contact: Contact, *, now_ms: int, by: str) -> int:
    """End every route of a contact, who is told of everything at once again; return how many there were."""
    own = routes(session).get(id_of(contact), [])
    for route in own:
        route.ended_ms = now_ms
        session.add(route)
    if own:
        with in_site_language(session):
            said = _("{name} is told of everything at once").format(name=contact.name)
        _tell(session, said, now_ms, by, {})
    return len(own)


def _tell(session: Session, words: str, now_ms: int, by: str, facts: dict[str, object]) -> None:
    record_event(session, EventKind.CONTACT_ROUTED, at_ms=now_ms, now_ms=now_ms, by=by, text=words, facts=facts)
