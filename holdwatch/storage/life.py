"""What was declared of a batch, and what it is made of: its own food, and food of other batches with its own past.

A part that is divided off, and what a half-cooled filling goes into, inherit the clock: the record of such a content is
that of the vessel that it came from, up to the instant at which it came, and that of this vessel from then on.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice
from math import nan

import numpy as np
from sqlmodel import Session

from holdwatch.language import _
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series
from holdwatch.rules.life import Counted, Life, Measured, Reheated, spans
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.verdicts import Process, Step
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.measured import measured_of, vessels_known
from holdwatch.storage.placing import placements
from holdwatch.storage.records import record_of_vessel, room_of
from holdwatch.storage.tables import Batch, Event, EventKind, Unit, UnitKind

__all__ = ["Content", "InUse", "contents_of", "life_of"]


@dataclass(frozen=True)
class InUse:
    """A clock that somebody set running when a vessel was taken into use."""

    lot: str
    at_ms: int
    for_ms: int

    @property
    def due_ms(self) -> int:
        """When it is over, in ms."""
        return self.at_ms + self.for_ms


@dataclass(frozen=True)
class Content:
    """Food in a vessel with all of its past."""

    record: Record
    life: Life
    step: Step
    """The step in which it began."""
    started_ms: int
    product: str = ""
    in_use: tuple[InUse, ...] = ()
    """The clocks that were set running when it, or what it is in now, was taken into use."""
    came_ms: int | None = None
    """When it came into what it is in now; ``None`` for a batch's own food. [ms]"""


def contents_of(session: Session, batch: Batch, vessel: int, until_ms: int, *, readings: bool = True) -> list[Content]:
    """Return what a vessel holds at an instant: its own food first, then what came from other batches.

    What is declared to need no temperature control comes after what needs it; put into such food, it is left out.
    Where only instants and dates are asked, `readings` need not be loaded.
    """
    return _contents(session, batch, vessel, until_ms, frozenset(), record_of_vessel if readings else _unread)


def _unread(_session: Session, _batch: Batch, _vessel: int, _until_ms: int) -> Record:
    return Record(probe=Series.empty(), hand=Series.empty(), medium=Medium.FOOD, declared=(), air=Series.empty())


def _contents(
    session: Session,
    batch: Batch,
    vessel: int,
    until_ms: int,
    seen: frozenset[tuple[int, int]],
    read: Callable[[Session, Batch, int, int], Record],
) -> list[Content]:
    told = _told(session, batch, vessel, until_ms)
    own = Content(
        read(session, batch, vessel, until_ms),
        life_of(session, batch, told, until_ms),
        _first_step(batch, told),
        batch.started_ms,
        batch.product,
        tuple(InUse(batch.lot, e.at_ms, int(e.facts["for_ms"])) for e in told if e.kind == EventKind.IN_USE),
    )
    added = [event for event in told if event.kind == EventKind.ADDED]
    seen = seen | {(id_of(batch), vessel)}
    came = [
        _joined(content, own, event.at_ms)
        for event in added
        for source, number in _came_from(session, event)
        if (id_of(source), number) not in seen
        for content in _contents(session, source, number, event.at_ms, seen, read)
    ]
    limited = [content for content in came if not content.life.not_tcs or own.life.not_tcs]
    all_came = not own.life.begins and any(event.at_ms <= batch.started_ms for event in added)
    found = limited if limited and all_came else [own, *limited]
    return sorted(found, key=lambda content: bool(content.life.not_tcs))


def _came_from(session: Session, added: Event) -> Iterator[tuple[Batch, int]]:
    """Give the vessels that a part may be from: the one that was named, else any that its batch has.

    Of the vessels that nothing is known of one stands for all, unless what is measured speaks for them.
    """
    source = session.get_one(Batch, int(added.facts["batch"]))
    numbers = [int(number) for number in added.facts.get("vessels", ())]
    if not numbers:
        numbers = vessels_known(session, source, added.at_ms)
        noted = events(session, batch_id=id_of(source), kinds=[EventKind.READING])
        measured = measured_of(session, source, placements(session, batch_id=id_of(source)), noted)
        others = (number for number in range(1, source.vessels + 1) if number not in numbers)
        if not measured.speaks_for_all:
            numbers += islice(others, 1)
    for number in numbers:
        yield source, number


