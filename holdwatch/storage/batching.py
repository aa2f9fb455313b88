"""Batches: started, noted, ended."""

import unicodedata
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from itertools import islice
from typing import Any, Literal

from sqlmodel import Session, col, func, or_, select

from holdwatch.clock import MS_PER_DAY
from holdwatch.errors import ConfigError, NameTakenError, StorageError
from holdwatch.language import N_, _
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.detained import refuse_detained
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_instant, check_name, check_step, check_temperature, unknown
from holdwatch.storage.placing import close_placement, placements, tell_watch
from holdwatch.storage.said import check_beginnings, check_day, check_food, check_said, step_of
from holdwatch.storage.spoken import in_site_language, on_site_clock
from holdwatch.storage.tables import Batch, Event, EventKind, Unit

__all__ = [
    "batch_named",
    "batches",
    "batches_near",
    "end_batch",
    "latest_batches",
    "lots",
    "note",
    "note_unit",
    "products_made",
    "start_batch",
]

_MOST_VESSELS = 999
_LOTS_COMPARED = 500  # letter by letter: of more it would be felt
_NEARLY = 0.75
_NEWEST = (col(Batch.started_ms).desc(), col(Batch.id).desc())
_NOTED = frozenset(
    {
        EventKind.LEFT_HEAT,
        EventKind.PREPARED,
        EventKind.MOVED,
        EventKind.REMOVED,
        EventKind.RETURNED,
        EventKind.REHEATING,
        EventKind.FROZEN,
        EventKind.THAWED,
        EventKind.OPENED,
        EventKind.IN_USE,
        EventKind.ALLERGENS,
        EventKind.HANDED_OVER,
        EventKind.READ_BACK,
        EventKind.RECEIVED,
        EventKind.ENDED,
        EventKind.READING,
        EventKind.STEP,
        EventKind.PROBE_IN_FOOD,
        EventKind.PROBE_OUT_OF_FOOD,
        EventKind.NOTE,
        EventKind.ACTION,
    }
)
_SAYS_NOT_WHETHER_THERE = frozenset(
    {
        EventKind.NOTE,
        EventKind.ACTION,
        EventKind.ALLERGENS,
        EventKind.READ_BACK,
        EventKind.PROBE_IN_FOOD,  # these two answer what was asked of its past
        EventKind.PROBE_OUT_OF_FOOD,
        EventKind.ENDED,
    }
)
"""What may be noted of food that is gone: all else says that some of it was still there."""
_STILL_THERE = (_NOTED - _SAYS_NOT_WHETHER_THERE) | {EventKind.ADDED, EventKind.PARTED}


def start_batch(
    session: Session,
    *,
    product: str,
    lot: str,
    vessels: int = 1,
    amount: str = "",
    step: str = "cool",
    holding: Literal["cold", "hot"] = "cold",
    processes: Sequence[str] = (),
    not_tcs: str = "",
    use_by: str = "",
    food: Sequence[str] = (),
    planned: Mapping[str, Any] | None = None,
    at_ms: int,
    now_ms: int,
    by: str,
) -> Batch:
    """Start a batch of a product.

    Parameters
    ----------
    amount : how much there is of it, as the kitchen measures it: ``9 kg``, ``6 sheets``.
    step, holding : where it begins, and how it is held; without `processes` they decide what is asked.
    processes : what is asked from the start: some of ``rules.life.BEGINNINGS``.
    not_tcs : the evidence on which it is declared to need no temperature control.
    food : what it is made of and whom it is for, where raw egg matters: some of ``rules.raw_egg.Food``.
    use_by : the maker's use-by date, where it rests on safety, as ``2026-12-01``.
    planned : which version of the written plan it follows, for the record; see `storage.planned`.

    Raises
    ------
    NameTakenError
        If there is a batch of that lot.
    ConfigError
        If a choice is unknown, the vessels are none, or the instant lies ahead.
    """
    lot = check_name(N_("lot"), lot)
    if session.exec(select(Batch).where(Batch.lot == lot)).first() is not None:
        raise NameTakenError(_("there is already a batch {lot!r}: give this one another lot").format(lot=lot))
    if not 1 <= vessels <= _MOST_VESSELS:
        raise ConfigError(
            _("a batch in {vessels} vessels cannot be: give a number from 1 to {most}").format(
                vessels=vessels, most=_MOST_VESSELS
            )
        )
    if holding not in {"cold", "hot"}:
        raise ConfigError(_("{holding!r} is no way of holding: use cold or hot").format(holding=holding))
    begins = check_beginnings(processes)
    if begins:
        step = step_of(begins)
        holding = "hot" if "hot-holding" in begins else holding
    batch = Batch(
        lot=lot,
        product=check_name(N_("name of a product"), product),
        vessels=vessels,
        step=check_step(step),
        holding=holding,
        started_ms=check_instant(session, N_("the start of the batch"), at_ms, now_ms),
        by=by,
    )
    session.add(batch)
    session.flush()
    facts: dict[str, Any] = {"vessels": vessels, "step": batch.step, "holding": holding}
    more: dict[str, Any] = {
        "processes": list(begins),
        "not_tcs": not_tcs.strip(),
        "use_by": check_day(N_("use-by date"), use_by),
        "amount": check_name(N_("amount"), amount) if amount.strip() else "",
    }
    more["food"] = list(check_food(food))
    more |= planned or {}
    facts |= {name: value for name, value in more.items() if value}
    record_event(
        session,
        EventKind.BATCH_STARTED,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=batch.id,
        text=batch.product,
        facts=facts,
    )
    _tell_watch(session, batch, ArrivalKind.BATCH, at_ms, now_ms)
    return batch


