"""Off the premises: handing a batch over, and reading back the logger that travelled with it."""

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import Session

from holdwatch.errors import ConfigError, RecordFileError, UnknownNameError
from holdwatch.readings import Series
from holdwatch.storage.batching import batch_named, note
from holdwatch.storage.engine import Store
from holdwatch.storage.events import events
from holdwatch.storage.names import check_name
from holdwatch.storage.placing import close_placement, place
from holdwatch.storage.site import add_probe, probe_named, site_at
from holdwatch.storage.tables import Batch, Event, EventKind, Probe
from holdwatch.storage.writing import NewReading, write_readings

__all__ = ["MOST_BYTES", "ReadBack", "hand_over", "read_back"]

MOST_BYTES = 8 * 1024 * 1024
"""Ours: a reading every ten seconds for a fortnight is 120,000 lines, about 5 MB."""
_AT_ONCE = 5_000
_TOLD = 5


def hand_over(
    session: Session,
    batch: Batch,
    *,
    to: str,
    celsius: float | None = None,
    vessel: int | None = None,
    at_ms: int,
    now_ms: int,
    by: str,
) -> Event:
    """Record that a batch was handed over; a temperature that was taken then is a reading by hand of its vessel.

    It goes on being asked what it was asked: what nobody measures from then on is not shown.

    Raises
    ------
    ConfigError
        If nobody is named, or the reading or the instant cannot be.
    """
    shared: dict[str, Any] = {"at_ms": at_ms, "now_ms": now_ms, "by": by}
    event = note(session, batch, EventKind.HANDED_OVER, text=f"to {check_name('person or place', to)}", **shared)
    if celsius is not None:
        note(session, batch, EventKind.READING, celsius=celsius, vessel=vessel, text="at the handover", **shared)
    return event


@dataclass(frozen=True)
class ReadBack:
    """What came of a logger's file."""

    readings: int
    added: int
    """How many of them were not kept before."""
    first_ms: int
    last_ms: int
    digest: str
    """SHA-256 of the file, in hex."""


def read_back(
    store: Store,
    file: Path,
    lot: str,
    *,
    logger: str,
    medium: str = "food",
    vessel: int | None = None,
    now_ms: int,
    by: str,
) -> ReadBack:
    """Keep the readings of a logger as late readings of a batch, marked with where they come from.

    Parameters
    ----------
    file : CSV with ``time`` and ``temperature_c`` or ``temperature_f``, as `holdwatch assess` reads it; a time without
        an offset is by the site's clock. One line that cannot be read refuses the whole file.
    logger : what the logger is called; it is a probe of that name from then on.
    medium : what it measured: ``food`` or ``air``.
    vessel : the vessel that it was in; without it the first one without a probe.

    Raises
    ------
    ConfigError
        If the file cannot be used: too large, not a record, a line that is no reading, read back before, or nothing in
        it from the time of the batch.
    """
    from holdwatch.recordfile import find_timezone

    with store.read() as session:
        batch = batch_named(session, lot)
        zone = find_timezone(site_at(session, batch.started_ms).timezone)
        logger = check_name("name of the logger", logger)
        digest = _digest(file)
        _refuse_twice(session, batch, digest, file.name)
        started_ms, ended_ms = batch.started_ms, batch.ended_ms
    series = _series(file, zone)
    first_ms, last_ms = int(series.at_ms[0]), int(series.at_ms[-1])
    if last_ms > now_ms:
        raise ConfigError(f"{file.name} has readings that lie ahead: set the clock of the logger, and correct the file")
    begins_ms, ends_ms = max(first_ms, started_ms), min(last_ms, last_ms if ended_ms is None else ended_ms)
    if begins_ms > ends_ms:
        raise ConfigError(
            f"{file.name} has no reading from the time of batch {lot!r}: look whether it is the right file"
        )
    probe_id = _probe(store, logger, medium, now_ms, by)
    new = [
        NewReading(probe_id, at_ms, celsius, now_ms)
        for at_ms, celsius in zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True)
    ]
    shared: dict[str, Any] = {"now_ms": now_ms, "by": by}
    with store.write() as session:  # first: a vessel that has another probe refuses the file before anything is kept
        batch, probe = batch_named(session, lot), session.get_one(Probe, probe_id)
        placed = place(session, probe, batch=batch, vessel=vessel, at_ms=begins_ms, **shared)
        close_placement(session, placed, at_ms=ends_ms, **shared)
        in_vessel = placed.vessel
    added = 0
    for start in range(0, len(new), _AT_ONCE):  # short transactions, whatever the file
        with store.write() as session:
            added += write_readings(session, new[start : start + _AT_ONCE], now_ms).added
    with store.write() as session:
        facts = {"file": file.name, "sha256": digest, "readings": len(new), "logger": logger}
        text = f"{logger}: {len(new)} readings of {file.name}, SHA-256 {digest[:12]}"
        batch = batch_named(session, lot)
        note(session, batch, EventKind.READ_BACK, vessel=in_vessel, text=text, facts=facts, at_ms=now_ms, **shared)
    return ReadBack(len(new), added, first_ms, last_ms, digest)


def _digest(file: Path) -> str:
    try:
        size = file.stat().st_size
        if size > MOST_BYTES:
            raise ConfigError(f"{file.name} is larger than {MOST_BYTES // 1024**2} MB: cut it to the time of the batch")
        return sha256(file.read_bytes()).hexdigest()
    except OSError as exc:
        raise ConfigError(f"{file} cannot be read: {exc.strerror}") from exc


def _refuse_twice(session: Session, batch: Batch, digest: str, name: str) -> None:
    for event in events(session, batch_id=batch.id, kinds=[EventKind.READ_BACK]):
        if event.facts.get("sha256") == digest:
            raise ConfigError(f"{name} was already read back for batch {batch.lot!r}, by {event.by}")


def _series(file: Path, zone: ZoneInfo) -> Series:
    """Read every line, or refuse them all and name those that are no readings."""
    from holdwatch.recordfile import read_record_file

    try:
        found = read_record_file(file, zone)
    except RecordFileError as exc:
        raise ConfigError(str(exc).replace(str(file), file.name)) from exc
    if found.rejected:
        told = "; ".join(f"line {each.row}: {each.reason}" for each in found.rejected[:_TOLD])
        more = f"; and {len(found.rejected) - _TOLD} more" if len(found.rejected) > _TOLD else ""
        raise ConfigError(f"{file.name} is not kept: {told}{more}. Correct the file, and read it back again.")
    return found.series


def _probe(store: Store, logger: str, medium: str, now_ms: int, by: str) -> int:
    """Return the logger as a probe; one that was never heard of is added."""
    with store.write() as session:
        try:
            probe = probe_named(session, logger)
        except UnknownNameError:
            probe = add_probe(session, logger, medium=medium, now_ms=now_ms, by=by)
        if probe.medium != medium:
            raise ConfigError(f"{logger!r} measures {probe.medium}, not {medium}: say so, or give it another name")
        return probe.id or 0
