"""Decisions that wait for a signature: taken without a PIN, because throwing away must never wait for one."""

from collections.abc import Collection

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import people
from holdwatch.storage.people_tables import Person, Signature
from holdwatch.storage.signing import sign
from holdwatch.storage.tables import Event, EventKind

__all__ = ["sign_entries", "unsigned_entries"]

_DECIDE = [kind.value for kind in (EventKind.ACTION, EventKind.CHECKED, EventKind.MISTAKEN, EventKind.CORRECTION)]


def unsigned_entries(session: Session, *, until_ms: int | None = None) -> list[Event]:
    """Return decisions that nobody has signed, as they were recorded, until an instant.

    What was recorded before anybody was entered as a person waits for nobody, and neither does an entry in whose
    place another one stands.
    """
    everybody = people(session, ended=True)
    if not everybody:
        return []
    replaced = select(Event.replaces_id).where(col(Event.replaces_id).is_not(None))
    query = select(Event).where(
        col(Event.kind).in_(_DECIDE),
        Event.recorded_ms >= min(person.added_ms for person in everybody),
        col(Event.id).not_in(select(Signature.event_id)),
        col(Event.id).not_in(replaced),
    )
    if until_ms is not None:
        query = query.where(Event.recorded_ms < until_ms)
    return list(session.exec(query.order_by(col(Event.id))))


def sign_entries(session: Session, person: Person, event_ids: Collection[int], *, now_ms: int) -> int:
    """Sign several entries of somebody whose PIN was just found right; return how many.

    Raises
    ------
    ConfigError
        If one of them is not theirs, or does not wait for a signature any more; then none is signed.
    """
    names = {person.name.casefold(), person.initials.casefold()}
    waiting = {id_of(event): event for event in unsigned_entries(session)}
    for number in event_ids:
        if number not in waiting:
            raise ConfigError(
                _("entry {number} does not wait for a signature: look again at what does").format(number=number)
            )
        if waiting[number].by.casefold() not in names:
            raise ConfigError(
                _("entry {number} is in the name of {by}: nobody signs for another").format(
                    number=number, by=waiting[number].by
                )
            )
    sign(session, event_ids, person, now_ms=now_ms)
    return len(event_ids)