def end_batch(session: Session, batch: Batch, *, outcome: str, at_ms: int, now_ms: int, by: str) -> Batch:
    """End a batch: all of it was served, sold, used or discarded. Its probes are free again.

    Raises
    ------
    StorageError
        If it has ended already.
    ConfigError
        If the instant lies ahead, before the batch's start, or before an entry by which it was still there.
    """
    note(session, batch, EventKind.ENDED, at_ms=at_ms, now_ms=now_ms, by=by, text=outcome)
    return batch


def batch_named(session: Session, lot: str) -> Batch:
    """Return a batch by its lot.

    Raises
    ------
    UnknownNameError
        If there is none; it lists near lots.
    """
    found = session.exec(select(Batch).where(Batch.lot == lot.strip())).first()
    if found is None:
        raise unknown(N_("batch"), lot, session.exec(select(Batch.lot)).all())
    return found


def batches(session: Session, *, running_only: bool = False, since_ms: int | None = None) -> list[Batch]:
    """Return batches, oldest start first; `since_ms` leaves out those that had ended before it."""
    query = select(Batch).order_by(col(Batch.started_ms), col(Batch.id))
    if running_only:
        query = query.where(col(Batch.ended_ms).is_(None))
    if since_ms is not None:
        query = query.where(or_(col(Batch.ended_ms).is_(None), col(Batch.ended_ms) >= since_ms))
    return list(session.exec(query))


def lots(session: Session) -> list[str]:
    """Return the lots of all batches, the newest first."""
    return list(session.exec(select(Batch.lot).order_by(*_NEWEST)))


def latest_batches(session: Session, count: int, wanted: str = "") -> list[Batch]:
    """Return the batches started last, the newest first; with `wanted` those that have it in product or lot.

    ``creme`` finds *Crème*: neither capitals nor accents matter.
    """
    newest = select(Batch).order_by(*_NEWEST)
    if not wanted:
        return list(session.exec(newest.limit(count)))
    # not by the database: SQLite knows the capitals of ASCII alone, and neither database takes accents off by itself
    names, plain = session.exec(select(Batch.id, Batch.product, Batch.lot).order_by(*_NEWEST)), _plain(wanted)
    having = (number for number, product, lot in names if plain in _plain(f"{product} {lot}"))
    return list(session.exec(newest.where(col(Batch.id).in_(list(islice(having, count))))))


def batches_near(session: Session, count: int, wanted: str) -> list[Batch]:
    """Return the batches started last whose product, or lot of late, is written nearly so: ``lemom curd`` finds *Lemon curd*."""
    of_late = session.exec(select(Batch.lot).order_by(*_NEWEST).limit(_LOTS_COMPARED))
    known = {_plain(name): name for name in [*of_late, *products_made(session)]}
    near = [known[each] for each in get_close_matches(_plain(wanted), known, n=3, cutoff=_NEARLY)]
    named = or_(col(Batch.product).in_(near), col(Batch.lot).in_(near))
    return list(session.exec(select(Batch).where(named).order_by(*_NEWEST).limit(count)))