def life_of(session: Session, batch: Batch, told: Sequence[Event], until_ms: int) -> Life:
    """Return what events declare of a batch.

    Parameters
    ----------
    told : the events of the batch, or of one of its vessels, in order.
    until_ms : how far the air of the room is known. [ms]
    """
    kind = EventKind
    start = next((event for event in told if event.kind == kind.BATCH_STARTED), None)
    facts = start.facts if start is not None else {}
    made = [event.at_ms for event in told if event.kind in {kind.PREPARED, kind.OPENED}]
    left = [event.at_ms for event in told if event.kind == kind.LEFT_HEAT]
    begins = tuple(Process(word) for word in facts.get("processes", []))
    cools = Process.COOLING in begins or (not begins and _first_step(batch, told) in {Step.COOK, Step.COOL})
    if cools and not left:  # what begins to cool was made by then
        left = [batch.started_ms]
    return Life(
        begins=begins,
        steps=tuple(_steps(session, told)),
        counted=tuple(_counted(told)),
        reheated=tuple(Reheated(e.at_ms, e.text == "service") for e in told if e.kind == kind.REHEATING),
        frozen=spans((e.at_ms, e.kind == kind.FROZEN) for e in told if e.kind in {kind.FROZEN, kind.THAWED}),
        received=tuple(
            Measured(e.at_ms, nan if e.celsius is None else e.celsius, str(e.facts.get("part", "receiving-cold")))
            for e in told
            if e.kind == kind.RECEIVED and (e.celsius is not None or e.facts.get("part"))
        ),
        made_ms=min([*made, *left] or [batch.started_ms]),
        use_by=date.fromisoformat(facts["use_by"]) if facts.get("use_by") else None,
        ends_frozen=batch.ended_ms is not None and batch.outcome == "frozen",
        food=frozenset(Food(word) for word in facts.get("food", [])),
        not_tcs=_("{reason}, said {by}").format(reason=facts["not_tcs"], by=batch.by) if facts.get("not_tcs") else "",
        room=room_of(session, batch, told, until_ms),
    )


_SHOWN_IN = frozenset({UnitKind.DISPLAY_CASE, UnitKind.HOT_CABINET, UnitKind.ROOM})
"""Where food is shown, or held for service; in any other unit it is in store."""


def _steps(session: Session, told: Iterable[Event]) -> Iterator[tuple[int, Step]]:
    """Give the steps; a display also ends where the food is moved into a store, or returned to where it came from."""
    shown = came_out = False
    for event in told:
        if event.kind == EventKind.STEP:
            step = Step(event.text)
            shown = step is Step.DISPLAY
            yield event.at_ms, step
        elif event.kind == EventKind.REMOVED:
            came_out = not shown
        elif event.kind in {EventKind.MOVED, EventKind.RETURNED}:
            unit = None if event.unit_id is None else session.get_one(Unit, event.unit_id)
            back = event.kind == EventKind.RETURNED and came_out
            if shown and (back if unit is None else unit.kind not in _SHOWN_IN):
                shown = False
                yield event.at_ms, Step.STORE


def _counted(told: Iterable[Event]) -> Iterable[Counted]:
    """Give time in place of temperature, each process from its first removal."""
    begun: set[str] = set()
    for event in told:
        under = event.facts.get("under") if event.kind == EventKind.REMOVED else None
        if under and under not in begun:
            begun.add(under)
            yield Counted(Process(under), event.at_ms, room_air=bool(event.facts.get("room_air")))


