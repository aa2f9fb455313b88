"""Off the premises: handing a batch over, and reading back the logger that travelled with it."""

from pathlib import Path
from typing import Any

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.recordfile import DateOrder
from holdwatch.storage.batching import batch_named, note
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.logger_files import (
    Imported,
    facts_of,
    keep_readings,
    logger_named,
    open_file,
    refuse_known,
)
from holdwatch.storage.names import check_name
from holdwatch.storage.placing import close_placement, place
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Batch, Event, EventKind

__all__ = ["hand_over", "read_back"]


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
    to = check_name(N_("person or place"), to)
    with in_site_language(session):
        whom, at_it = _("to {whom}").format(whom=to), _("at the handover")
    event = note(session, batch, EventKind.HANDED_OVER, text=whom, **shared)
    if celsius is not None:
        note(session, batch, EventKind.READING, celsius=celsius, vessel=vessel, text=at_it, **shared)
    return event


def read_back(
    store: Store,
    file: Path,
    lot: str,
    *,
    logger: str,
    medium: str = "food",
    vessel: int | None = None,
    dates: DateOrder | None = None,
    leave_out: bool = False,
    now_ms: int,
    by: str,
) -> Imported:
    """Keep the readings of a logger as late readings of a batch, marked with where they come from.

    Parameters
    ----------
    file, dates, leave_out : as `logger_files.open_file` takes them.
    logger : what the logger is called; it is a probe of that name from then on.
    medium : what it measured: ``food`` or ``air``.
    vessel : the vessel that it was in; without it the first one without a probe.

    Raises
    ------
    ConfigError
        If the file cannot be used, was read back before, or holds nothing from the time of the batch.
    """
    with store.read() as session:
        started_ms = batch_named(session, lot).started_ms
    found = open_file(store, file, dates=dates, leave_out=leave_out, now_ms=now_ms, zone_ms=started_ms)
    logger = check_name(N_("name of the logger"), logger)
    shared: dict[str, Any] = {"now_ms": now_ms, "by": by}
    with store.write() as session:  # first: a vessel that has another probe refuses the file before anything is kept
        batch = batch_named(session, lot)
        refuse_known(session, found, batch_id=id_of(batch))
        begins_ms = max(found.first_ms, batch.started_ms)
        ends_ms = min(found.last_ms, found.last_ms if batch.ended_ms is None else batch.ended_ms)
        if begins_ms > ends_ms:
            raise ConfigError(
                _("{name} has no reading from the time of batch {lot!r}: look whether it is the right file").format(
                    name=file.name, lot=lot
                )
            )
        probe = logger_named(session, logger, medium, now_ms, by)
        placed = place(session, probe, batch=batch, vessel=vessel, at_ms=begins_ms, **shared)
        close_placement(session, placed, at_ms=ends_ms, **shared)
        in_vessel, probe_id = placed.vessel, id_of(probe)
    written = keep_readings(store, found, probe_id, now_ms)
    with store.write() as session:
        batch = batch_named(session, lot)
        note(session, batch, EventKind.READ_BACK, vessel=in_vessel, at_ms=now_ms, **facts_of(found, logger), **shared)
    return Imported(found, written)
