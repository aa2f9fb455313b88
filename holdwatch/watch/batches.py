"""A vessel of a batch: its whole record judged from its start, and what the verdicts call for.

A vessel's record is a few thousand readings and costs about a millisecond to judge. So nothing is folded: every look
starts from the batch's start, and neither the order of arrival, a correction nor a restart can leave a trace.
"""

from typing import Literal

import numpy as np
from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.readings import Record
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.facts import next_instant
from holdwatch.rules.verdicts import Step
from holdwatch.storage.events import events
from holdwatch.storage.findings import findings
from holdwatch.storage.records import record_of_vessel
from holdwatch.storage.states import watch_state
from holdwatch.storage.tables import Batch, EventKind, FindingKind
from holdwatch.watch.answer import Answer, ClauseAnswer, earliest
from holdwatch.watch.findings import Gone
from holdwatch.watch.outlook import look_ahead
from holdwatch.watch.signals import silent_since
from holdwatch.watch.site import in_force
from holdwatch.watch.subjects import batch_subject, vessels_of
from holdwatch.watch.vessels import VesselCase, gone_of_vessel, wanted_of_vessel

__all__ = ["judge_batch_vessel"]

AHEAD_MS = 3 * MS_PER_MINUTE
"""Readings may carry instants this far ahead of the clock; they are judged when the clock gets there."""


def judge_batch_vessel(
    session: Session, batch: Batch, vessel: int, now_ms: int, *, largest_gap_ms: int | None = None
) -> Answer:
    """Judge a vessel as its record stands at `now_ms`."""
    subject = batch_subject(batch.id or 0, vessel)
    if vessel not in vessels_of(session, batch):
        gone = Gone("nothing is known of this vessel any more: its probe was placed by mistake")
        return Answer(subject, gone=lambda _: gone, no_forecast=True, days=("",), batch_id=batch.id, vessel=vessel)
    here = in_force(session, batch.started_ms)
    record = record_of_vessel(session, batch, vessel, now_ms + AHEAD_MS)
    judgements = judge_vessel(
        record,
        here.limits,
        step=_step(session, batch),
        holding=_holding(batch),
        until_ms=now_ms,
        ended_ms=batch.ended_ms if batch.ended_ms is not None and batch.ended_ms <= now_ms else None,
        started_ms=batch.started_ms,
        largest_gap_ms=largest_gap_ms,
        words=here.words,
    )
    state = watch_state(session, subject)
    warned = [f for f in findings(session, subject=subject, open_only=True) if f.kind == FindingKind.SOON]
    ahead = look_ahead(
        session,
        batch,
        vessel,
        record,
        judgements,
        facts=state.facts if state is not None else {},
        warned={finding.clause for finding in warned},
        now_ms=now_ms,
    )
    case = VesselCase(
        batch=batch,
        vessel=vessel,
        here=here,
        judgements=judgements,
        outlook=ahead.outlook,
        silent_since_ms=silent_since(
            session, batch_id=batch.id, vessel=vessel, now_ms=now_ms, largest_gap_ms=largest_gap_ms
        ),
        last=_last(record, now_ms),
        standing_soon=frozenset(str(finding.facts.get("family")) for finding in warned),
        now_ms=now_ms,
    )
    ended_later = batch.ended_ms if batch.ended_ms is not None and batch.ended_ms > now_ms else None
    waits = [next_instant(judgement, now_ms) for judgement in judgements]
    return Answer(
        subject=subject,
        clauses=[ClauseAnswer(judgement, clause) for judgement in judgements for clause in judgement.clauses],
        forecasts=ahead.made,
        no_forecast=ahead.none,
        wanted=wanted_of_vessel(case),
        gone=lambda finding: gone_of_vessel(case, finding),
        days=("",),
        next_ms=earliest(*waits, ahead.next_ms, ended_later, _first_ahead(record, now_ms)),
        facts=ahead.facts,
        batch_id=batch.id,
        vessel=vessel,
    )


def _step(session: Session, batch: Batch) -> Step:
    """Return the step that decides what is asked: a batch that was cooled once is held to its cooling for ever."""
    told = events(session, batch_id=batch.id, kinds=[EventKind.BATCH_STARTED, EventKind.STEP])
    steps = [str(event.facts.get("step") or event.text) for event in told]
    cooling = next((step for step in steps if step in {Step.COOK, Step.COOL}), None)
    return Step(cooling or batch.step)


def _holding(batch: Batch) -> Literal["cold", "hot"]:
    return "hot" if batch.holding == "hot" else "cold"


def _last(record: Record, now_ms: int) -> tuple[int, float] | None:
    """Return the last reading that the clock has reached, hand or probe."""
    found = []
    for series in (record.probe, record.hand):
        seen = int(np.searchsorted(series.at_ms, now_ms, side="right"))
        if seen:
            found.append((int(series.at_ms[seen - 1]), float(series.celsius[seen - 1])))
    return max(found, default=None)


def _first_ahead(record: Record, now_ms: int) -> int | None:
    """Return the first reading that the clock has not reached."""
    ahead = [
        int(s.at_ms[n])
        for s in (record.probe, record.hand)
        if (n := int(np.searchsorted(s.at_ms, now_ms, "right"))) < len(s)
    ]
    return min(ahead, default=None)
