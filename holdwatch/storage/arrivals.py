"""The queue of what the watch has to look at: written beside the thing itself, in one transaction."""

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any

from sqlmodel import Session, col, delete, func, insert, select

from holdwatch.storage.tables import Arrival

__all__ = ["ArrivalKind", "queue", "queue_readings", "take", "waiting"]

_NEW = insert(Arrival)


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


def take(session: Session, limit: int = 1_000) -> list[Arrival]:
    """Return the oldest arrivals and delete them: they are gone when the caller's transaction is committed."""
    session.flush()
    rows = list(session.exec(select(Arrival).order_by(col(Arrival.id)).limit(limit)))
    for row in rows:
        session.expunge(row)
    if rows:  # writers take turns, so nothing smaller can still be on its way
        session.exec(delete(Arrival).where(col(Arrival.id) <= rows[-1].id))
    return rows


def waiting(session: Session) -> int:
    """Return how many arrivals the watch has not looked at yet."""
    return session.exec(select(func.count()).select_from(Arrival)).one()
