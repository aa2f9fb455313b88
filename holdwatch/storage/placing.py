"""Which probe watches what, from when to when.

A placement begins at its start and lasts to its end, both included, unless the probe's next placement begins
at that very instant. Placing a probe ends what it did until then; placing it at an instant before one of its later
placements puts the new one in front of that, or, where both are of the same thing, sets that one's start back.
"""

from collections.abc import Iterable

from sqlmodel import Session, col, or_, select

from holdwatch.errors import ConfigError, NameTakenError, StorageError
from holdwatch.language import N_, _, many
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of, numbered
from holdwatch.storage.look import asked_once, at_hand, gather
from holdwatch.storage.names import check_instant
from holdwatch.storage.tables import Batch, EventKind, Placement, Probe, Unit

__all__ = ["close_placement", "gather_placements", "place", "placements", "take_out"]

_OF_BATCH, _OF_UNIT = "placements of a batch", "placements of a unit"
_IN_ORDER = select(Placement).order_by(col(Placement.from_ms), col(Placement.id))


def place(
    session: Session,
    probe: Probe,
    *,
    unit: Unit | None = None,
    batch: Batch | None = None,
    vessel: int | None = None,
    slowest: bool = False,
    at_ms: int,
    now_ms: int,
    by: str,
) -> Placement:
    """Place a probe in a unit, or in a vessel of a batch: without a vessel, in the first one without a probe.

    A batch begins at the latest when a probe is placed in it: an earlier placement sets its start back.

    Raises
    ------
    ConfigError
        If the vessel is none of the batch's, or the instant lies ahead or after the batch's end.
    NameTakenError
        If another probe is in that vessel then.
    """
    if (unit is None) == (batch is None):
        message = "a probe is placed in a unit or in a batch: give one of them"
        raise ValueError(message)
    check_instant(session, N_("the placement"), at_ms, now_ms)
    if batch is not None:
        vessel = _check_vessel(session, batch, probe, vessel, at_ms)
    wanted = Placement(
        probe_id=id_of(probe),
        unit_id=None if unit is None else id_of(unit),
        batch_id=None if batch is None else id_of(batch),
        vessel=vessel or 1,
        slowest=slowest,
        from_ms=at_ms,
        to_ms=None if batch is None else batch.ended_ms,
        by=by,
        recorded_ms=now_ms,
    )
    placed = _fit_in(session, wanted, now_ms)
    facts: dict[str, object] = {"slowest": slowest, "to_ms": placed.to_ms}
    if batch is not None and at_ms < batch.started_ms:
        facts["batch_started_ms"] = batch.started_ms  # what it was before
        batch.started_ms = at_ms
        session.add(batch)
    record_event(
        session,
        EventKind.PROBE_PLACED,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=placed.batch_id,
        unit_id=placed.unit_id,
        probe_id=placed.probe_id,
        vessel=placed.vessel if batch is not None else None,
        facts=facts,
    )
    tell_watch(session, placed, at_ms, now_ms)
    return placed


def take_out(session: Session, probe: Probe, *, at_ms: int, now_ms: int, by: str) -> Placement:
    """Take a probe out of what it watches; a calibration dip begins so too.

    Raises
    ------
    StorageError
        If it is not placed anywhere.
    ConfigError
        If the instant lies ahead, or before it was placed.
    """
    check_instant(session, N_("taking the probe out"), at_ms, now_ms)
    found = placements(session, probe_id=id_of(probe), open_only=True)
    if not found:
        raise StorageError(
            _("probe {code!r} is not placed anywhere: there is nothing to take it out of").format(code=probe.code)
        )
    if at_ms < found[-1].from_ms:
        raise ConfigError(
            _("probe {code!r} was placed later than that: give a time after it was placed").format(code=probe.code)
        )
    close_placement(session, found[-1], at_ms=at_ms, now_ms=now_ms, by=by)
    return found[-1]


def close_placement(session: Session, placement: Placement, *, at_ms: int, now_ms: int, by: str) -> None:
    """End a placement, record it, and tell the watch."""
    placement.to_ms = max(at_ms, placement.from_ms)
    session.add(placement)
    record_event(
        session,
        EventKind.PROBE_TAKEN_OUT,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=placement.batch_id,
        unit_id=placement.unit_id,
        probe_id=placement.probe_id,
        vessel=placement.vessel if placement.batch_id is not None else None,
    )
    tell_watch(session, placement, at_ms, now_ms)


def placements(
    session: Session,
    *,
    probe_id: int | None = None,
    unit_id: int | None = None,
    batch_id: int | None = None,
    open_only: bool = False,
) -> list[Placement]:
    """Return placements in order of their starts."""
    near = at_hand(session, _OF_BATCH, batch_id)
    if near is None:
        near = at_hand(session, _OF_UNIT, unit_id)
    if near is None:
        return _asked(session, probe_id, unit_id, batch_id, open_only)
    return [
        placed
        for placed in near
        if (probe_id is None or placed.probe_id == probe_id)
        and (unit_id is None or placed.unit_id == unit_id)
        and (batch_id is None or placed.batch_id == batch_id)
        and (not open_only or placed.to_ms is None)
    ]


