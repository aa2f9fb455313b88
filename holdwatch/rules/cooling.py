"""Cooling: each target reached within its time, counted from where the food left the starting level.

The start lies between ``s1``, the last reading at or above the starting level before the first fall that lasts,
and ``s2``, the reading after. The target is first seen reached at ``b``; ``a`` is the reading before. So the time
taken is at most ``b − s1`` and more than ``a − s2``:

=========  =====================================================================================
met        ``b ≤ s1 + D``, also from before an earlier fall of which a hole hides how long it lasted
missed     a reading above the target, before ``b``, lies at or after ``s2 + D``
open       not reached, and now is not later than ``s2 + D`` and two of the probe's usual intervals,
           or the last readings are not judged yet
unproven   otherwise
none       the food was served, used, frozen or discarded before ``s1 + D``, not reached
=========  =====================================================================================
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.crossings import Crossing, falls, first_fall, first_reach
from holdwatch.language import _
from holdwatch.limits.model import CoolingLimits, CoolingStage, Counts
from holdwatch.quantities import Level, format_duration, span_c
from holdwatch.readings import Series
from holdwatch.rules.answers import ended_before_due, reading
from holdwatch.rules.context import Context
from holdwatch.rules.seen import Seen
from holdwatch.rules.settling import worse
from holdwatch.rules.verdicts import ClauseVerdict, Verdict

__all__ = ["cooling_answers", "judge_cooling"]

# Ours, from no code.
UNDONE_MS = 15 * MS_PER_MINUTE
HOLE_MS = 20 * MS_PER_MINUTE
HOLE_FALL_C = span_c(30)
BEGUN_BEFORE_C = span_c(10)


@dataclass(frozen=True)
class _Start:
    """Where a clock starts: a bracket, or the reason why it has none yet."""

    s1: int | None
    s2: int | None
    level: str
    """What the food left, in words."""
    from_ms: int | None = None
    """Where there is no ``s2``: the instant from which an answer can be awaited. [ms]"""
    why: str = ""
    hot: bool = False
    """Whether the food has not been seen to leave the level at all."""
    sure: bool = True
    """Whether it is certain that cooling had not begun before."""
    perhaps_ms: int | None = None
    """The last reading before an undone fall that may have lasted: cooling may have begun as early. [ms]"""
    before: Verdict | None = None
    """Where a stage before was never reached: its verdict, which is then this one's too."""


def judge_cooling(limits: CoolingLimits, seen: Seen, context: Context) -> tuple[ClauseVerdict, ...]:
    """Return the verdict of every stage of cooling."""
    return tuple(worse(stage) for stage in zip(*cooling_answers(limits, seen, context), strict=True))


def cooling_answers(limits: CoolingLimits, seen: Seen, context: Context) -> list[tuple[ClauseVerdict, ...]]:
    """Return the verdicts of every stage under each choice of two values at one instant; the worse one counts.

    Which of the two is worse depends on the others: the colder starts a clock earlier, the warmer stops it later, and
    the end of one stage may be the start of the next.
    """
    if not seen.contested:
        return [_judge(limits, seen.low, seen.low, seen.low, context)]
    one, other = (seen.low, seen.high), (seen.high, seen.low)
    return [_judge(limits, *each, context) for each in product(one, other, one)]


def _judge(
    limits: CoolingLimits, starting: Series, ending: Series, passing: Series, context: Context
) -> tuple[ClauseVerdict, ...]:
    """Return the verdict of every stage; in `passing` a stage ends as far as the next one counts from there."""
    start = first = _start(limits, starting, context)
    verdicts: list[ClauseVerdict] = []
    for number, stage in enumerate(limits.stages):
        if stage.counts is Counts.FURTHER:
            before = _stage(limits.stages[number - 1], start, passing, context)
            start = _further(before, limits, number)
        else:
            start = first
        verdict = _stage(stage, start, ending, context)
        verdicts.append(replace(verdict, start_level_c=limits.start.celsius))
    return tuple(verdicts)


