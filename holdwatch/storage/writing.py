"""Writing readings: in bulk, each instant once, with all that follows from them in the same transaction."""

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, text
from sqlmodel import Session

from holdwatch.storage.arrivals import queue_readings
from holdwatch.storage.rollups import touch
from holdwatch.storage.sealing import SECOND_VALUE, note_late
from holdwatch.storage.tables import ReadingFlag

__all__ = ["NewReading", "Written", "write_history", "write_readings"]

_AT_ONCE = 20_000
_Key = tuple[int, int]

_STORED = {
    "sqlite": "SELECT r.probe_id, r.at_ms, r.celsius, r.flags FROM json_each(:keys) CROSS JOIN reading r"
    " ON r.probe_id = json_extract(value, '$[0]') AND r.at_ms = json_extract(value, '$[1]')",
    "postgresql": "SELECT r.probe_id, r.at_ms, r.celsius, r.flags FROM"
    " unnest(CAST(:probes AS integer[]), CAST(:instants AS bigint[])) AS k(probe_id, at_ms)"
    " JOIN reading r ON r.probe_id = k.probe_id AND r.at_ms = k.at_ms",
}
_PG_READING = text(
    "INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags) SELECT * FROM unnest(CAST(:a AS integer[]),"
    " CAST(:b AS bigint[]), CAST(:c AS double precision[]), CAST(:d AS bigint[]), CAST(:e AS smallint[]))"
    " ON CONFLICT DO NOTHING"
)
_SQLITE_READING = (
    "INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING"
)
_CONTESTED = text(
    "INSERT INTO contested (probe_id, at_ms, celsius, received_ms) VALUES (:a, :b, :c, :d) ON CONFLICT DO NOTHING"
)


class NewReading(NamedTuple):
    """A reading to be kept: its instant, its raw value in °C, and when it was received."""

    probe_id: int
    at_ms: int
    celsius: float
    received_ms: int
    flags: int = 0


@dataclass
class Written:
    """What became of the readings of one call."""

    added: int = 0
    doubles: int = 0
    contested: int = 0


@dataclass
class _Sorted:
    """Readings sorted by what they are to the store."""

    new: dict[_Key, NewReading] = field(default_factory=dict)
    contested: list[NewReading] = field(default_factory=list)
    doubles: int = 0


def write_readings(session: Session, readings: Iterable[NewReading], now_ms: int) -> Written:
    """Keep readings; an exact double changes nothing.

    The first value of an instant stays; a differing one is kept beside it, and both are judged. A reading whose
    instant is unknown is never judged, so it gives way: where its instant is taken it is kept at the next free one.
    Roll-ups, and one arrival a probe for the watch, are written in the same transaction.

    Raises
    ------
    ValueError
        If a temperature is not finite: intake sets such a message aside.
    """
    written = Written()
    changed: dict[int, list[int]] = {}
    connection = session.connection()
    for part in _parts(readings):
        found = _sort(connection, part)
        _insert_new(connection, list(found.new.values()))
        contested = _insert_contested(connection, found.contested)
        note_late(
            connection,
            [
                *((r.probe_id, r.at_ms, r.celsius, r.flags) for r in found.new.values()),
                *((r.probe_id, r.at_ms, r.celsius, SECOND_VALUE) for r in contested),
            ],
        )
        written.added += len(found.new)
        written.contested += len(contested)
        written.doubles += found.doubles + len(found.contested) - len(contested)
        for reading in (*found.new.values(), *contested):
            changed.setdefault(reading.probe_id, []).append(reading.at_ms)
    touch(session, ((probe_id, at_ms) for probe_id, instants in changed.items() for at_ms in instants))
    queue_readings(session, changed, now_ms)
    return written


