"""A vessel of a batch: its whole record judged from its start, and what the verdicts call for.

A vessel's record is a few thousand readings and costs about a millisecond to judge. So nothing is folded: every look
starts from the batch's start, and neither the order of arrival, a correction nor a restart can leave a trace.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.readings import Record
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.contents import governing
from holdwatch.rules.facts import next_instant
from holdwatch.rules.life import Measured
from holdwatch.rules.marked import judge_marked, needs_mark_ms
from holdwatch.rules.verdicts import Judgement
from holdwatch.storage.findings import findings
from holdwatch.storage.life import Content, contents_of
from holdwatch.storage.states import clause_states, watch_state
from holdwatch.storage.tables import Batch, FindingKind
from holdwatch.views.discard import calendar_of
from holdwatch.watch.answer import Answer, ClauseAnswer, earliest
from holdwatch.watch.findings import Gone
from holdwatch.watch.outlook import look_ahead
from holdwatch.watch.own_times import own_times, with_sum_due
from holdwatch.watch.signals import silent_since
from holdwatch.watch.site import InForce, in_force
from holdwatch.watch.stood import with_stood
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
    known = vessels_of(session, batch)
    judged_before = {row.day for row in clause_states(session, subject=subject)}
    if vessel not in known:
        gone = Gone(
            _("nothing is known of this vessel any more: its probe was placed, or something noted of it, by mistake")
        )
        days = tuple(sorted({"", *judged_before}))
        return Answer(subject, gone=lambda _: gone, no_forecast=True, days=days, batch_id=batch.id, vessel=vessel)
    here, first = in_force(session, batch.started_ms), vessel == known[0]
    contents = contents_of(session, batch, vessel, now_ms + AHEAD_MS)
    if not first:  # what is asked of the batch as a whole is asked of its first vessel
        asked = contents_of(session, batch, known[0], now_ms + AHEAD_MS, readings=False)
        contents = _without_received(contents, {each for content in asked for each in content.life.received})
    record = contents[0].record
    ended_ms = batch.ended_ms if batch.ended_ms is not None and batch.ended_ms <= now_ms else None
    judgements = _judged(session, batch, vessel, contents, here, now_ms, ended_ms, largest_gap_ms)
    others = known[1:] if first else []
    whole = [*contents, *(each for n in others for each in contents_of(session, batch, n, now_ms, readings=False))]
    marked = _marked(batch, whole, here, now_ms, ended_ms) if first else _Marked(None, None)
    judgements = with_sum_due(judgements, contents, here.limits, now_ms)
    if marked.judgement is not None:
        judgements = (*judgements, marked.judgement)
    if first:
        judgements = (*judgements, *own_times(session, whole, here, now_ms, ended_ms))
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
        clauses=[
            ClauseAnswer(judgement, clause, judgement.occasion)
            for judgement in judgements
            for clause in judgement.clauses
        ],
        forecasts=ahead.made,
        no_forecast=ahead.none,
        wanted=wanted_of_vessel(case),
        gone=lambda finding: gone_of_vessel(case, finding),
        days=tuple(sorted({"", *judged_before, *(judgement.occasion for judgement in judgements)})),
        next_ms=earliest(*waits, *case.waits(), marked.next_ms, ahead.next_ms, ended_later, *_ahead(contents, now_ms)),
        facts=ahead.facts,
        batch_id=batch.id,
        vessel=vessel,
    )


def _without_received(contents: Sequence[Content], asked: Collection[Measured]) -> list[Content]:
    """Return contents that are not asked what another vessel is asked of their receiving."""
    return [
        replace(content, life=replace(life, received=tuple(each for each in life.received if each not in asked)))
        for content in contents
        for life in (content.life,)
    ]


def _judged(
    session: Session,
    batch: Batch,
    vessel: int,
    contents: Sequence[Content],
    here: InForce,
    now_ms: int,
    ended_ms: int | None,
    largest_gap_ms: int | None,
) -> tuple[Judgement, ...]:
    """Judge every content of a vessel, and let the one that fares worst govern."""
    served = [replace(each, life=replace(each.life, food=each.life.food | here.served)) for each in contents]
    return governing(
        [
            judge_vessel(
                content.record,
                here.limits,
                step=content.step,
                holding="hot" if batch.holding == "hot" else "cold",
                until_ms=now_ms,
                ended_ms=ended_ms,
                started_ms=content.started_ms,
                largest_gap_ms=largest_gap_ms,
                life=with_stood(session, batch, vessel, content, here, now_ms),
                words=here.words,
            )
            for content in served
        ]
    )


@dataclass(frozen=True)
class _Marked:
    """The date mark of a batch, and when it has to be looked at again."""

    judgement: Judgement | None
    next_ms: int | None


def _marked(batch: Batch, contents: Sequence[Content], here: InForce, now_ms: int, ended_ms: int | None) -> _Marked:
    """Judge the date mark of food that is held cold."""
    lives = [content.life for content in contents if not content.life.not_tcs]
    if batch.holding == "hot" or not lives:
        return _Marked(None, None)
    calendar = calendar_of(here.timezone)
    judgement = judge_marked(here.limits, lives, now_ms, ended_ms, calendar)
    needed_ms = needs_mark_ms(here.limits, lives, calendar)
    waits = judgement is None and ended_ms is None and needed_ms is not None and needed_ms > now_ms
    return _Marked(judgement, needed_ms if waits else None)


def _last(record: Record, now_ms: int) -> tuple[int, float] | None:
    """Return the last reading that the clock has reached, hand or probe."""
    found = []
    for series in (record.probe, record.hand):
        seen = int(np.searchsorted(series.at_ms, now_ms, side="right"))
        if seen:
            found.append((int(series.at_ms[seen - 1]), float(series.celsius[seen - 1])))
    return max(found, default=None)


def _ahead(contents: Sequence[Content], now_ms: int) -> list[int]:
    """Return what the clock has not reached: the first readings, and what was declared a little ahead."""
    readings = [
        int(series.at_ms[n])
        for content in contents
        for series in (content.record.probe, content.record.hand)
        if (n := int(np.searchsorted(series.at_ms, now_ms, "right"))) < len(series)
    ]
    told = (
        at_ms
        for content in contents
        for at_ms in (
            *(declared.at_ms for declared in content.record.declared),
            *content.life.entries,
            *(counted.at_ms for counted in content.life.counted),
            *(measured.at_ms for measured in content.life.received),
            *(in_use.at_ms for in_use in content.in_use),
        )
    )
    return [*readings, *(at_ms for at_ms in told if at_ms > now_ms)]
