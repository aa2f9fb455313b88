"""What the cooks do, written into the store as if they had done it on the screen: each step once."""

from collections.abc import Callable
from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.demo.batches import BatchPlan
from holdwatch.demo.kitchen import UNITS
from holdwatch.errors import UnknownNameError
from holdwatch.storage.planned import start_planned
from holdwatch.storage.register import (
    batch_named,
    end_batch,
    events,
    note,
    place,
    probe_named,
    unit_named,
)
from holdwatch.storage.tables import Batch, EventKind

__all__ = ["take_steps"]

BENCH = "Kitchen"


@dataclass(frozen=True)
class _Step:
    """One thing that is done at an instant, unless an event says that it was done already."""

    at_ms: int
    kind: EventKind
    do: Callable[[Session, Batch, int], object]


def take_steps(session: Session, plan: BatchPlan, now_ms: int, *, as_it_happened: bool = False) -> int:
    """Do what of a batch falls due up to now and was not done yet; return how much that was.

    With `as_it_happened` each step is recorded at its own instant, else now.
    """
    if plan.start_ms > now_ms:
        return 0
    batch, done = _batch_of(session, plan, plan.start_ms if as_it_happened else now_ms)
    known = {(event.kind, event.at_ms) for event in events(session, batch_id=batch.id, all_versions=True)}
    for step in _steps(plan):
        if step.at_ms <= now_ms and (step.kind.value, step.at_ms) not in known and batch.ended_ms is None:
            step.do(session, batch, step.at_ms if as_it_happened else now_ms)
            done += 1
    return done


def _batch_of(session: Session, plan: BatchPlan, now_ms: int) -> tuple[Batch, int]:
    """Return the batch, started if it was not."""
    try:
        return batch_named(session, plan.lot), 0
    except UnknownNameError:
        batch, _ = start_planned(
            session,
            product=plan.product.name,
            lot=plan.lot,
            vessels=plan.product.vessels,
            processes=("cooling",),  # it is started when it leaves the heat
            at_ms=plan.start_ms,
            now_ms=now_ms,
            by=plan.by,
        )
        return batch, 1


def _steps(plan: BatchPlan) -> list[_Step]:
    """Return a batch's steps after its start, in order."""
    steps = [
        _noted(plan, EventKind.LEFT_HEAT, plan.start_ms, ""),
        _Step(
            plan.placed_ms,
            EventKind.PROBE_PLACED,
            lambda session, batch, now_ms: place(
                session,
                probe_named(session, plan.device),
                batch=batch,
                vessel=1,
                slowest=True,
                at_ms=plan.placed_ms,
                now_ms=now_ms,
                by=plan.by,
            ),
        ),
    ]
    steps += [
        _noted(plan, EventKind.MOVED, max(stay.from_ms, plan.placed_ms), stay.room)
        for stay in plan.pan.stays
        if stay.room != BENCH
    ]
    if plan.action:
        steps.append(_noted(plan, EventKind.ACTION, plan.end_ms - MS_PER_MINUTE, plan.action))
    steps.append(
        _Step(
            plan.end_ms,
            EventKind.ENDED,
            lambda session, batch, now_ms: end_batch(
                session, batch, outcome=plan.outcome, at_ms=plan.end_ms, now_ms=now_ms, by=plan.by
            ),
        )
    )
    return sorted(steps, key=lambda step: step.at_ms)


def _noted(plan: BatchPlan, kind: EventKind, at_ms: int, text: str) -> _Step:
    """Return a note as a step; a move names the unit moved to, so that its air is known to be around the food."""

    def do(session: Session, batch: Batch, now_ms: int) -> None:
        unit = unit_named(session, text) if kind is EventKind.MOVED and text in UNITS else None
        words = f"into the {text.lower()}" if kind is EventKind.MOVED else text
        note(session, batch, kind, at_ms=at_ms, now_ms=now_ms, by=plan.by, text=words, unit=unit)

    return _Step(at_ms, kind, do)
