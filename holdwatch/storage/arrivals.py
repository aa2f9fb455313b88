"""The queue of what the watch has to look at: written beside the thing itself, in one transaction."""

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any

from sqlmodel import Session, col, delete, func, insert, select

from holdwatch.storage.tables import Arrival

__all__ = ["ArrivalKind", "arrived", "highest", "is_waiting", "queue", "queue_readings", "take", "waiting"]

_NEW = insert(Arrival)
_AT_ONCE = 1_000


class ArrivalKind(StrEnum):
    """What happened."""

    READINGS = "readings"
    PLACEMENT = "placement"
    EVENT = "event"
    BATCH = "batch"
    CORRECTION = "correction"
    SITE = "site"  # the site's zone or limits changed


def queue(
    session: Session,
    kind: ArrivalKind,
    *,
    first_ms: int,
    last_ms: int,
    now_ms: int,
    probe_id: int | None = None,
    batch_id: int | None = None,
    unit_id: int | None = None,
    count: int = 0,
) -> None:
    """Tell the watch that something of a span of time has come or changed."""
    _insert(
        session,
        [
            {
                "kind": kind.value,
                "probe_id": probe_id,
                "batch_id": batch_id,
                "unit_id": unit_id,
                "first_ms": first_ms,
                "last_ms": last_ms,
                "count": count,
                "at_ms": now_ms,
            }
        ],
    )


def queue_readings(session: Session, instants: Mapping[int, Sequence[int]], now_ms: int) -> None:
    """Tell the watch of new readings: one arrival a probe, of the instants that it brought."""
    rows = [
        {
            "kind": ArrivalKind.READINGS.value,
            "probe_id": probe_id,
            "first_ms": min(brought),
            "last_ms": max(brought),
            "count": len(brought),
            "at_ms": now_ms,
        }
        for probe_id, brought in instants.items()
    ]
    if rows:
        _insert(session, rows)


def _insert(session: Session, rows: list[dict[str, Any]]) -> None:
    """Write rows as they are: as objects they would cost a lone reading more than all the rest of its way."""
    session.connection().execute(_NEW, rows)


def arrived(session: Session, after_id: int = 0) -> list[Arrival]:
    """Return what waits and came after an arrival, oldest first."""
    rows = list(session.exec(select(Arrival).where(col(Arrival.id) > after_id).order_by(col(Arrival.id))))
    for row in rows:  # writers take turns, so none with a smaller number can still be on its way
        session.expunge(row)
    return rows


def take(session: Session, arrivals: Sequence[Arrival]) -> None:
    """Take arrivals out of the queue: they are gone when the caller's transaction is committed."""
    for at in range(0, len(arrivals), _AT_ONCE):
        ids = [row.id for row in arrivals[at : at + _AT_ONCE]]
        session.connection().execute(delete(Arrival).where(col(Arrival.id).in_(ids)))


def highest(session: Session) -> int:
    """Return the highest number of what waits, 0 where nothing does; what comes next has a higher one.

    SQLite gives a number again once all that is as high was taken.
    """
    return session.exec(select(func.max(Arrival.id))).one() or 0


def is_waiting(session: Session, after_id: int = 0) -> bool:
    """Tell whether anything waits that came after an arrival: one seek."""
    query = select(Arrival.id).where(col(Arrival.id) > after_id).order_by(col(Arrival.id))
    return session.exec(query.limit(1)).first() is not None


def waiting(session: Session) -> int:
    """Return how many arrivals the watch has not looked at yet."""
    return session.exec(select(func.count()).select_from(Arrival)).one()
