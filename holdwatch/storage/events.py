"""What was done or declared: appended, never changed; a later event may stand in the place of an earlier one."""

from collections.abc import Collection
from typing import Any

from sqlmodel import Session, col, select

from holdwatch.errors import RefusedError
from holdwatch.language import _
from holdwatch.people.roles import PersonRole
from holdwatch.storage.people_tables import Person
from holdwatch.storage.tables import Event, EventKind

__all__ = ["events", "record_event"]


def record_event(
    session: Session,
    kind: EventKind,
    *,
    at_ms: int,
    now_ms: int,
    by: str,
    batch_id: int | None = None,
    unit_id: int | None = None,
    probe_id: int | None = None,
    finding_id: int | None = None,
    vessel: int | None = None,
    celsius: float | None = None,
    text: str = "",
    replaces_id: int | None = None,
    facts: dict[str, Any] | None = None,
) -> Event:
    """Append an event; it has its id afterwards.

    Raises
    ------
    RefusedError
        If it is in the name of a viewer, who looks and prints; only a PIN of their own may be theirs.
    """
    if kind is not EventKind.PERSON_CHANGED:
        _refuse_viewer(session, by, kind)
    event = Event(
        at_ms=at_ms,
        recorded_ms=now_ms,
        kind=kind.value,
        batch_id=batch_id,
        unit_id=unit_id,
        probe_id=probe_id,
        finding_id=finding_id,
        vessel=vessel,
        celsius=celsius,
        text=text,
        by=by,
        replaces_id=replaces_id,
        facts=facts or {},
    )
    session.add(event)
    session.flush()
    return event


def _refuse_viewer(session: Session, by: str, kind: EventKind) -> None:
    with session.no_autoflush:
        viewers = session.exec(
            select(Person).where(Person.role == PersonRole.VIEWER.value, col(Person.ended_ms).is_(None))
        ).all()
    said = by.strip().casefold()
    if any(said in {each.name.casefold(), each.initials.casefold()} for each in viewers):
        raise RefusedError(
            _("{by} is a viewer, who looks and prints: nothing is recorded").format(by=by), who=by, what=kind.value
        )


def events(
    session: Session,
    *,
    batch_id: int | None = None,
    unit_id: int | None = None,
    probe_id: int | None = None,
    since_ms: int | None = None,
    until_ms: int | None = None,
    kinds: Collection[EventKind] | None = None,
    all_versions: bool = False,
) -> list[Event]:
    """Return events in order of their instants, both ends included; replaced ones only with `all_versions`."""
    query = select(Event).order_by(col(Event.at_ms), col(Event.id))
    if batch_id is not None:
        query = query.where(Event.batch_id == batch_id)
    if unit_id is not None:
        query = query.where(Event.unit_id == unit_id)
    if probe_id is not None:
        query = query.where(Event.probe_id == probe_id)
    if since_ms is not None:
        query = query.where(Event.at_ms >= since_ms)
    if until_ms is not None:
        query = query.where(Event.at_ms <= until_ms)
    if kinds is not None:
        query = query.where(col(Event.kind).in_([kind.value for kind in kinds]))
    if not all_versions:
        replaced = select(Event.replaces_id).where(col(Event.replaces_id).is_not(None))
        query = query.where(col(Event.id).not_in(replaced))
    return list(session.exec(query))
