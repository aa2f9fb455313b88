"""The times that a kitchen sets for itself, watched like a date mark: time in use, and its own shelf life.

And the instant at which times outside will have added up to what the code allows, while the food is out: it says by
when the food is to be gone, before the rule says that it was too long.
"""

from collections.abc import Sequence
from dataclasses import replace

from sqlmodel import Session

from holdwatch.clock import MS_PER_SECOND
from holdwatch.language import _
from holdwatch.limits import Limits
from holdwatch.limits.model import CumulativeLimits
from holdwatch.readings import DeclarationKind, Record
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Matter, Process, Verdict
from holdwatch.storage.life import Content
from holdwatch.views.discard import Discard, calendar_of, in_use, shelf_life
from holdwatch.watch.site import InForce

__all__ = ["own_times", "with_sum_due"]


_RUNNING = frozenset({Verdict.MET, Verdict.OPEN})


def own_times(
    session: Session, contents: Sequence[Content], here: InForce, now_ms: int, ended_ms: int | None
) -> tuple[Judgement, ...]:
    """Return what the record shows of the kitchen's own times."""
    found = (in_use(contents), shelf_life(session, contents, calendar_of(here.timezone)))
    return tuple(_judged(time, here, now_ms, ended_ms) for time in found if time is not None)


def _judged(time: Discard, here: InForce, now_ms: int, ended_ms: int | None) -> Judgement:
    when = time.words(here.timezone)
    over = time.at_ms if time.whole_day else time.at_ms - 1  # a day is over after its last millisecond
    changes: int | None = None
    if ended_ms is not None:
        in_time = ended_ms <= time.at_ms
        verdict = Verdict.MET if in_time else Verdict.MISSED
        said = _("In time: all of it was gone at {time}; by {due}.")
        if not in_time:
            said = _("Too late: all of it was gone at {time}; by {due}.")
        reason = said.format(time=here.when(ended_ms), due=when)
    elif now_ms <= over:
        verdict, changes = (Verdict.MET if time.whole_day else Verdict.OPEN), over + 1
        reason = _("Running: to be used up or discarded by {due}.").format(due=when)
    elif time.whole_day:
        verdict = Verdict.MISSED
        reason = _("Still there after the {due}: {why}.").format(due=when, why=time.why)
    else:
        verdict = Verdict.UNPROVEN
        reason = _("The time was up at {due} and no end is recorded: discard it, and record it.").format(due=when)
    clause = ClauseVerdict(
        time.clause, time.source, time.why, verdict, reason, due=(time.at_ms, time.at_ms), reached=_at(ended_ms)
    )
    return Judgement(
        Matter.DATE_MARKING,
        here.limits.id,
        verdict,
        (clause,),
        0,
        None,
        None,
        (),
        changes_ms=changes,
        limits_text=here.limits.digest,
        occasion=time.clause,
    )


def _at(at_ms: int | None) -> tuple[int, int] | None:
    return None if at_ms is None else (at_ms, at_ms)


def with_sum_due(
    judgements: tuple[Judgement, ...], contents: Sequence[Content], limits: Limits, now_ms: int
) -> tuple[Judgement, ...]:
    """Let the clause of times added up say by when the food is to be gone, while it is out and within its time."""
    return tuple(
        replace(judgement, clauses=tuple(_due(clause, contents, limits, now_ms) for clause in judgement.clauses))
        if judgement.process is Process.CUMULATIVE_TIME
        else judgement
        for judgement in judgements
    )


def _due(clause: ClauseVerdict, contents: Sequence[Content], limits: Limits, now_ms: int) -> ClauseVerdict:
    limit = limits.part(Process.CUMULATIVE_TIME.value, CumulativeLimits)
    out = [content.record for content in contents if _is_out(content.record, now_ms)]
    if limit is None or not out or clause.verdict not in _RUNNING:
        return clause
    due = min(_first_not_kept(record, limits, now_ms, now_ms + limit.within.ms) for record in out)
    return replace(clause, due=(due, due))


def _is_out(record: Record, now_ms: int) -> bool:
    """Tell whether it was taken out and not put back."""
    kind = DeclarationKind
    moves = [d for d in record.declared if d.kind in {kind.REMOVED, kind.RETURNED} and d.at_ms <= now_ms]
    ended = any(d.kind is kind.ENDED and d.at_ms <= now_ms for d in record.declared)
    return bool(moves) and not ended and max(moves).kind is kind.REMOVED


def _first_not_kept(record: Record, limits: Limits, kept_ms: int, not_kept_ms: int) -> int:
    """Return, to the second, when the sum is no longer shown to be within the time if nothing else is recorded."""
    while not_kept_ms - kept_ms > MS_PER_SECOND:
        middle = (kept_ms + not_kept_ms) // 2
        if judge(Process.CUMULATIVE_TIME, record, limits, until_ms=middle).verdict in _RUNNING:
            kept_ms = middle
        else:
            not_kept_ms = middle
    return kept_ms