def gather_placements(session: Session, *, batch_ids: Iterable[int] = (), unit_ids: Iterable[int] = ()) -> None:
    """Have the placements of several batches or units at hand while a look lasts, and the probes that they are of."""
    placed = gather(session, _OF_BATCH, _IN_ORDER, Placement.batch_id, batch_ids)
    placed += gather(session, _OF_UNIT, _IN_ORDER, Placement.unit_id, unit_ids)
    numbered(session, Probe, {each.probe_id for each in placed})


@asked_once
def _asked(
    session: Session, probe_id: int | None, unit_id: int | None, batch_id: int | None, open_only: bool
) -> list[Placement]:
    query = _IN_ORDER
    if probe_id is not None:
        query = query.where(Placement.probe_id == probe_id)
    if unit_id is not None:
        query = query.where(Placement.unit_id == unit_id)
    if batch_id is not None:
        query = query.where(Placement.batch_id == batch_id)
    if open_only:
        query = query.where(col(Placement.to_ms).is_(None))
    return list(session.exec(query))


def tell_watch(session: Session, placement: Placement, first_ms: int, now_ms: int) -> None:
    """Let the watch look again at what a placement belongs to, from an instant on."""
    queue(
        session,
        ArrivalKind.PLACEMENT,
        first_ms=first_ms,
        last_ms=max(first_ms, now_ms),
        now_ms=now_ms,
        probe_id=placement.probe_id,
        batch_id=placement.batch_id,
        unit_id=placement.unit_id,
    )


def _fit_in(session: Session, wanted: Placement, now_ms: int) -> Placement:
    """Put a placement among the probe's others: end the one before it, stop at the one after it."""
    at_ms = wanted.from_ms
    others = placements(session, probe_id=wanted.probe_id)
    for earlier in others:
        if earlier.from_ms < at_ms and (earlier.to_ms is None or earlier.to_ms > at_ms):
            earlier.to_ms = at_ms
            session.add(earlier)
            tell_watch(session, earlier, at_ms, now_ms)
    later = [other for other in others if other.from_ms >= at_ms and other.to_ms != other.from_ms]
    if later and _same_thing(later[0], wanted):
        later[0].from_ms, later[0].slowest = at_ms, wanted.slowest or later[0].slowest
        session.add(later[0])
        return later[0]
    if later and later[0].from_ms == at_ms:  # the earlier word was a mistake: the new one takes its span
        wanted.to_ms, later[0].to_ms = _earlier(wanted.to_ms, later[0].to_ms), at_ms
        session.add(later[0])
        tell_watch(session, later[0], at_ms, now_ms)
    elif later:
        wanted.to_ms = _earlier(wanted.to_ms, later[0].from_ms)
    session.add(wanted)
    session.flush()
    return wanted


def _earlier(one: int | None, other: int | None) -> int | None:
    """Return the earlier of two ends; ``None`` is an open one."""
    return min((end for end in (one, other) if end is not None), default=None)


def _same_thing(one: Placement, other: Placement) -> bool:
    if one.batch_id is not None:
        return one.batch_id == other.batch_id and one.vessel == other.vessel
    return one.unit_id == other.unit_id and other.batch_id is None


def _check_vessel(session: Session, batch: Batch, probe: Probe, vessel: int | None, at_ms: int) -> int:
    """Return the vessel to place a probe in; one vessel is watched by one probe at a time."""
    if batch.ended_ms is not None and at_ms >= batch.ended_ms:
        raise ConfigError(_("batch {lot!r} had ended then: give a time before its end").format(lot=batch.lot))
    query = select(Placement).where(Placement.batch_id == batch.id)
    rows = session.exec(query.where(or_(col(Placement.to_ms).is_(None), col(Placement.to_ms) > at_ms))).all()
    own = [row.vessel for row in rows if row.probe_id == probe.id]
    taken = {row.vessel: row.probe_id for row in rows if row.probe_id != probe.id and row.from_ms != row.to_ms}
    if vessel is None:
        free = own + [number for number in range(1, batch.vessels + 1) if number not in taken]
        if not free:
            raise NameTakenError(
                many(
                    "batch {lot!r} already has a probe in its one vessel: take it out first",
                    "batch {lot!r} already has a probe in each of its {count} vessels: take one out first",
                    batch.vessels,
                    lot=batch.lot,
                )
            )
        return free[0]
    if not 1 <= vessel <= batch.vessels:
        raise ConfigError(
            _("batch {lot!r} has no vessel {vessel}: give one from 1 to {vessels}").format(
                lot=batch.lot, vessel=vessel, vessels=batch.vessels
            )
        )
    if vessel in taken:
        other = session.get_one(Probe, taken[vessel])
        raise NameTakenError(
            _("vessel {vessel} of batch {lot!r} already has probe {code!r}: take that one out first").format(
                vessel=vessel, lot=batch.lot, code=other.code
            )
        )
    return vessel