def _plain(text: str) -> str:
    """Return a text without capitals and accents."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(each for each in apart if not unicodedata.combining(each))


def products_made(session: Session) -> list[str]:
    """Return every product that batches were made of, the latest made first."""
    query = select(Batch.product).group_by(Batch.product).order_by(func.max(Batch.started_ms).desc())
    return list(session.exec(query))


def note(
    session: Session,
    batch: Batch,
    kind: EventKind,
    *,
    at_ms: int,
    now_ms: int,
    by: str,
    vessel: int | None = None,
    celsius: float | None = None,
    text: str = "",
    replaces_id: int | None = None,
    unit: Unit | None = None,
    facts: dict[str, Any] | None = None,
) -> Event:
    """Note what was done with a batch; with `replaces_id` it stands in the place of an earlier note.

    `unit` is where the batch was moved, or removed, to. Without a vessel a note is about all of them.
    `facts` says more: of ``removed``, ``under`` which process time counts in place of temperature and whether the
    ``room_air`` may stand for the food; of ``received``, which ``part`` of the limits it is held against.

    Raises
    ------
    ConfigError
        If the note cannot be: a reading without a temperature, a vessel that the batch has not, an instant
        ahead, or food that is there after its end.
    StorageError
        If a batch is ended twice, or the replaced note is none of this batch's.
    """
    if kind not in _NOTED:
        raise ConfigError(
            _("{kind!r} cannot be noted of a batch: use one of {known}").format(
                kind=kind.value, known=", ".join(sorted(_NOTED))
            )
        )
    check_instant(session, N_("the note"), at_ms, now_ms)
    _check_day(session, batch, kind, at_ms)
    check_said(kind, text, facts or {})
    replaced = None if replaces_id is None else _replaced(session, batch, replaces_id)
    _check_there(session, batch, kind, at_ms, replaced)
    event = record_event(
        session,
        kind,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=id_of(batch),
        unit_id=None if unit is None else id_of(unit),
        vessel=_check_vessel(batch, kind, vessel),
        celsius=_check_celsius(kind, celsius),
        text=text or _counted_under(session, facts),
        replaces_id=replaces_id,
        facts=facts,
    )
    _take_effect(session, batch, event, replaced)
    first_ms = at_ms if replaced is None else min(at_ms, replaced.at_ms)
    _tell_watch(session, batch, ArrivalKind.EVENT, first_ms, now_ms)
    return event


def note_unit(
    session: Session,
    unit: Unit,
    kind: EventKind,
    *,
    at_ms: int,
    now_ms: int,
    by: str,
    celsius: float | None = None,
    text: str = "",
) -> Event:
    """Note a hand reading of the food in a unit, an action, or a remark about it.

    Raises
    ------
    ConfigError
        If the note cannot be.
    """
    if kind not in {EventKind.READING, EventKind.NOTE, EventKind.ACTION}:
        raise ConfigError(_("{kind!r} cannot be noted of a unit: use reading, note or action").format(kind=kind.value))
    check_instant(session, N_("the note"), at_ms, now_ms)
    checked = _check_celsius(kind, celsius)
    event = record_event(
        session, kind, at_ms=at_ms, now_ms=now_ms, by=by, unit_id=id_of(unit), celsius=checked, text=text
    )
    last_ms = max(at_ms, now_ms)
    queue(session, ArrivalKind.EVENT, first_ms=at_ms, last_ms=last_ms, now_ms=now_ms, unit_id=id_of(unit))
    return event


def _take_effect(session: Session, batch: Batch, event: Event, replaced: Event | None) -> None:
    """Let a note change the batch: its step, its end, its probes."""
    kind = EventKind(event.kind)
    if replaced is not None and replaced.kind == EventKind.ENDED:
        _reopen(session, batch, event)
    if kind is EventKind.ENDED:
        _end(session, batch, event)
    elif kind is EventKind.STEP:
        batch.step = check_step(event.text)
        session.add(batch)
    elif kind is EventKind.PROBE_OUT_OF_FOOD:  # what it says from then on is not the food's
        for placement in placements(session, batch_id=id_of(batch)):
            there = placement.from_ms <= event.at_ms and (placement.to_ms is None or placement.to_ms > event.at_ms)
            if there and event.vessel in {None, placement.vessel}:
                close_placement(session, placement, at_ms=event.at_ms, now_ms=event.recorded_ms, by=event.by)


def _end(session: Session, batch: Batch, event: Event) -> None:
    """Close a batch and its placements at the instant of the note."""
    if batch.ended_ms is not None:
        raise StorageError(
            _("batch {lot!r} has already ended, at {time}: there is nothing to end").format(
                lot=batch.lot, time=on_site_clock(session, batch.ended_ms)
            )
        )
    refuse_detained(session, batch)
    if event.at_ms < batch.started_ms:
        raise ConfigError(
            _("batch {lot!r} started at {time}: it cannot have ended before that").format(
                lot=batch.lot, time=on_site_clock(session, batch.started_ms)
            )
        )
    there = events(session, batch_id=id_of(batch), since_ms=event.at_ms + 1, kinds=_STILL_THERE)
    if there:
        raise ConfigError(
            _(
                "by an entry of {time} batch {lot!r} was still there: give an end that is not before it, or correct that entry first"
            ).format(lot=batch.lot, time=on_site_clock(session, there[-1].at_ms))
        )
    batch.ended_ms, batch.outcome = event.at_ms, event.text
    session.add(batch)
    for placement in placements(session, batch_id=id_of(batch)):
        if placement.to_ms is None or placement.to_ms > event.at_ms:
            close_placement(session, placement, at_ms=event.at_ms, now_ms=event.recorded_ms, by=event.by)


def _reopen(session: Session, batch: Batch, event: Event) -> None:
    """Undo an end that was noted by mistake; probes that were not placed anew watch the batch again."""
    ended_ms, batch.ended_ms, batch.outcome = batch.ended_ms, None, ""
    session.add(batch)
    for placement in placements(session, batch_id=id_of(batch)):
        if ended_ms is None or placement.to_ms != ended_ms:
            continue
        later = [p for p in placements(session, probe_id=placement.probe_id) if p.from_ms >= ended_ms]
        if not later:
            placement.to_ms = None
            session.add(placement)
            tell_watch(session, placement, min(ended_ms, event.at_ms), event.recorded_ms)


def _replaced(session: Session, batch: Batch, replaces_id: int) -> Event:
    """Return the note to be replaced."""
    found = session.get(Event, replaces_id)
    if found is None or found.batch_id != batch.id or EventKind(found.kind) not in _NOTED:
        raise StorageError(
            _("batch {lot!r} has no note {number}: look at its notes for the right number").format(
                lot=batch.lot, number=replaces_id
            )
        )
    newer = session.exec(select(Event).where(Event.replaces_id == replaces_id)).first()
    if newer is not None:
        raise StorageError(
            _("note {number} was already replaced by note {newer}: replace that one").format(
                number=replaces_id, newer=newer.id
            )
        )
    return found


def _counted_under(session: Session, facts: Mapping[str, Any] | None) -> str:
    """Say under what time counts from a removal on, where it does."""
    if not facts or not facts.get("under"):
        return ""
    with in_site_language(session):
        return _("under {clause}").format(clause=facts["under"])


def _check_vessel(batch: Batch, kind: EventKind, vessel: int | None) -> int | None:
    """Return the vessel that a note is about; a hand reading is of one vessel."""
    if vessel is None and kind is EventKind.READING:
        if batch.vessels > 1:
            raise ConfigError(
                _("say which vessel was measured: batch {lot!r} has {vessels} of them").format(
                    lot=batch.lot, vessels=batch.vessels
                )
            )
        return 1
    if vessel is not None and kind is EventKind.IN_USE and batch.vessels > 1:
        raise ConfigError(
            _("what is taken into use has a clock of its own: divide it off first (holdwatch batch divide)")
        )
    if vessel is not None and kind is EventKind.ENDED and batch.vessels > 1:
        raise ConfigError(
            _("a batch ends as a whole: divide off first what is gone (holdwatch batch divide), and end that")
        )
    if vessel is not None and not 1 <= vessel <= batch.vessels:
        raise ConfigError(
            _("batch {lot!r} has no vessel {vessel}: give one from 1 to {vessels}").format(
                lot=batch.lot, vessel=vessel, vessels=batch.vessels
            )
        )
    return vessel


def _check_celsius(kind: EventKind, celsius: float | None) -> float | None:
    """Return the temperature of a hand reading, or of a delivery; other notes have none."""
    if kind is EventKind.RECEIVED:
        return None if celsius is None else check_temperature(celsius)
    if kind is EventKind.READING:
        if celsius is None:
            raise ConfigError(_("a reading needs its temperature: give it with its unit, such as 38F or 3.5C"))
        return check_temperature(celsius)
    if celsius is not None:
        raise ConfigError(_("{kind!r} has no temperature: note it as a reading").format(kind=kind.value))
    return None


def _check_day(session: Session, batch: Batch, kind: EventKind, at_ms: int) -> None:
    """Refuse a reading of the wrong day: of a batch that was entered late, some may be older than its start."""
    if kind is EventKind.READING and at_ms < batch.started_ms - MS_PER_DAY:
        raise ConfigError(
            _(
                "a reading of {time} is more than a day older than the batch, which started at {start}; check the day given"
            ).format(time=on_site_clock(session, at_ms), start=on_site_clock(session, batch.started_ms))
        )


def _check_there(session: Session, batch: Batch, kind: EventKind, at_ms: int, replaced: Event | None) -> None:
    """Refuse that food is read or handled after its end: no verdict would see it; who corrects the end may."""
    if kind not in _STILL_THERE or batch.ended_ms is None or at_ms <= batch.ended_ms:
        return
    if replaced is None or replaced.kind != EventKind.ENDED:
        raise ConfigError(
            _("batch {lot!r} ended at {time}: if it was still there after that, correct its end first").format(
                lot=batch.lot, time=on_site_clock(session, batch.ended_ms)
            )
        )


def _tell_watch(session: Session, batch: Batch, kind: ArrivalKind, first_ms: int, now_ms: int) -> None:
    queue(session, kind, first_ms=first_ms, last_ms=max(first_ms, now_ms), now_ms=now_ms, batch_id=id_of(batch))