def write_history(
    session: Session,
    probe_id: int,
    at_ms: NDArray[np.int64],
    celsius: NDArray[np.float64],
    now_ms: int,
    lag_ms: int = 0,
) -> Written:
    """Keep a probe's readings of a longer time, received `lag_ms` after each instant, as if they had come live."""
    pairs = zip(at_ms.tolist(), celsius.tolist(), strict=True)
    return write_readings(session, (NewReading(probe_id, at, value, at + lag_ms) for at, value in pairs), now_ms)


def _parts(readings: Iterable[NewReading]) -> Iterator[list[NewReading]]:
    iterator = iter(readings)
    while part := list(islice(iterator, _AT_ONCE)):
        yield part


def _sort(connection: Connection, readings: Sequence[NewReading]) -> _Sorted:
    """Tell new readings from doubles and contested ones."""
    stored = _stored(connection, {(reading.probe_id, reading.at_ms) for reading in readings})
    found = _Sorted()
    for reading in readings:
        if not math.isfinite(reading.celsius):
            message = f"{reading} is not finite: it should have been set aside"
            raise ValueError(message)
        key = (reading.probe_id, reading.at_ms)
        known = stored.get(key)
        if known is None:
            found.new[key] = reading
            stored[key] = (reading.celsius, reading.flags)
        elif _judged(reading.flags):
            if known[0] == reading.celsius and _judged(known[1]):
                found.doubles += 1
            else:
                found.contested.append(reading)
        elif known[0] == reading.celsius:
            found.doubles += 1
        else:
            _give_way(connection, reading, stored, found)
    return found


def _give_way(
    connection: Connection, reading: NewReading, stored: dict[_Key, tuple[float, int]], found: _Sorted
) -> None:
    """Keep a reading of unknown instant at the next free millisecond, if its value is not there on the way."""
    at_ms = reading.at_ms
    while (known := stored.get((reading.probe_id, at_ms))) is not None:
        if known[0] == reading.celsius:
            found.doubles += 1
            return
        at_ms += 1
        if (reading.probe_id, at_ms) not in stored:
            stored |= _stored(connection, {(reading.probe_id, at_ms)})
    kept = NewReading(reading.probe_id, at_ms, reading.celsius, reading.received_ms, reading.flags)
    found.new[reading.probe_id, at_ms] = kept
    stored[reading.probe_id, at_ms] = (kept.celsius, kept.flags)


def _judged(flags: int) -> bool:
    return not flags & ReadingFlag.NOT_JUDGED


def _stored(connection: Connection, keys: set[_Key]) -> dict[_Key, tuple[float, int]]:
    """Return value and flags of those (probe, instant) pairs that the store holds."""
    ordered = sorted(keys)
    if not ordered:
        return {}
    dialect = connection.dialect.name
    parameters: dict[str, Any]
    if dialect == "sqlite":
        parameters = {"keys": json.dumps(ordered)}
    else:
        parameters = {"probes": [key[0] for key in ordered], "instants": [key[1] for key in ordered]}
    rows = connection.execute(text(_STORED[dialect]), parameters)
    return {(probe_id, at_ms): (celsius, flags) for probe_id, at_ms, celsius, flags in rows}


def _insert_new(connection: Connection, new: list[NewReading]) -> None:
    if not new:
        return
    rows = [
        (probe_id, at_ms, celsius, received_ms - at_ms, flags) for probe_id, at_ms, celsius, received_ms, flags in new
    ]
    if connection.dialect.name == "postgresql":
        connection.execute(_PG_READING, dict(zip("abcde", map(list, zip(*rows, strict=True)), strict=True)))
    else:
        connection.exec_driver_sql(_SQLITE_READING, rows)


def _insert_contested(connection: Connection, contested: list[NewReading]) -> list[NewReading]:
    """Keep second values beside the first ones; return those that were not there yet."""
    added = []
    for reading in contested:  # they are rare: two messages of one instant that differ
        row = (reading.probe_id, reading.at_ms, reading.celsius, reading.received_ms)
        if connection.execute(_CONTESTED, dict(zip("abcd", row, strict=True))).rowcount:
            added.append(reading)
    return added
