"""Time outside the safe temperatures, added up over all spells, whatever lies between.

Between two neighbouring readings the time outside is known only in part. It counts in the shortest possible sum
where both are outside and no further apart than the largest gap; in the longest possible sum wherever it may have
been outside: one reading outside, the two on different sides, or a hole. In a hole it may also have been back at the
cold level, and out of it again. Cooling has its own clause and does not count: from a declared ``left-heat`` to the
first reading at the cold level, while the cooling allowance runs.

=========  =====================================================================================
missed     the shortest sum reaches the allowance; or the food is back at the cold level after the
           shortest sum has reached the time within which it may go back
unproven   only the longest sum reaches either, at a reading or in a hole; or the start or everything is unknown
met        otherwise, with the band told
=========  =====================================================================================
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.language import _
from holdwatch.limits.model import CumulativeLimits, Limits
from holdwatch.quantities import Duration, format_duration
from holdwatch.readings import Series
from holdwatch.rules.answers import Declared, Said, answer, reading
from holdwatch.rules.context import Context
from holdwatch.rules.holding import Gap
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.rules.words import NOTHING, length

__all__ = ["cooling_allowance_ms", "judge_cumulative_time"]

_COLD, _OUTSIDE, _HOT, _UNKNOWN = 0, 1, 2, 3


def cooling_allowance_ms(limits: Limits) -> int:
    """Return the longest time that the code allows for cooling, in ms."""
    if limits.cooling is None:
        return 0
    total = 0
    for stage in limits.cooling.stages:
        total = stage.within.ms if stage.counts == "total" else total + stage.within.ms
    return total


def judge_cumulative_time(
    limit: CumulativeLimits, seen: Seen, declared: Declared, cooling_ms: int, gap: Gap, context: Context
) -> ClauseVerdict:
    """Return whether the times outside add up to less than the code allows.

    Parameters
    ----------
    limit, seen, declared, gap, context : what is asked, shown and declared.
    cooling_ms : the longest time that the code allows for cooling. [ms]
    """
    if len(seen.high):
        said = _said(limit, seen.high, _sums(limit, seen, declared, cooling_ms, gap, context), context)
    else:
        said = (Verdict.OPEN if context.waiting else Verdict.UNPROVEN), _(NOTHING)
    return answer(limit, said, level_c=limit.cold.celsius)


@dataclass(frozen=True, eq=False)
class _Sums:
    """Shortest and longest time outside up to each reading, and up to the end, in ms."""

    shortest: NDArray[np.int64]
    longest: NDArray[np.int64]
    back: NDArray[np.bool_]
    """Which readings are at the cold level: after a time outside, the food back there."""
    hole: NDArray[np.bool_]
    """Before which readings more than the largest gap lies."""
    ends_shortest: int
    ends_longest: int
    ends_hole: bool
    """Whether more than the largest gap lies after the last reading."""
    bounded: bool
    """Whether the longest sums have a bound: the time outside did not begin before anything is known."""


def _sums(
    limit: CumulativeLimits, seen: Seen, declared: Declared, cooling_ms: int, gap: Gap, context: Context
) -> _Sums:
    at, by_hand = seen.low.at_ms, seen.by_hand
    where = _where(limit, seen)
    begins = declared.begins_ms
    first, last = int(at[0]), int(at[-1])
    # one interval before each reading: the first from what was declared, if anything was
    edge = first if begins is None else min(begins, first)
    starts = np.concatenate(([edge], at[:-1]))
    before = np.concatenate(([_UNKNOWN], where[:-1]))
    allowed = np.concatenate(([gap.probe_ms], gap.between(by_hand)))
    length = _counted(starts, at, _cooling_span(limit, seen, declared, cooling_ms))
    hole = at - starts > allowed
    both = (before == _OUTSIDE) & (where == _OUTSIDE) & ~hole
    calm = (before == where) | (before == _UNKNOWN)
    never = calm & (where != _OUTSIDE) & ~hole
    shortest = np.cumsum(np.where(both, length, 0))
    longest = np.cumsum(np.where(never, 0, length))
    tail_ms = context.until_ms - last
    ends_hole = tail_ms > gap.at(bool(by_hand[-1]))
    return _Sums(
        shortest=shortest,
        longest=longest,
        back=where == _COLD,
        hole=hole,
        ends_shortest=int(shortest[-1]),
        ends_longest=int(longest[-1]) + (tail_ms if ends_hole or where[-1] == _OUTSIDE else 0),
        ends_hole=ends_hole,
        bounded=where[0] != _OUTSIDE or (begins is not None and begins <= first),
    )


def _where(limit: CumulativeLimits, seen: Seen) -> NDArray[np.int64]:
    """Return for each reading whether it is cold, outside or hot; of two values the one outside counts."""
    cold = limit.cold.keeps(seen.low.celsius) & limit.cold.keeps(seen.high.celsius)
    hot = limit.hot.keeps(seen.low.celsius) & limit.hot.keeps(seen.high.celsius)
    return np.where(cold, _COLD, np.where(hot, _HOT, _OUTSIDE))


def _cooling_span(limit: CumulativeLimits, seen: Seen, declared: Declared, cooling_ms: int) -> tuple[int, int] | None:
    """Return the stretch that the cooling clause judges (ms), or ``None``."""
    begins = declared.left_heat_ms
    if begins is None or not cooling_ms:
        return None
    cold = np.flatnonzero((seen.high.at_ms >= begins) & limit.cold.keeps(seen.high.celsius))
    ends = begins + cooling_ms
    return begins, min(ends, int(seen.high.at_ms[cold[0]])) if len(cold) else ends


def _counted(
    starts: NDArray[np.int64], stops: NDArray[np.int64], left_out: tuple[int, int] | None
) -> NDArray[np.int64]:
    """Return the lengths of intervals without a stretch that does not count, in ms."""
    length = stops - starts
    if left_out is None:
        return length
    shared = np.minimum(stops, left_out[1]) - np.maximum(starts, left_out[0])
    result: NDArray[np.int64] = length - np.maximum(shared, 0)
    return result


def _reaches(sum_ms: int, within: Duration, *, inclusive: bool) -> bool:
    """Return whether a sum is no longer within a time."""
    return sum_ms > within.ms if inclusive else sum_ms >= within.ms


def _said(limit: CumulativeLimits, series: Series, sums: _Sums, context: Context) -> Said:
    return (
        _missed(limit, series, sums, context)
        or _not_shown(limit, series, sums, context)
        or _kept(limit, series, sums, context)
    )


def _missed(limit: CumulativeLimits, series: Series, sums: _Sums, context: Context) -> Said | None:
    last = reading(series, len(series) - 1, limit.cold.scale, context)
    if _reaches(sums.ends_shortest, limit.within, inclusive=limit.within_inclusive):
        said = _("Outside for {total} in all, or more; {most} is the most. Last {reading}.")
        total = format_duration(sums.ends_shortest)
        return Verdict.MISSED, said.format(total=total, most=length(limit.within), reading=last)
    back = _back_too_late(limit, sums, sums.shortest)
    if back is None:
        return None
    said = _("It was back at {reading} after {length} outside or more: by then it was to be used, not kept.")
    told, outside = reading(series, back, limit.cold.scale, context), format_duration(int(sums.shortest[back]))
    return Verdict.MISSED, said.format(reading=told, length=outside)


def _not_shown(limit: CumulativeLimits, series: Series, sums: _Sums, context: Context) -> Said | None:
    last = reading(series, len(series) - 1, limit.cold.scale, context)
    if not sums.bounded:
        first = reading(series, 0, limit.cold.scale, context)
        said = _("How long it was outside before the first reading, {reading}, is not shown.")
        return Verdict.UNPROVEN, said.format(reading=first)
    back = _back_too_late(limit, sums, sums.longest)
    if back is not None:
        said = _("It was back at {reading} after as much as {length} outside: whether that was too late is not shown.")
        told, outside = reading(series, back, limit.cold.scale, context), format_duration(int(sums.longest[back]))
        return Verdict.UNPROVEN, said.format(reading=told, length=outside)
    if _reaches(sums.ends_longest, limit.within, inclusive=limit.within_inclusive):
        said = _("It may have been outside for as much as {length} in all. Last {reading}.")
        return Verdict.UNPROVEN, said.format(length=format_duration(sums.ends_longest), reading=last)
    unseen_ms = _back_unseen(limit, sums, context)
    if unseen_ms is not None:
        said = _("In a gap of the readings it may have been back after as much as {length} outside. Last {reading}.")
        return Verdict.UNPROVEN, said.format(length=format_duration(unseen_ms), reading=last)
    if len(series) == 1 and sums.ends_longest == 0:
        return Verdict.UNPROVEN, _("There is only one reading, {reading}.").format(reading=last)
    return None


def _kept(limit: CumulativeLimits, series: Series, sums: _Sums, context: Context) -> Said:
    """Say what may be done with the food, after the longest time that it can have been outside."""
    if not _reaches(sums.ends_longest, limit.back_within, inclusive=limit.back_within_inclusive):
        said = _("Outside for {total} in all at most, less than {back}: it may go back. Last {reading}.")
    else:
        said = _(
            "Outside for {total} in all at most, between {back} and {most}: use it now, do not put it back. "
            "Last {reading}."
        )
    return Verdict.MET, said.format(
        total=format_duration(sums.ends_longest),
        back=length(limit.back_within),
        most=length(limit.within),
        reading=reading(series, len(series) - 1, limit.cold.scale, context),
    )


def _back_too_late(limit: CumulativeLimits, sums: _Sums, shown: NDArray[np.int64]) -> int | None:
    """Return the first reading back at the cold level after too long a time, or ``None``."""
    bound = limit.back_within.ms
    late = sums.back & (shown > bound if limit.back_within_inclusive else shown >= bound)
    return int(late.argmax()) if late.any() else None


def _back_unseen(limit: CumulativeLimits, sums: _Sums, context: Context) -> int | None:
    """Return the longest time outside at the end of the first hole in which the food may have been back too late.

    After the last reading it is where it was declared to be: out, unless somebody says that it is back.
    """
    declared_out = any(returned_ms is None for _, returned_ms in context.away)
    ends = np.append(sums.longest[sums.hole], [sums.ends_longest] if sums.ends_hole and not declared_out else [])
    late = ends > limit.back_within.ms  # to be back it was cold for an instant at least
    return int(ends[late.argmax()]) if late.any() else None
