"""Reading a probe's range out of the store as arrays, and its last readings."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session, col, func, select

from holdwatch.readings import Series
from holdwatch.storage.corrections import corrected as measured
from holdwatch.storage.corrections import corrections_of
from holdwatch.storage.driver import fetch
from holdwatch.storage.tables import Probe, Reading, ReadingFlag

__all__ = ["JUDGED", "count_readings", "last_readings", "load_series", "recent_instants"]

_PAIR = np.dtype([("at_ms", np.int64), ("celsius", np.float64)])
_READINGS = "SELECT at_ms, celsius FROM reading WHERE probe_id = ? AND at_ms >= ? AND at_ms <= ?{judged} ORDER BY at_ms"
_CONTESTED = (
    "SELECT at_ms, celsius FROM contested WHERE probe_id = ? AND at_ms >= ? AND at_ms <= ? ORDER BY at_ms, celsius"
)
JUDGED = f" AND (flags & {int(ReadingFlag.NOT_JUDGED)}) = 0"
_INSTANTS = "SELECT at_ms FROM reading WHERE probe_id = ? AND at_ms <= ?{judged} ORDER BY at_ms DESC LIMIT ?"


def load_series(
    session: Session,
    probe_id: int,
    first_ms: int,
    last_ms: int,
    *,
    judged_only: bool = True,
    corrected: bool = True,
) -> Series:
    """Return a probe's readings of a span, both ends included, with both values of a contested instant.

    Parameters
    ----------
    judged_only : leave out readings whose instant is unknown.
    corrected : add the probe's corrections; otherwise the values are raw.
    """
    sql = _READINGS.format(judged=JUDGED if judged_only else "")
    kept = fetch(session, sql, (probe_id, first_ms, last_ms), _PAIR)
    second = fetch(session, _CONTESTED, (probe_id, first_ms, last_ms), _PAIR)
    if len(second):
        kept = np.unique(np.concatenate([kept, second]))  # in order; an exact double falls away
    at_ms, celsius = np.ascontiguousarray(kept["at_ms"]), np.ascontiguousarray(kept["celsius"])
    if corrected and len(at_ms):
        corrections = corrections_of(session, probe_id, first_ms, last_ms)
        if corrections:
            celsius = measured(corrections, at_ms, celsius)
    return Series(at_ms, celsius)


def last_readings(session: Session, probe_ids: Iterable[int] | None = None) -> dict[int, Reading]:
    """Return the reading with the latest instant of each probe that has one: one seek a probe."""
    wanted = session.exec(select(Probe.id)).all() if probe_ids is None else probe_ids
    found: dict[int, Reading] = {}
    for probe_id in wanted:
        query = select(Reading).where(Reading.probe_id == probe_id).order_by(col(Reading.at_ms).desc()).limit(1)
        reading = session.exec(query).first()
        if reading is not None:
            found[reading.probe_id] = reading
    return found


def recent_instants(
    session: Session, probe_id: int, count: int, before_ms: int, *, judged_only: bool = True
) -> NDArray[np.int64]:
    """Return the last `count` instants at or before `before_ms`, in order of time. [ms]."""
    query = _INSTANTS.format(judged=JUDGED if judged_only else "")
    found = fetch(session, query, (probe_id, before_ms, count), np.dtype([("at_ms", np.int64)]))
    return np.ascontiguousarray(found["at_ms"][::-1])


def count_readings(session: Session, probe_id: int | None = None) -> int:
    """Return how many readings are kept; it walks the table, so do not ask at every look."""
    query = select(func.count()).select_from(Reading)
    return session.exec(query if probe_id is None else query.where(Reading.probe_id == probe_id)).one()