def _told(session: Session, batch: Batch, vessel: int, until_ms: int) -> list[Event]:
    """Return what was told of a vessel, or of all of them."""
    told = events(session, batch_id=id_of(batch), until_ms=max(until_ms, batch.started_ms))
    return [event for event in told if event.vessel in {None, vessel}]


def _first_step(batch: Batch, told: Iterable[Event]) -> Step:
    start = next((event for event in told if event.kind == EventKind.BATCH_STARTED), None)
    return Step((start.facts.get("step") if start is not None else None) or batch.step)


# ---------------------------------------------------------------- food that came from another batch


def _joined(came: Content, own: Content, at_ms: int) -> Content:
    """Return a content that came into a vessel at an instant, with what befell it before and since."""
    return Content(
        record=_record(came.record, own.record, at_ms),
        life=_life(came.life, own, at_ms),
        step=came.step,
        started_ms=min(came.started_ms, at_ms),
        product=came.product,
        in_use=(*came.in_use, *own.in_use),
        came_ms=at_ms,
    )


def _record(before: Record, since: Record, at_ms: int) -> Record:
    medium = Medium.FOOD if Medium.FOOD in {before.medium, since.medium} else since.medium
    probes = [record.probe if record.medium is medium else Series.empty() for record in (before, since)]
    # The end of the batch that it came from is no end of what went into another.
    past = {d for d in before.declared if d.at_ms <= at_ms and d.kind is not DeclarationKind.ENDED}
    declared = past | {d for d in since.declared if d.at_ms >= at_ms}
    return Record(
        probe=_one_after_the_other(probes[0], probes[1], at_ms),
        hand=_one_after_the_other(before.hand, since.hand, at_ms),
        medium=medium,
        # Another vessel, another warmth: as when it is moved, a quick change is no ground for doubt.
        declared=tuple(sorted(declared | {Declaration(at_ms, DeclarationKind.MOVED)})),
        air=_one_after_the_other(before.air, since.air, at_ms),
    )


def _one_after_the_other(before: Series, since: Series, at_ms: int) -> Series:
    later = since.between(at_ms, _EVER_MS)
    earlier = before.between(0, at_ms - 1 if len(later) and int(later.at_ms[0]) == at_ms else at_ms)
    return Series(np.concatenate([earlier.at_ms, later.at_ms]), np.concatenate([earlier.celsius, later.celsius]))


_EVER_MS = 2**62


def _life(came: Life, own: Content, at_ms: int) -> Life:
    """Return the life of a content: its own until it came, that of the vessel since; the oldest content governs."""
    here = own.life
    first = [] if own.step in {Step.COOK, Step.COOL} else [(at_ms, own.step)]
    return replace(
        here,
        begins=came.begins,
        steps=(*came.steps, *first, *(step for step in here.steps if step[0] >= at_ms)),
        counted=_oldest(came.counted, here.counted, at_ms),
        reheated=(*came.reheated, *(each for each in here.reheated if each.at_ms >= at_ms)),
        frozen=(*(span for span in came.frozen if span[1] is not None), *here.frozen),
        received=(*came.received, *here.received),
        made_ms=came.made_ms if here.not_tcs else min(at for at in (came.made_ms, here.made_ms) if at is not None),
        food=here.food | came.food,
        use_by=min((day for day in (came.use_by, here.use_by) if day is not None), default=None),
        not_tcs=came.not_tcs,
        room=here.room,
    )


def _oldest(came: Sequence[Counted], here: Sequence[Counted], at_ms: int) -> tuple[Counted, ...]:
    """Return what counts of food that came into a vessel: its own removal, or the vessel's where that is earlier."""
    found = {counted.process: counted for counted in came}
    for tray in here:
        own = found.get(tray.process, replace(tray, at_ms=max(tray.at_ms, at_ms)))
        earlier = tray.at_ms if tray.at_ms < own.at_ms else own.tray_ms
        found[tray.process] = replace(own, tray_ms=earlier, room_air=tray.room_air)
    return tuple(found.values())