# ---------------------------------------------------------------- where the clock starts


def _start(limits: CoolingLimits, series: Series, context: Context) -> _Start:
    level, left_heat = limits.start, context.left_heat_ms
    name = level.figure
    if not len(series):
        since = left_heat if left_heat is not None else context.since_ms
        return _Start(left_heat, None, name, since, _("there is no reading to judge"))
    warm = level.keeps(series.celsius)
    first_ms, last_ms = int(series.at_ms[0]), int(series.at_ms[-1])
    if not warm.any() or _begun_before(limits, series, left_heat):
        if left_heat is not None and left_heat <= first_ms:
            return _Start(left_heat, first_ms, name)
        return _Start(None, first_ms, name)
    fall = first_fall(series, level, undone_ms=UNDONE_MS, settled_ms=left_heat)
    if fall is None:
        last = int(np.flatnonzero(warm)[-1])
        why = _("it has not been seen to stay below {level}: {reading}").format(
            level=name, reading=reading(series, last, level.scale, context)
        )
        return _Start(None, None, name, last_ms, why, hot=True)
    sure, perhaps = not _perhaps_before(limits, series, left_heat), _perhaps_lasting(level, series, fall, left_heat)
    return _Start(fall.before_ms, fall.after_ms, name, sure=sure, perhaps_ms=perhaps)


def _cold_beginning(limits: CoolingLimits, series: Series) -> int:
    """Return how many first readings lie below the starting level before one that does not; 0 if they are brief."""
    count = int(limits.start.keeps(series.celsius).argmax())
    return count if int(series.at_ms[count] - series.at_ms[0]) > UNDONE_MS else 0


def _begun_before(limits: CoolingLimits, series: Series, left_heat: int | None) -> bool:
    """Return whether the food left the heat before the first reading, and a later rise is a warming-up."""
    return left_heat is not None and left_heat <= int(series.at_ms[0]) and _cold_beginning(limits, series) > 0


def _perhaps_before(limits: CoolingLimits, series: Series, left_heat: int | None) -> bool:
    """Return whether the first readings look like a cooling already begun, though nothing was declared."""
    if left_heat is not None:
        return False
    beginning = series.celsius[: _cold_beginning(limits, series)]
    if not len(beginning) or bool(limits.stages[0].target.keeps(beginning[:1])[0]):
        return False
    return float(beginning[0] - beginning.min()) >= BEGUN_BEFORE_C


def _perhaps_lasting(level: Level, series: Series, fall: Crossing, left_heat: int | None) -> int | None:
    """Return the last reading before the first undone fall that may have lasted longer than it was seen to, if any."""
    warm_at, fallen = np.flatnonzero(level.keeps(series.celsius)), falls(series, level)
    fallen = fallen[fallen < fall.after_index]
    before_ms, back_ms = series.at_ms[fallen - 1], series.at_ms[warm_at[np.searchsorted(warm_at, fallen)]]
    lasting = back_ms - before_ms > UNDONE_MS
    if left_heat is not None:
        lasting &= back_ms > left_heat
    return int(before_ms[lasting.argmax()]) if lasting.any() else None


def _further(before: ClauseVerdict, limits: CoolingLimits, number: int) -> _Start:
    """Return the start of a stage that counts from where the stage before was reached."""
    level = limits.stages[number - 1].target.figure
    reached = before.reached
    if reached is not None and reached[1] is not None:
        return _Start(reached[0], reached[1], level)
    return _Start(None, None, level, why=_("{level} was not reached").format(level=level), before=before.verdict)


# ---------------------------------------------------------------- one stage


