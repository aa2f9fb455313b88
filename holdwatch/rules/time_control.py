"""Time instead of temperature: how the food was when it left temperature control, and when all of it was gone.

Demands of one clause, the worst of them counts:

=========  =====================================================================================
start      met where the last reading at or before ``removed``, not older than the largest gap, is
           permitted; missed where it is not; unproven where there is none
end        met where ``ended`` is within the allowance; missed where it is later, or where an entry
           or a reading that is surely the food's shows after it that the food was still there;
           open while the time runs; unproven when it is up and no end is recorded
warmth     (where the code has it) missed where a reading from ``removed`` to the end is warmer;
           unproven where a stretch longer than the largest gap has no reading
=========  =====================================================================================

Food put back (``returned``) has not ended: the time runs on. Food put with what was out before takes that earlier
time: the oldest content governs. Where a written procedure lets the air of the room stand for the food, air that is
cool enough covers a stretch without a reading of the food; air that is too warm leaves it not shown, since only the
food itself can break the limit.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holdwatch.language import _
from holdwatch.limits.model import TimeControlLimits
from holdwatch.quantities import Level, format_duration
from holdwatch.readings import Series
from holdwatch.rules.answers import Declared, Said, answer, joined, reading
from holdwatch.rules.context import Context
from holdwatch.rules.holding import Gap
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.sieve.sifting import COLDEST_C

__all__ = ["judge_time_control"]


def judge_time_control(
    limit: TimeControlLimits, seen: Seen, sure: Seen, declared: Declared, gap: Gap, context: Context
) -> ClauseVerdict:
    """Return whether food under time control began as it must, and was gone in time.

    Parameters
    ----------
    limit : what the code asks.
    seen : what the record shows.
    sure : the same without any reading that is perhaps not the food's.
    declared, gap, context : what was declared, the largest gap, the instant of judging.
    """
    removed = declared.removed_ms
    if removed is None:
        said = Verdict.UNPROVEN, _("Nobody declared when it was removed from temperature control.")
        return answer(limit, said, started=(None, None), due=(None, None))
    counts_from = removed if declared.tray_ms is None else min(removed, declared.tray_ms)
    asking = _Asking(limit, seen, removed, counts_from, counts_from + limit.within.ms, declared, gap, context)
    ended = context.ended_ms
    if ended is not None and ended < removed:
        said = (
            Verdict.NONE,
            _("It was served, used, frozen or discarded before it was removed from temperature control."),
        )
    else:
        parts = [asking.start(), asking.end(sure)]
        if limit.never_above is not None:
            parts.append(asking.warmth(limit.never_above))
        said = joined(parts)
    return answer(
        limit,
        said,
        level_c=limit.starts_cold.celsius if limit.never_above is None else limit.never_above.celsius,
        started=(counts_from, counts_from),
        due=(asking.due, asking.due),
        reached=None if ended is None else (ended, ended),
    )


@dataclass(frozen=True, eq=False)
class _Asking:
    """One clause of time control, asked of one record; instants in ms."""

    limit: TimeControlLimits
    seen: Seen
    removed: int
    counts_from: int
    due: int
    declared: Declared
    gap: Gap
    context: Context

    def _in_time(self, at_ms: int) -> bool:
        return at_ms <= self.due if self.limit.within_inclusive else at_ms < self.due

    def start(self) -> Said:
        """Say how the food was when it was removed."""
        last = self._last_before()
        at = self.context.words.when(self.removed)
        if last is None and self.declared.stood:
            return Verdict.MET, _("When it was removed at {time}, {why}.").format(time=at, why=self.declared.stood)
        if last is None:
            said = _("No reading shows how warm it was when it was removed at {time}.")
            return Verdict.UNPROVEN, said.format(time=at)
        told = reading(self.seen.high, last, self.limit.starts_cold.scale, self.context)
        permitted = all(self._permitted(series, last) for series in (self.seen.low, self.seen.high))
        if permitted:
            return Verdict.MET, _("It was {reading} when it was removed at {time}.").format(reading=told, time=at)
        cold, hot = self.limit.starts_cold.within, self.limit.starts_hot
        if hot is None:
            said = _("It was {reading}, not {level}, when it was removed.").format(reading=told, level=cold)
            return Verdict.MISSED, said
        said = _("It was {reading}, neither {level} nor {other}, when it was removed.")
        return Verdict.MISSED, said.format(reading=told, level=cold, other=hot.within)

    def _last_before(self) -> int | None:
        """Return the last reading at or before ``removed`` that is not older than the largest gap."""
        at = self.seen.low.at_ms
        last = int(np.searchsorted(at, self.removed, side="right")) - 1
        if last < 0 or self.removed - int(at[last]) > self.gap.at(bool(self.seen.by_hand[last])):
            return None
        return last

    def _permitted(self, series: Series, index: int) -> bool:
        value = series.celsius[index : index + 1]
        hot = self.limit.starts_hot
        return bool(self.limit.starts_cold.keeps(value)[0]) or (hot is not None and bool(hot.keeps(value)[0]))

    def end(self, sure: Seen) -> Said:
        """Say whether all of it was gone in time."""
        when, ended = self.context.words.when, self.context.ended_ms
        if ended is not None:
            verdict, said = Verdict.MET, _("In time: all of it was gone at {time}, {length} after.")
            if not self._in_time(ended):
                verdict, said = Verdict.MISSED, _("Too late: all of it was gone at {time}, {length} after.")
            return verdict, said.format(time=when(ended), length=format_duration(ended - self.counts_from))
        entries = [at for at in self.declared.entries if not self._in_time(at)]
        if entries:
            said = _("Still there at {time}: the time was up at {due}.")
            return Verdict.MISSED, said.format(time=when(entries[0]), due=when(self.due))
        late = [n for n, at in enumerate(sure.low.at_ms.tolist()) if not self._in_time(at)]
        if late:
            told = reading(sure.low, late[0], self.limit.starts_cold.scale, self.context)
            said = _("Still there: {reading}, and the time was up at {due}.")
            return Verdict.MISSED, said.format(reading=told, due=when(self.due))
        verdict = Verdict.UNPROVEN
        said = _("The time was up at {due} and no end is recorded: discard it, and record it.")
        if self._in_time(self.context.now_ms) or self.context.waiting:
            verdict, said = Verdict.OPEN, _("Running: to be served, sold, used or discarded by {due}.")
        return verdict, said.format(due=when(self.due))

    def warmth(self, level: Level) -> Said:
        """Say whether it stayed cool enough until the end."""
        series, context = self.seen.high, self.context
        ends = min(context.until_ms, self.due)
        inside = np.flatnonzero((series.at_ms >= self.removed) & (series.at_ms <= ends))
        warm = inside[~level.keeps(series.celsius[inside])]
        if len(warm):
            told = reading(series, int(warm[0]), level.scale, context)
            return Verdict.MISSED, _("It was {level}: {reading}.").format(level=level.beyond, reading=told)
        air = self._room(ends)
        hot = np.flatnonzero(~level.keeps(air.celsius))
        if len(hot):
            told = reading(air, int(hot[0]), level.scale, context)
            said = _("The room was {reading}: whether the food kept {level} is not shown.")
            return Verdict.UNPROVEN, said.format(reading=told, level=level.within)
        hole = self._hole(inside.tolist(), air, ends)
        if hole is None and len(air):
            said = _("It was {level} in {count} readings, the room in {others}.")
            return Verdict.MET, said.format(level=level.within, count=len(inside), others=len(air))
        if hole is None:
            said = _("It was {level} in {count} readings without a gap.")
            return Verdict.MET, said.format(level=level.within, count=len(inside))
        first, last = hole
        said = _("No reading for {length} from {time}: whether it was {level} is not shown.").format(
            length=format_duration(last - first), time=context.words.when(first), level=level.within
        )
        return (Verdict.OPEN if context.waiting and last == ends else Verdict.UNPROVEN), said

    def _room(self, ends: int) -> Series:
        """Return the air of the room from the removal on, where it counts.

        What is colder than the sieve takes for a temperature is an error value, and no reading. What is hotter stays:
        it covers nothing.
        """
        if self.declared.room is None:
            return Series.empty()
        air = self.declared.room.between(self.removed, ends)
        real = air.celsius >= COLDEST_C
        return Series(air.at_ms[real], air.celsius[real])

    def _hole(self, inside: list[int], air: Series, ends: int) -> tuple[int, int] | None:
        """Return the first stretch without a reading that is longer than the largest gap (ms), or ``None``."""
        at, by_hand = self.seen.low.at_ms, self.seen.by_hand
        last = self._last_before()
        before = [] if last is None or (inside and last >= inside[0]) else [last]
        known = sorted(
            [(int(at[n]), bool(by_hand[n])) for n in (*before, *inside)]
            + [(at_ms, False) for at_ms in air.at_ms.tolist()]
        )
        edge = known[0][0] if before else self.removed
        marks = [(edge, known[0][1] if known else False), *known, (ends, known[-1][1] if known else False)]
        for (start, hand), (stop, by) in pairwise(marks):
            if stop - start > self.gap.at(hand and by):
                return start, stop
        return None
