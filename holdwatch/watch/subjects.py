"""Who is judged: vessels of batches, food or air probes of units, signals of probes; and who is touched by what.

What arrives is turned into marks on subjects (``watch_state``) in the transaction that takes it from the queue, and a
mark is cleared in the transaction that writes what judging it led to. So a week's outbox is a few marks, however many
rows announced it, and a kill between the two loses nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from sqlmodel import Session, col, select

from holdwatch.language import _
from holdwatch.readings import Medium
from holdwatch.storage.arrivals import ArrivalKind
from holdwatch.storage.events import events
from holdwatch.storage.measured import vessels_known
from holdwatch.storage.parts import put_into
from holdwatch.storage.tables import Arrival, Batch, ClauseState, Event, EventKind, Placement, Probe, WatchState
from holdwatch.watch.days import SETTLED_AFTER_MS, STOOD_MS, days_between
from holdwatch.watch.site import in_force

__all__ = [
    "Marks",
    "batch_subject",
    "mark",
    "probe_subject",
    "touch_batch",
    "touched",
    "unit_subject",
    "vessel_title",
    "vessels_of",
]


def batch_subject(batch_id: int, vessel: int) -> str:
    """Name a vessel of a batch."""
    return f"batch:{batch_id}:{vessel}"


def unit_subject(unit_id: int, probe_id: int) -> str:
    """Name a probe in a unit."""
    return f"unit:{unit_id}:{probe_id}"


def probe_subject(probe_id: int) -> str:
    """Name the signal of a probe."""
    return f"probe:{probe_id}"


def vessel_title(batch: Batch, vessel: int) -> str:
    """Name a vessel to a person."""
    name = f"{batch.product} {batch.lot}"
    if batch.vessels == 1:
        return name
    return _("{batch}, vessel {vessel} of {vessels}").format(batch=name, vessel=vessel, vessels=batch.vessels)


@dataclass
class Marks:
    """Subjects to be judged; of units the local days."""

    subjects: dict[str, set[str]] = field(default_factory=dict)

    def add(self, subject: str, days: Iterable[str] = ()) -> None:
        """Mark a subject."""
        self.subjects.setdefault(subject, set()).update(days)


def touched(session: Session, arrivals: Iterable[Arrival], now_ms: int) -> Marks:
    """Return which subjects can be changed by what arrived."""
    marks = Marks()
    spans: dict[tuple[int | None, int | None, int | None], tuple[int, int]] = {}
    moved: set[int | None] = set()
    for arrival in arrivals:
        if arrival.kind != ArrivalKind.READINGS:
            moved.add(arrival.probe_id)
        about = (arrival.probe_id, arrival.batch_id, arrival.unit_id)
        first, last = spans.get(about, (arrival.first_ms, arrival.last_ms))
        spans[about] = (min(first, arrival.first_ms), max(last, arrival.last_ms))
    for (probe_id, batch_id, unit_id), span in spans.items():
        if probe_id is not None and (probe_id in moved or _is_silent(session, probe_id)):
            marks.add(probe_subject(probe_id))
        if batch_id is not None:
            touch_batch(session, marks, batch_id)
        if probe_id is not None or unit_id is not None or batch_id is None:
            for placement in _placements(session, probe_id, unit_id, span):
                _touch_placement(session, marks, placement, span, now_ms)
        if probe_id is None and unit_id is None and batch_id is None:  # the site itself: its zone or its limits
            for running in _batches_since(session, span[0]):
                touch_batch(session, marks, running)
    return marks


def touch_batch(session: Session, marks: Marks, batch_id: int) -> None:
    """Mark every vessel of a batch, and of those that some of it went into.

    A vessel that something was found of is marked also where it is known of no more.
    """
    for each in (batch_id, *put_into(session, batch_id)):
        _touch_one_batch(session, marks, each)


def _touch_one_batch(session: Session, marks: Marks, batch_id: int) -> None:
    batch = session.get(Batch, batch_id)
    if batch is None:
        return
    judged = session.exec(select(ClauseState.vessel).where(col(ClauseState.batch_id) == batch_id).distinct()).all()
    for vessel in {*vessels_of(session, batch), *(vessel for vessel in judged if vessel is not None)}:
        marks.add(batch_subject(batch_id, vessel))


def _touch_placement(session: Session, marks: Marks, placement: Placement, span: tuple[int, int], now_ms: int) -> None:
    """Mark what a placement watches; air in a unit is also held against the food probes and the batches there."""
    if placement.batch_id is not None:
        touch_batch(session, marks, placement.batch_id)
        return
    if placement.unit_id is None:
        return
    first = max(span[0] - SETTLED_AFTER_MS, placement.from_ms)  # shortly after midnight it also tells of the day before
    days = days_between(first, min(span[1], now_ms), in_force(session, first).timezone)
    marks.add(unit_subject(placement.unit_id, placement.probe_id), days)
    for batch_id in _taken_out_of(session, placement.unit_id, span):
        touch_batch(session, marks, batch_id)
    probe = session.get(Probe, placement.probe_id)
    if probe is None or probe.medium != Medium.AIR:
        return
    for other in _placements(session, None, placement.unit_id, span):
        marks.add(unit_subject(placement.unit_id, other.probe_id), days)
    for batch_id in _batches_in(session, placement.unit_id, span[0]):
        touch_batch(session, marks, batch_id)


def mark(session: Session, marks: Marks, now_ms: int) -> None:
    """Write marks into the store: the subjects are due at once."""
    for subject, days in sorted(marks.subjects.items()):
        state = session.get(WatchState, subject)
        if state is None:
            state = WatchState(subject=subject, next_ms=now_ms, facts={})
        facts = dict(state.facts)
        if days:
            facts["days"] = sorted(days.union(facts.get("days", ())))
        state.facts = facts
        state.next_ms = now_ms if state.next_ms is None else min(state.next_ms, now_ms)
        session.add(state)


def vessels_of(session: Session, batch: Batch) -> list[int]:
    """Return the vessels that something is known of; the first one where nothing is."""
    return vessels_known(session, batch)


def _is_silent(session: Session, probe_id: int) -> bool:
    """Tell whether a reading is news to the signal of a probe: it was silent, or was never looked at.

    Of a probe that speaks another reading only puts off the instant at which it is looked at again.
    """
    state = session.get(WatchState, probe_subject(probe_id))
    return state is None or bool(state.facts.get("silent"))


def _batches_since(session: Session, since_ms: int) -> Iterable[int]:
    """Return the batches that had not ended before an instant."""
    ended = col(Batch.ended_ms)
    rows = session.exec(select(Batch.id).where(ended.is_(None) | (ended >= since_ms))).all()
    return [batch_id for batch_id in rows if batch_id is not None]


def _batches_in(session: Session, unit_id: int, since_ms: int) -> Iterable[int]:
    """Return the batches that were moved into a unit and had not ended before an instant."""
    ended = col(Batch.ended_ms)
    rows = session.exec(
        select(Batch.id)
        .join(Event, col(Event.batch_id) == col(Batch.id))
        .where(
            col(Event.kind).in_([EventKind.MOVED.value, EventKind.REMOVED.value, EventKind.RETURNED.value]),
            col(Event.unit_id) == unit_id,
            ended.is_(None) | (ended >= since_ms),
        )
        .distinct()
    ).all()
    return [batch_id for batch_id in rows if batch_id is not None]


def _taken_out_of(session: Session, unit_id: int, span: tuple[int, int]) -> Iterable[int]:
    """Return the batches of a unit that were taken out when, or soon after, it was read: it shows how cold they were."""
    removed = events(session, since_ms=span[0], until_ms=span[1] + STOOD_MS, kinds=[EventKind.REMOVED])
    there = set(_batches_in(session, unit_id, span[0])) if removed else set()
    return {event.batch_id for event in removed if event.batch_id is not None and event.batch_id in there}


def _placements(session: Session, probe_id: int | None, unit_id: int | None, span: tuple[int, int]) -> list[Placement]:
    """Return the placements that overlap a span: of a probe, in a unit, or all."""
    query = select(Placement).where(
        col(Placement.from_ms) <= span[1],
        col(Placement.to_ms).is_(None) | (col(Placement.to_ms) >= span[0]),
    )
    if probe_id is not None:
        query = query.where(col(Placement.probe_id) == probe_id)
    if unit_id is not None:
        query = query.where(col(Placement.unit_id) == unit_id)
    return list(session.exec(query.order_by(col(Placement.id))).all())
