"""Time outside the safe temperatures, added up over all spells, whatever lies between.

Between two neighbouring readings the time outside is known only in part. It counts in the shortest possible sum
where both are outside and no further apart than the largest gap; in the longest possible sum wherever it may have
been outside: one reading outside, the two on different sides, or a hole. In a hole it may also have been back at the
cold level, and out of it again. Cooling has its own clause and does not count: from a declared ``left-heat`` to the
first reading at the cold level, while the cooling allowance runs. Taken out of that cooling it counts: in the
shortest sum until it is declared to be returned, in the longest from then on.

=========  =====================================================================================
missed     the shortest sum reaches the allowance; or the food is back at the cold level after the
           shortest sum has reached the time within which it may go back
unproven   only the longest sum reaches either, at a reading or in a hole; or the start or everything is unknown
met        otherwise, with the band told
=========  =====================================================================================
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.language import _
from holdwatch.limits.model import CumulativeLimits, Limits
from holdwatch.quantities import Duration, format_duration
from holdwatch.rules.answers import Declared, Said, answer, reading
from holdwatch.rules.context import Context
from holdwatch.rules.holding import Gap
from holdwatch.rules.life import spans
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
        said = _said(limit, seen, _sums(limit, seen, declared, cooling_ms, gap, context), context)
    else:
        said = (Verdict.OPEN if context.waiting else Verdict.UNPROVEN), _(NOTHING)
    return answer(limit, said, level_c=limit.cold.celsius)


@dataclass(frozen=True, eq=False)
class _Sums:
    """Shortest and longest time outside up to each reading, and up to the end, in ms."""

    shortest: NDArray[np.int64]
    longest: NDArray[np.int64]
    back: NDArray[np.bool_]
    """Which readings are at the cold level, of two values one: after a time outside, the food back there."""
    hole: NDArray[np.bool_]
    """Before which readings more than the largest gap lies."""
    ends_shortest: int
    ends_longest: int
    ends_hole: bool
    """Whether more than the largest gap lies after the last reading."""
    bounded: bool
    """Whether the longest sums have a bound: the time outside did not begin before it is known to have begun."""


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
    cooled = _cooling_spans(limit, seen, declared, cooling_ms)
    hole = at - starts > allowed
    both = (before == _OUTSIDE) & (where == _OUTSIDE) & ~hole
    calm = (before == where) | (before == _UNKNOWN)
    never = calm & (where != _OUTSIDE) & ~hole
    outside = np.where(both, _counted(starts, at, cooled), 0)
    shortest = np.cumsum(outside)
    back = limit.cold.keeps(seen.low.celsius)
    longest = np.cumsum(np.where(never, 0, _counted(starts, at, cooled[:1])))
    tail_ms = context.until_ms - last
    ends_hole = tail_ms > gap.at(bool(by_hand[-1]))
    return _Sums(
        shortest=shortest - np.where(back, outside, 0),  # of two values the cold one ends it before
        longest=longest,
        back=back,
        hole=hole,
        ends_shortest=int(shortest[-1]),
        ends_longest=int(longest[-1]) + (tail_ms if ends_hole or where[-1] == _OUTSIDE else 0),
        ends_hole=ends_hole,
        bounded=where[0] != _OUTSIDE or (declared.out_from_ms is not None and declared.out_from_ms <= first),
    )


def _where(limit: CumulativeLimits, seen: Seen) -> NDArray[np.int64]:
    """Return for each reading whether it is cold, outside or hot; of two values the one outside counts."""
    cold = limit.cold.keeps(seen.low.celsius) & limit.cold.keeps(seen.high.celsius)
    hot = limit.hot.keeps(seen.low.celsius) & limit.hot.keeps(seen.high.celsius)
    return np.where(cold, _COLD, np.where(hot, _HOT, _OUTSIDE))


def _cooling_spans(limit: CumulativeLimits, seen: Seen, declared: Declared, cooling_ms: int) -> list[tuple[int, int]]:
    """Return the stretches that the cooling clause judges (ms), without those in which the food was declared out."""
    begins = declared.left_heat_ms
    if begins is None or not cooling_ms:
        return []
    cold = np.flatnonzero((seen.high.at_ms >= begins) & limit.cold.keeps(seen.high.celsius))
    ends = begins + cooling_ms
    if len(cold):
        ends = min(ends, int(seen.high.at_ms[cold[0]]))
    edges = [begins, *(ends if edge is None else min(edge, ends) for out in spans(declared.out) for edge in out), ends]
    return list(zip(edges[::2], edges[1::2], strict=True))


def _counted(
    starts: NDArray[np.int64], stops: NDArray[np.int64], left_out: Sequence[tuple[int, int]]
) -> NDArray[np.int64]:
    """Return the lengths of intervals without stretches that do not count, in ms."""
    result: NDArray[np.int64] = stops - starts
    for first, last in left_out:
        result = result - np.maximum(np.minimum(stops, last) - np.maximum(starts, first), 0)
    return result


def _reaches(sum_ms: int, within: Duration, *, inclusive: bool) -> bool:
    """Return whether a sum is no longer within a time."""
    return sum_ms > within.ms if inclusive else sum_ms >= within.ms


def _said(limit: CumulativeLimits, seen: Seen, sums: _Sums, context: Context) -> Said:
    return (
        _missed(limit, seen, sums, context)
        or _not_shown(limit, seen, sums, context)
        or _kept(limit, seen, sums, context)
    )


def _missed(limit: CumulativeLimits, seen: Seen, sums: _Sums, context: Context) -> Said | None:
    last = reading(seen.high, len(seen.high) - 1, limit.cold.scale, context)
    if _reaches(sums.ends_shortest, limit.within, inclusive=limit.within_inclusive):
        said = _("Outside for {total} in all, or more; {most} is the most. Last {reading}.")
        total = format_duration(sums.ends_shortest)
        return Verdict.MISSED, said.format(total=total, most=length(limit.within), reading=last)
    back = _back_too_late(limit, sums, sums.shortest)
    if back is None:
        return None
    said = _("It was back at {reading} after {length} outside or more: by then it was to be used, not kept.")
    told, outside = reading(seen.low, back, limit.cold.scale, context), format_duration(int(sums.shortest[back]))
    return Verdict.MISSED, said.format(reading=told, length=outside)


def _not_shown(limit: CumulativeLimits, seen: Seen, sums: _Sums, context: Context) -> Said | None:
    last = reading(seen.high, len(seen.high) - 1, limit.cold.scale, context)
    if not sums.bounded:
        first = reading(seen.high, 0, limit.cold.scale, context)
        said = _("How long it was outside before the first reading, {reading}, is not shown.")
        return Verdict.UNPROVEN, said.format(reading=first)
    back = _back_too_late(limit, sums, sums.longest)
    if back is not None:
        said = _("It was back at {reading} after as much as {length} outside: whether that was too late is not shown.")
        told, outside = reading(seen.low, back, limit.cold.scale, context), format_duration(int(sums.longest[back]))
        return Verdict.UNPROVEN, said.format(reading=told, length=outside)
    if _reaches(sums.ends_longest, limit.within, inclusive=limit.within_inclusive):
        said = _("It may have been outside for as much as {length} in all. Last {reading}.")
        return Verdict.UNPROVEN, said.format(length=format_duration(sums.ends_longest), reading=last)
    unseen_ms = _back_unseen(limit, sums, context)
    if unseen_ms is not None:
        said = _("In a gap of the readings it may have been back after as much as {length} outside. Last {reading}.")
        return Verdict.UNPROVEN, said.format(length=format_duration(unseen_ms), reading=last)
    if len(seen.high) == 1 and sums.ends_longest == 0:
        return Verdict.UNPROVEN, _("There is only one reading, {reading}.").format(reading=last)
    return None


def _kept(limit: CumulativeLimits, seen: Seen, sums: _Sums, context: Context) -> Said:
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
        reading=reading(seen.high, len(seen.high) - 1, limit.cold.scale, context),
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
