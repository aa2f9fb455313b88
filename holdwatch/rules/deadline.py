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
from holdwatch.language import _
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
                said = _("Reached: {reading}, {length} at most after the start; {since}.")
                return Verdict.MET, said.format(
                    reading=self._at(reach.after_index), length=format_duration(taken), since=self.since
                )
        late = int(np.searchsorted(self.series.at_ms, self.s2 + self.within.ms, side="left"))
        if late < (len(self.series) if reach is None else reach.after_index):
            said = _("Not at {level} in time: still {reading}; {since}.")
            return Verdict.MISSED, said.format(level=self.level.figure, reading=self._at(late), since=self.since)
        if reach is not None:
            said = _("Reached, but not shown in time: {reading}; {since}.")
            return Verdict.UNPROVEN, said.format(reading=self._at(reach.after_index), since=self.since)
        return None

    def _awaited(self) -> Said:
        """Return what the instant of judging decides where the level is not reached."""
        context, ends = self.context, self.s2 + self.within.ms
        if context.ended_ms is not None and self.s1 is not None and context.until_ms < self.s1 + self.within.ms:
            return Verdict.NONE, ended_before_due(context)
        last = _("there is no reading")
        if len(self.series):
            last = _("the last reading is {reading}").format(reading=self._at(len(self.series) - 1))
        verdict, said = Verdict.UNPROVEN, _("No reading shows whether it was reached by {due}: {last}; {since}.")
        if context.waiting or context.now_ms <= ends + context.grace_ms:
            verdict, said = Verdict.OPEN, _("Running: {last}, due by {due} at the latest; {since}.")
        return verdict, said.format(last=last, due=context.words.when(ends), since=self.since)