def _stage(stage: CoolingStage, start: _Start, series: Series, context: Context) -> ClauseVerdict:
    """Return the verdict of one stage."""
    allowed = stage.within.ms
    due = (None if start.s1 is None else start.s1 + allowed, None if start.s2 is None else start.s2 + allowed)
    verdict = ClauseVerdict(
        clause=stage.clause,
        source=stage.source,
        requires=stage.requires,
        verdict=Verdict.UNPROVEN,
        reason="",
        level_c=stage.target.celsius,
        started=(start.s1, start.s2),
        due=due,
    )
    s1, s2 = start.s1, start.s2
    if s2 is None:
        return _not_begun(verdict, start, allowed, context)
    reach = first_reach(series, stage.target, from_ms=s2)
    late = int(np.searchsorted(series.at_ms, s2 + allowed, side="left"))
    stop = len(series) if reach is None else reach.after_index
    told = _Telling(stage, start.level, s1, s2, series, context)
    if reach is not None:
        verdict = replace(verdict, reached=(reach.before_ms, reach.after_ms))
        taken = None if s1 is None else reach.after_ms - s1
        if taken is not None and _in_time(stage, taken):
            return _reached_in_time(verdict, start, told, reach, taken)
    if late < stop:
        reached = verdict.reached or (int(series.at_ms[-1]), None)
        return replace(verdict, verdict=Verdict.MISSED, reached=reached, reason=told.missed(late))
    if reach is not None:
        return replace(verdict, reason=told.too_wide(reach))
    last = int(series.at_ms[-1])
    return _not_reached(replace(verdict, reached=(last if last >= s2 else None, None)), told)


def _reached_in_time(
    verdict: ClauseVerdict, start: _Start, told: "_Telling", reach: Crossing, taken_ms: int
) -> ClauseVerdict:
    """Return the verdict of a target reached in time, unless cooling may have begun before its start."""
    if not start.sure:
        return replace(verdict, reason=told.perhaps_begun_before())
    if start.perhaps_ms is not None and not _in_time(told.stage, reach.after_ms - start.perhaps_ms):
        return replace(verdict, reason=replace(told, s1=start.perhaps_ms).too_wide(reach))
    return replace(verdict, verdict=Verdict.MET, reason=told.met(reach, taken_ms))


def _in_time(stage: CoolingStage, taken_ms: int) -> bool:
    """Return whether a target was reached in time."""
    return taken_ms <= stage.within.ms if stage.within_inclusive else taken_ms < stage.within.ms


def _not_begun(verdict: ClauseVerdict, start: _Start, allowed: int, context: Context) -> ClauseVerdict:
    """Return the verdict where no reading has started the clock."""
    why = _("The clock has not been seen to start: {why}.").format(why=start.why)
    if start.before is not None:
        return replace(verdict, verdict=start.before, reason=_("Not begun: {why}.").format(why=start.why))
    if context.ended_ms is not None:
        before_due = start.s1 is not None and context.until_ms < start.s1 + allowed
        if start.hot or before_due:
            return replace(verdict, verdict=Verdict.NONE, reason=ended_before_due(context))
    if start.from_ms is None:
        return replace(verdict, verdict=Verdict.OPEN, reason=why)
    awaited = start.from_ms + allowed + context.grace_ms
    running = context.waiting or context.now_ms <= awaited
    return replace(verdict, verdict=Verdict.OPEN if running else Verdict.UNPROVEN, reason=why)


def _not_reached(verdict: ClauseVerdict, told: "_Telling") -> ClauseVerdict:
    """Return the verdict where the target is not reached and no reading shows that it is too late."""
    context, s1, due = told.context, told.s1, told.s2 + told.stage.within.ms
    if context.ended_ms is not None and s1 is not None and context.until_ms < s1 + told.stage.within.ms:
        return replace(verdict, verdict=Verdict.NONE, reason=ended_before_due(context))
    if context.waiting or context.now_ms <= due + context.grace_ms:
        return replace(verdict, verdict=Verdict.OPEN, reason=told.running(due))
    return replace(verdict, reason=told.unseen(due))


# ---------------------------------------------------------------- the reasons


