"""A level to be reached within a time of a start that lies between two instants.

The start lies between ``s1`` (unknown if ``None``) and ``s2``; the level is first seen reached at ``b``:

=========  =====================================================================================
met        ``b ≤ s1 + D``
missed     a reading short of the level, before ``b``, lies at or after ``s2 + D``
open       not reached, and now is not later than ``s2 + D`` and two of the probe's usual intervals,
           or the last readings are not judged yet
unproven   otherwise
none       the food was served, used, frozen or discarded before ``s1 + D``, not reached
=========  =====================================================================================
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from holdwatch.crossings import Crossing, first_reach
from holdwatch.quantities import Duration, Level, format_duration
from holdwatch.readings import Series
from holdwatch.rules.answers import Said, ended_before_due, reading
from holdwatch.rules.context import Context
from holdwatch.rules.verdicts import Bracket, Verdict

__all__ = ["Deadline"]


@dataclass(frozen=True, eq=False)
class Deadline:
    """A level, a time and a start, held against a series; instants in ms."""

    level: Level
    within: Duration
    inclusive: bool
    s1: int | None
    s2: int
    since: str
    """What is known of the start, in words."""
    series: Series
    context: Context

    @property
    def due(self) -> Bracket:
        """When the time is up."""
        return None if self.s1 is None else self.s1 + self.within.ms, self.s2 + self.within.ms

    @cached_property
    def reach(self) -> Crossing | None:
        """Where the level is first reached at or after the latest start."""
        return first_reach(self.series, self.level, from_ms=self.s2)

    @property
    def reached(self) -> Bracket | None:
        """Between which readings the level was reached."""
        return None if self.reach is None else (self.reach.before_ms, self.reach.after_ms)

    def said(self) -> Said:
        """Return the verdict with its sentence."""
        return self._decided() or self._awaited()

    def _at(self, index: int) -> str:
        return reading(self.series, index, self.level.scale, self.context)

    def _decided(self) -> Said | None:
        """Return what readings decide: reached, or not in time."""
        reach = self.reach
        if reach is not None and self.s1 is not None:
            taken = reach.after_ms - self.s1
            if taken < self.within.ms or (self.inclusive and taken == self.within.ms):
                lasted = format_duration(taken)
                return (
                    Verdict.MET,
                    f"Reached: {self._at(reach.after_index)}, {lasted} at most after the start; {self.since}.",
                )
        late = int(np.searchsorted(self.series.at_ms, self.s2 + self.within.ms, side="left"))
        if late < (len(self.series) if reach is None else reach.after_index):
            return Verdict.MISSED, f"Not at {self.level.temperature} in time: still {self._at(late)}; {self.since}."
        if reach is not None:
            return Verdict.UNPROVEN, f"Reached, but not shown in time: {self._at(reach.after_index)}; {self.since}."
        return None

    def _awaited(self) -> Said:
        """Return what the instant of judging decides where the level is not reached."""
        context, ends = self.context, self.s2 + self.within.ms
        if context.ended_ms is not None and self.s1 is not None and context.until_ms < self.s1 + self.within.ms:
            return Verdict.NONE, ended_before_due(context)
        last = f"the last reading is {self._at(len(self.series) - 1)}" if len(self.series) else "there is no reading"
        due = context.words.when(ends)
        if context.waiting or context.now_ms <= ends + context.grace_ms:
            return Verdict.OPEN, f"Running: {last}, due by {due} at the latest; {self.since}."
        return Verdict.UNPROVEN, f"No reading shows whether it was reached by {due}: {last}; {self.since}."
