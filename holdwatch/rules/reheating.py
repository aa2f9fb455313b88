"""Reheating for hot holding: from cold to the target within a time, and the dwell there.

The clock runs from the last reading at the starting level, ``s1``; ``s2`` is the reading after. Without such a
reading ``removed``, if it is not later than the first reading, is ``s1``; without either it is unknown, and the
clause cannot be met. The time is judged as a cooling target is, the dwell as a row of cooking is; both count, and the
dwell begins within the time.
A code that gives no time asks for the target and the dwell alone.
"""

import numpy as np

from holdwatch.language import _
from holdwatch.limits.model import ReheatingLimits
from holdwatch.quantities import Level, format_duration
from holdwatch.readings import Series
from holdwatch.rules.answers import Declared, Said, answer, ended_before_due, joined, reading
from holdwatch.rules.context import Context
from holdwatch.rules.cooking import judge_row
from holdwatch.rules.deadline import Deadline
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.rules.words import row_words

__all__ = ["judge_reheating"]


def judge_reheating(limit: ReheatingLimits, seen: Seen, declared: Declared, context: Context) -> ClauseVerdict:
    """Return whether food was reheated in time, and held at the target as long as the code asks."""
    series, target = seen.low, limit.row.level
    if limit.start is None or limit.within is None:
        said = _dwell(limit, series, declared, context)
        return answer(limit, said, level_c=target.celsius, reached=judge_row(limit.row, series).reached)
    s1, s2 = _start(limit.start, target, seen, declared)
    if s2 is None:
        due = None if s1 is None else s1 + limit.within.ms
        said = _not_begun(due, context)
        return answer(limit, said, level_c=target.celsius, started=(s1, None), due=(due, None))
    since = _("when it left {level} is not shown").format(level=limit.start.figure)
    if s1 is not None:
        since = _("it left {level} between {since} and {until}").format(
            level=limit.start.figure, since=context.words.when(s1), until=context.words.when(s2)
        )
    asked = Deadline(target, limit.within, limit.within_inclusive, s1, s2, since, series, context)
    in_time = asked.said()
    parts = [in_time]
    if asked.reach is not None:
        latest_ms = None
        if s1 is not None and in_time[0] is Verdict.MET:
            latest_ms = s1 + limit.within.ms - (not limit.within_inclusive)
        parts.append(_dwell(limit, series.between(s2, context.until_ms), declared, context, latest_ms))
    return answer(
        limit,
        joined(parts),
        level_c=target.celsius,
        started=(s1, s2),
        due=asked.due,
        reached=asked.reached,
    )


def _not_begun(due_ms: int | None, context: Context) -> Said:
    """Answer where no reading is warmer than the starting level."""
    if context.ended_ms is not None and due_ms is not None and context.until_ms < due_ms:
        return Verdict.NONE, ended_before_due(context)
    running = context.waiting or (due_ms is not None and context.now_ms <= due_ms + context.grace_ms)
    return (Verdict.OPEN if running else Verdict.UNPROVEN), _("Reheating has not been seen to begin.")


def _start(start: Level, target: Level, seen: Seen, declared: Declared) -> tuple[int | None, int | None]:
    """Return the bracket in which the food left the starting level on its way up, in ms."""
    at = seen.high.at_ms
    if not len(at):
        return declared.removed_ms, None
    cold = start.keeps(seen.high.celsius)
    hot = np.flatnonzero(target.keeps(seen.low.celsius))
    before = np.flatnonzero(cold)
    if len(before) and len(hot):
        before = before[before < hot[hot > before[0]][0]] if (hot > before[0]).any() else before
    if len(before):
        last = int(before[-1])
        return int(at[last]), int(at[last + 1]) if last + 1 < len(at) else None
    removed = declared.removed_ms
    first = int(at[0])
    return (removed if removed is not None and removed <= first else None), first


def _dwell(
    limit: ReheatingLimits, series: Series, declared: Declared, context: Context, latest_ms: int | None = None
) -> Said:
    """Say whether it stayed at the target as long as the code asks, beginning not later than `latest_ms`."""
    row, scale = row_words(limit.row), limit.row.level.scale
    dwell = judge_row(limit.row, series, latest_ms=latest_ms)
    if dwell.verdict is Verdict.MET and dwell.run is not None:
        first = reading(series, dwell.run.first_index, scale, context)
        said = _("{row}: from {reading}, for {length} at least.")
        return Verdict.MET, said.format(row=row, reading=first, length=format_duration(dwell.run.shortest_ms))
    late = judge_row(limit.row, series)
    if late.verdict is Verdict.MET and late.run is not None:
        first = reading(series, late.run.first_index, scale, context)
        return Verdict.UNPROVEN, _("{row}, but not shown in time: from {reading}.").format(row=row, reading=first)
    if not declared.finished or context.waiting:
        return Verdict.OPEN, _("Not yet {row}.").format(row=row)
    shown = _("there is no reading")
    if len(series):
        warmest = reading(series, int(series.celsius.argmax()), scale, context)
        shown = _("the warmest was {reading}").format(reading=warmest)
    if dwell.verdict is Verdict.MISSED:
        return Verdict.MISSED, _("Not {row}: {shown}.").format(row=row, shown=shown)
    return Verdict.UNPROVEN, _("The readings do not show whether it was {row}: {shown}.").format(row=row, shown=shown)
