"""What was done or declared: appended, never changed; a later event may stand in the place of an earlier one."""

from collections.abc import Collection, Iterable
from typing import Any

from sqlalchemy.orm import aliased
from sqlmodel import Session, col, exists, func, select

from holdwatch.errors import RefusedError
from holdwatch.language import _
from holdwatch.people.roles import PersonRole
from holdwatch.storage.look import asked_once, at_hand, gather
from holdwatch.storage.people_tables import Person
from holdwatch.storage.tables import Event, EventKind

__all__ = ["events", "gather_events", "record_event"]

_IN_ORDER = select(Event).order_by(col(Event.at_ms), col(Event.id))
_LATER = aliased(Event)
_OF_BATCH = "events of a batch"


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
    of_no_finding: bool = False,
) -> list[Event]:
    """Return events in order of their instants, both ends included; replaced ones only with `all_versions`."""
    wanted = None if kinds is None else frozenset(kind.value for kind in kinds)
    near = at_hand(session, _OF_BATCH, batch_id)
    if near is None:
        return _asked(session, batch_id, unit_id, probe_id, since_ms, until_ms, wanted, all_versions, of_no_finding)
    replaced = set() if all_versions else {event.replaces_id for event in near}  # by an event of the same batch
    return [
        event
        for event in near
        if event.id not in replaced
        and (unit_id is None or event.unit_id == unit_id)
        and (probe_id is None or event.probe_id == probe_id)
        and (since_ms is None or event.at_ms >= since_ms)
        and (until_ms is None or event.at_ms <= until_ms)
        and (wanted is None or event.kind in wanted)
        and (not of_no_finding or event.finding_id is None)
    ]


def gather_events(session: Session, batch_ids: Iterable[int]) -> None:
    """Have the events of several batches at hand while a look lasts."""
    gather(session, _OF_BATCH, _IN_ORDER, Event.batch_id, batch_ids)


@asked_once
def _asked(
    session: Session,
    batch_id: int | None,
    unit_id: int | None,
    probe_id: int | None,
    since_ms: int | None,
    until_ms: int | None,
    kinds: frozenset[str] | None,
    all_versions: bool,
    of_no_finding: bool,
) -> list[Event]:
    query = _IN_ORDER
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
        query = query.where(col(Event.kind).in_(kinds))
    if of_no_finding:  # so said that no database takes it for the way to them: nearly every event is of none
        query = query.where(func.coalesce(col(Event.finding_id), 0) == 0)
    if not all_versions:
        query = query.where(~exists().where(col(_LATER.replaces_id) == col(Event.id)))
    return list(session.exec(query))