@dataclass(frozen=True, eq=False)
class _Telling:
    """Puts a stage into words; each sentence names the reading that decides. Instants in ms."""

    stage: CoolingStage
    level: str
    """What the food left, in words."""
    s1: int | None
    s2: int
    series: Series
    context: Context

    def _at(self, index: int) -> str:
        return reading(self.series, index, self.stage.target.scale, self.context)

    def _degrees(self, celsius: float) -> str:
        return self.context.words.temperature(celsius, self.stage.target.scale)

    def _when(self, at_ms: int) -> str:
        return self.context.words.when(at_ms)

    def _since(self) -> str:
        """Say where the clock started."""
        if self.s1 is None:
            said = _("the start is not known: it was already below {level} at {until}")
            return said.format(level=self.level, until=self._when(self.s2))
        if self.s1 == self.s2:
            return _("it left {level} at {since}").format(level=self.level, since=self._when(self.s1))
        return _("it left {level} between {since} and {until}").format(
            level=self.level, since=self._when(self.s1), until=self._when(self.s2)
        )

    def met(self, reach: Crossing, taken_ms: int) -> str:
        said = _("Reached: {reading}, {length} at most after the start; {since}.").format(
            reading=self._at(reach.after_index), length=format_duration(taken_ms), since=self._since()
        )
        return said + self._notes(reach)

    def perhaps_begun_before(self) -> str:
        return _(
            "The record begins below {level}, falls, and is warmed again later: whether the cooling had begun before "
            "is not shown. Declare when it left the heat."
        ).format(level=self.level)

    def missed(self, index: int) -> str:
        return _("Not at {level} in time: still {reading}, {length} or more after the start; {since}.").format(
            level=self.stage.target.figure,
            reading=self._at(index),
            length=format_duration(int(self.series.at_ms[index]) - self.s2),
            since=self._since(),
        )

    def too_wide(self, reach: Crossing) -> str:
        seen, since = self._at(reach.after_index), self._since()
        if self.s1 is None:
            said = _("Reached, but not shown in time: {reading}; {since}.").format(reading=seen, since=since)
            return said + self._notes(reach)
        before = _("no reading before")
        if reach.after_index:
            before = _("the reading before was {reading}").format(reading=self._at(reach.after_index - 1))
        said = _("Reached, but not shown in time: {reading}, {before}, and it was due by {due}; {since}.").format(
            reading=seen, before=before, due=self._when(self.s1 + self.stage.within.ms), since=since
        )
        return said + self._notes(reach)

    def running(self, due_ms: int) -> str:
        return _("Running: last {reading}, due by {due} at the latest; {since}.").format(
            reading=self._at(len(self.series) - 1), due=self._when(due_ms), since=self._since()
        )

    def unseen(self, due_ms: int) -> str:
        return _(
            "No reading shows whether it was reached in time: the last is {reading}, and it was due by {due} at the "
            "latest; {since}."
        ).format(reading=self._at(len(self.series) - 1), due=self._when(due_ms), since=self._since())

    def _notes(self, reach: Crossing) -> str:
        """Tell of a hole in which the target was reached, and of a rise after it."""
        notes = ""
        if reach.after_index:
            at, celsius = self.series.at_ms, self.series.celsius
            before, after = reach.after_index - 1, reach.after_index
            hole = int(at[after] - at[before])
            if hole > HOLE_MS and celsius[before] - celsius[after] > HOLE_FALL_C:
                said = _("Seen only at its ends: no reading for {length}, in which it fell from {first} to {last}.")
                first, last = self._degrees(float(celsius[before])), self._degrees(float(celsius[after]))
                notes = " " + said.format(length=format_duration(hole), first=first, last=last)
        later = ~self.stage.target.keeps(self.series.celsius[reach.after_index :])
        if later.any():
            said = _("Later it was above again ({reading}): this does not undo it; holding is judged by itself.")
            notes += " " + said.format(reading=self._at(reach.after_index + int(later.argmax())))
        return notes
