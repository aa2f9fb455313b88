"""Parts: dividing a batch, and adding food of one batch to another; each takes its past along."""

from collections.abc import Sequence

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.batching import start_batch
from holdwatch.storage.detained import refuse_detained
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_instant
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Batch, Event, EventKind

__all__ = ["add_part", "divide_batch", "parts_of", "put_into"]


def divide_batch(
    session: Session,
    batch: Batch,
    *,
    lot: str,
    vessels: int = 1,
    amount: str = "",
    vessel: int | None = None,
    at_ms: int,
    now_ms: int,
    by: str,
) -> Batch:
    """Divide some of a batch off into a batch of its own, which inherits the clock of what it was taken from.

    Parameters
    ----------
    lot, vessels, amount : of the part.
    vessel : which vessel it was taken from; without it, any that the batch has.

    Raises
    ------
    NameTakenError
        If there is a batch of that lot.
    ConfigError
        If the batch has no such vessel, or the instant lies ahead, or before the batch or after its end.
    """
    started = events(session, batch_id=id_of(batch), kinds=[EventKind.BATCH_STARTED])
    part = start_batch(
        session,
        product=batch.product,
        lot=lot,
        vessels=vessels,
        amount=amount,
        step=batch.step,
        holding="hot" if batch.holding == "hot" else "cold",
        not_tcs=next((str(event.facts.get("not_tcs", "")) for event in started), ""),
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
    )
    add_part(session, part, batch, part_vessel=vessel, at_ms=at_ms, now_ms=now_ms, by=by)
    return part


def add_part(
    session: Session,
    batch: Batch,
    part: Batch,
    *,
    part_vessel: int | None = None,
    vessel: int | None = None,
    at_ms: int,
    now_ms: int,
    by: str,
) -> Event:
    """Record that food of one batch, `part`, came into another; what is asked of it goes with it.

    Parameters
    ----------
    part_vessel : which vessel it came from; without it, any that the batch has.
    vessel : which vessel it came into; without it, every one.

    Raises
    ------
    ConfigError
        If a batch has no such vessel, is added to itself or to what is in it, or did not run at the instant.
    """
    check_instant(session, N_("the part"), at_ms, now_ms)
    _check(session, batch, part, at_ms)
    refuse_detained(session, part)
    for which, number in ((batch, vessel), (part, part_vessel)):
        if number is not None and not 1 <= number <= which.vessels:
            raise ConfigError(
                _("batch {lot!r} has no vessel {number}: give one from 1 to {vessels}").format(
                    lot=which.lot, number=number, vessels=which.vessels
                )
            )
    shared = {"at_ms": at_ms, "now_ms": now_ms, "by": by}
    with in_site_language(session):
        into = _("into {product} {lot}").format(product=batch.product, lot=batch.lot)
    record_event(
        session,
        EventKind.PARTED,
        batch_id=id_of(part),
        vessel=part_vessel,
        text=into,
        facts={"batch": id_of(batch)},
        **shared,  # type: ignore[arg-type]
    )
    event = record_event(
        session,
        EventKind.ADDED,
        batch_id=id_of(batch),
        vessel=vessel,
        text=f"{part.product} {part.lot}",
        facts={"batch": id_of(part)} | ({} if part_vessel is None else {"vessels": [part_vessel]}),
        **shared,  # type: ignore[arg-type]
    )
    queue(session, ArrivalKind.EVENT, first_ms=at_ms, last_ms=max(at_ms, now_ms), now_ms=now_ms, batch_id=id_of(batch))
    return event


def put_into(session: Session, batch_id: int) -> list[int]:
    """Return the batches that some of a batch went into, at once or by way of another, in order."""
    return _closure(session, batch_id, EventKind.PARTED)


def parts_of(session: Session, batch_id: int) -> list[int]:
    """Return the batches that a batch holds some of, at once or by way of another, in order."""
    return _closure(session, batch_id, EventKind.ADDED)


def _closure(session: Session, batch_id: int, kind: EventKind) -> list[int]:
    found: list[int] = []
    waiting = [batch_id]
    while waiting:
        told: Sequence[Event] = events(session, batch_id=waiting.pop(0), kinds=[kind])
        for event in told:
            other = int(event.facts["batch"])
            if other != batch_id and other not in found:
                found.append(other)
                waiting.append(other)
    return found


def _check(session: Session, batch: Batch, part: Batch, at_ms: int) -> None:
    if batch.id == part.id or id_of(part) in put_into(session, id_of(batch)):
        raise ConfigError(
            _("batch {lot!r} is {other!r} itself, or already holds some of it: nothing can be added").format(
                lot=part.lot, other=batch.lot
            )
        )
    for which in (batch, part):
        if at_ms < which.started_ms:
            raise ConfigError(
                _("batch {lot!r} had not started then: give a time after its start").format(lot=which.lot)
            )
        if which.ended_ms is not None and at_ms > which.ended_ms:
            raise ConfigError(_("batch {lot!r} had ended then: give a time before its end").format(lot=which.lot))
