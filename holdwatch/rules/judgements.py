"""Cutting records, and putting judgements together, where one vessel is asked more than one thing."""

from dataclasses import replace

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.limits.model import Limits
from holdwatch.readings import Record
from holdwatch.rules.occasions import SECOND
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Matter, Verdict, worst

__all__ = ["BEFORE_MS", "again", "alone", "asked_nothing", "joined", "since"]

BEFORE_MS = 20 * MS_PER_MINUTE
"""Ours: so long before a reheating its last cold reading may lie; the largest gap of a probe."""


def since(record: Record, first_ms: int) -> Record:
    """Return a record from an instant on."""
    return replace(
        record,
        probe=record.probe.between(first_ms, _EVER_MS),
        hand=record.hand.between(first_ms, _EVER_MS),
        declared=tuple(d for d in record.declared if d.at_ms >= first_ms),
    )


_EVER_MS = 2**62


def again(judgement: Judgement) -> Judgement:
    """Return a judgement as that of a second time, which its words tell too."""
    clauses = tuple(
        replace(clause, requires=_("after reheating, {requires}").format(requires=clause.requires))
        for clause in judgement.clauses
    )
    return replace(judgement, occasion=SECOND, clauses=clauses)


def joined(before: Judgement, after: Judgement) -> Judgement:
    """Return one judgement of holding, of the time before it was on display and of the time since."""
    clauses = tuple(_one(a, b) for a, b in zip(before.clauses, after.clauses, strict=True))
    return replace(after, clauses=clauses, verdict=worst(clause.verdict for clause in clauses))


def _one(before: ClauseVerdict, after: ClauseVerdict) -> ClauseVerdict:
    if before.verdict is Verdict.NONE:
        return after
    return replace(
        after,
        verdict=worst((before.verdict, after.verdict)),
        reason=_("Before it was on display: {before} On display: {after}").format(
            before=before.reason, after=after.reason
        ),
        started=before.started,
        spells=(*before.spells, *after.spells),
        doubtful=before.doubtful or after.doubtful,
    )


def alone(matter: Matter, limits: Limits, clause: ClauseVerdict) -> Judgement:
    """Return the judgement of a matter that no series of readings decides."""
    said = Judgement(matter, limits.id, clause.verdict, (clause,), 0, None, None, (), occasion=matter.value)
    return replace(said, limits_text=limits.digest)


def asked_nothing(judgement: Judgement, reason: str) -> Judgement:
    """Return a judgement in which nothing is asked, with the reason."""
    clauses = tuple(
        replace(clause, verdict=Verdict.NONE, reason=reason, due=None, spells=(), doubtful=False)
        for clause in judgement.clauses
    )
    return replace(judgement, clauses=clauses, verdict=Verdict.NONE, asks=(), changes_ms=None)
