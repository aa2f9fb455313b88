"""Seals: the readings of a probe on a UTC day in one signed digest, a while after the day is over.

Nothing is sealed again. A reading that comes after the seals of its probe have passed its day, out of a device's own
store, is noted as late when it is written (`late_reading`), and a supplement then names it; so the first seal can still
be checked over just what it was made of.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, insert
from sqlmodel import Session, col, delete, func, select

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR
from holdwatch.storage.chain import head
from holdwatch.storage.chain_tables import LateReading, Seal
from holdwatch.storage.driver import fetch
from holdwatch.storage.engine import Store
from holdwatch.storage.tables import Probe, Reading
from holdwatch.trust.keys import public_hex
from holdwatch.trust.lines import canonical
from holdwatch.trust.merkle import PACKED, root_of

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

__all__ = [
    "SECOND_VALUE",
    "SETTLE_MS",
    "day_of",
    "first_ms_of",
    "note_late",
    "readings_between",
    "readings_of",
    "seal_next",
    "seals_of",
    "signed_text",
    "split",
]

SETTLE_MS = 2 * MS_PER_HOUR
"""How long after the end of a day it is sealed. [ms]"""
SECOND_VALUE = 0x100
"""Set in the flags of a value that came second at its instant (`Contested`)."""

_NATIVE = PACKED.newbyteorder("=")
_READINGS = (
    "SELECT at_ms, celsius, lag_ms, flags FROM reading WHERE probe_id = ? AND at_ms >= ? AND at_ms < ? ORDER BY at_ms"
)
_SECOND = (
    "SELECT at_ms, celsius, received_ms - at_ms, 256 FROM contested"
    " WHERE probe_id = ? AND at_ms >= ? AND at_ms < ? ORDER BY at_ms, celsius"
)


# ---------------------------------------------------------------- sealing


def seal_next(store: Store, key: "Ed25519PrivateKey", now_ms: int) -> Seal | None:
    """Seal one day of one probe, or what came late for one; return the seal, ``None`` where nothing waits.

    The readings are read in the transaction that keeps the seal: none can come in between.
    """
    with store.read() as session:
        waits = _next_late(session) or _next_day(session, now_ms)
    if waits is None:
        return None
    with store.write() as session:
        probe_id, day = waits
        late = _take_late(session, probe_id, day)
        readings = readings_of(session, probe_id, day)
        if late:
            readings = readings[_waiting_among(readings, late)]
        seal = _signed(session, probe_id, day, readings, key, now_ms, late=bool(late))
        session.add(seal)
    return seal


def note_late(connection: Connection, rows: Iterable[tuple[int, int, float, int]]) -> None:
    """Note which of some readings, just written, come after the seals of their probe.

    Parameters
    ----------
    rows : probe, instant, value and flags (with `SECOND_VALUE`) of each.
    """
    written = list(rows)
    if not written:
        return
    oldest = day_of(min(at_ms for _, at_ms, _, _ in written))
    query = select(Seal.probe_id, func.max(Seal.day)).where(Seal.day >= oldest).group_by(col(Seal.probe_id))
    passed_ms = {probe_id: first_ms_of(day) + MS_PER_DAY for probe_id, day in connection.execute(query)}
    late = [row for row in written if row[1] < passed_ms.get(row[0], 0)]
    if late:
        names = ("probe_id", "at_ms", "celsius", "flags")
        connection.execute(insert(LateReading), [dict(zip(names, row, strict=True)) for row in late])


def signed_text(seal: Seal) -> str:
    """Return what the signature of a seal is over: all that it says, in canonical JSON."""
    return canonical(seal.model_dump(exclude={"id", "signature"}))


def _signed(
    session: Session,
    probe_id: int,
    day: str,
    readings: NDArray[np.void],
    key: "Ed25519PrivateKey",
    now_ms: int,
    *,
    late: bool,
) -> Seal:
    position, digest = head(session)
    parts = seals_of(session, probe_id, day)
    seal = Seal(
        probe_id=probe_id,
        day=day,
        part=max((seal.part for seal in parts), default=0) + 1 if late else 0,
        count=len(readings),
        root=root_of(readings),
        late=[packed.hex() for packed in _packed(readings)] if late else [],
        head=position,
        head_digest=digest,
        key=public_hex(key),
        signature="",
        sealed_ms=now_ms,
    )
    seal.signature = key.sign(signed_text(seal).encode()).hex()
    return seal


def _next_late(session: Session) -> tuple[int, str] | None:
    first = session.exec(select(LateReading.probe_id, LateReading.at_ms).limit(1)).first()
    return None if first is None else (first[0], day_of(first[1]))


def _next_day(session: Session, now_ms: int) -> tuple[int, str] | None:
    """Return the earliest day that is over and not sealed, of the first probe that has one."""
    until_ms = (now_ms - SETTLE_MS) // MS_PER_DAY * MS_PER_DAY
    for probe_id in session.exec(select(Probe.id).order_by(col(Probe.id))):
        latest = session.exec(select(func.max(Seal.day)).where(Seal.probe_id == probe_id)).one()
        since_ms = 0 if latest is None else first_ms_of(latest) + MS_PER_DAY
        query = select(func.min(Reading.at_ms)).where(Reading.probe_id == probe_id, Reading.at_ms >= since_ms)
        first_ms = session.exec(query).one()
        if probe_id is not None and first_ms is not None and first_ms < until_ms:
            return probe_id, day_of(first_ms)
    return None


def _take_late(session: Session, probe_id: int, day: str) -> list[tuple[int, float, int]]:
    """Return the late readings of a day, which wait no more."""
    first_ms = first_ms_of(day)
    span = (
        LateReading.probe_id == probe_id,
        LateReading.at_ms >= first_ms,
        LateReading.at_ms < first_ms + MS_PER_DAY,
    )
    query = select(LateReading.at_ms, LateReading.celsius, LateReading.flags).where(*span)
    found = [(at_ms, celsius, flags) for at_ms, celsius, flags in session.exec(query)]
    session.exec(delete(LateReading).where(*span))  # type: ignore[arg-type]  # the library's annotation knows columns only
    return found


# ---------------------------------------------------------------- what a seal is over


def readings_of(session: Session, probe_id: int, day: str) -> NDArray[np.void]:
    """Return the raw readings of a probe on a UTC day in the order in which they are sealed, second values last."""
    first_ms = first_ms_of(day)
    return np.concatenate(readings_between(session, probe_id, first_ms, first_ms + MS_PER_DAY))


def readings_between(
    session: Session, probe_id: int, first_ms: int, end_ms: int
) -> tuple[NDArray[np.void], NDArray[np.void]]:
    """Return the raw readings of a probe from an instant until before another, and the second values."""
    span = (probe_id, first_ms, end_ms)
    return fetch(session, _READINGS, span, _NATIVE), fetch(session, _SECOND, span, _NATIVE)


def seals_of(session: Session, probe_id: int, day: str) -> list[Seal]:
    """Return the seals of a day, the supplements in their order."""
    query = select(Seal).where(Seal.probe_id == probe_id, Seal.day == day).order_by(col(Seal.part))
    return list(session.exec(query))


def split(
    readings: NDArray[np.void], seals: Sequence[Seal], waiting: Iterable[tuple[int, float, int]]
) -> list[tuple[Seal, NDArray[np.void]]]:
    """Return, for each seal of a day, the readings that it is over.

    Parameters
    ----------
    waiting : late readings that no supplement is over yet.
    """
    packed = _packed(readings) if any(seal.part for seal in seals) else []
    first, found = ~_waiting_among(readings, waiting), []
    for seal in seals:
        if seal.part:
            named = {bytes.fromhex(each) for each in seal.late}
            own = np.array([each in named for each in packed], dtype=bool)
            first &= ~own
            found.append((seal, readings[own]))
    return [(seal, readings[first]) for seal in seals if not seal.part] + found


def _packed(readings: NDArray[np.void]) -> list[bytes]:
    """Return each reading as it is digested."""
    size, packed = PACKED.itemsize, readings.astype(PACKED).tobytes()
    return [packed[first : first + size] for first in range(0, len(packed), size)]


def _waiting_among(readings: NDArray[np.void], waiting: Iterable[tuple[int, float, int]]) -> NDArray[np.bool_]:
    """Tell which readings wait for a supplement."""
    named = set(waiting)
    if not named:
        return np.zeros(len(readings), dtype=bool)
    return np.array([(int(r["at_ms"]), float(r["celsius"]), int(r["flags"])) in named for r in readings], dtype=bool)


def day_of(at_ms: int) -> str:
    """Return the UTC day of an instant, as ISO."""
    return (_EPOCH + timedelta(days=at_ms // MS_PER_DAY)).date().isoformat()


def first_ms_of(day: str) -> int:
    """Return the first instant of a UTC day. [ms]."""
    return (datetime.fromisoformat(day).replace(tzinfo=UTC) - _EPOCH).days * MS_PER_DAY


_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
