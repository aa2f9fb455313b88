"""One spell beyond a holding level, borne of food for service or on display.

A spell lasted at least from its first to its last reading, without any hole over the largest gap in it; at most
from the reading before to the reading after. A record that begins beyond the level has no reading before.

=========  =====================================================================================
missed     a second spell, one that surely began off display, or one whose shortest length is no longer
           within the tolerance
unproven   only its longest length is not; or it went on off display
borne      otherwise
=========  =====================================================================================
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from holdwatch.language import _
from holdwatch.limits.model import SpellTolerance
from holdwatch.quantities import format_duration
from holdwatch.readings import Series
from holdwatch.rules.answers import Said
from holdwatch.rules.context import Context
from holdwatch.rules.life import Span
from holdwatch.rules.verdicts import Spell, Verdict
from holdwatch.rules.words import length

__all__ = ["judge_spells"]


def judge_spells(
    tolerance: SpellTolerance,
    spells: Sequence[Spell],
    series: Series,
    largest_ms: NDArray[np.int64],
    period: tuple[int | None, int],
    context: Context,
) -> Said:
    """Return whether the spells of a period are borne.

    Parameters
    ----------
    tolerance : what the code bears.
    spells : at least one.
    series : the readings that the spells are of.
    largest_ms : the largest gap after each reading but the last. [ms]
    period : from where, if that was declared, to where holding is asked. [ms]
    context : words, and when the food was off display.
    """
    when, spell = context.words.when, spells[0]
    first, last = spell.begins[1], spell.ends[0]
    shortest = _unbroken(series, largest_ms, first, last)
    missed = _missed(tolerance, spells, shortest, context)
    if missed is not None:
        return missed
    off_ms = _first_off(series.between(first, last), context.off_display)
    if off_ms is not None:
        said = _("It was not on display any more at {time}: whether {clause} bears the rest of the spell is not shown.")
        return Verdict.UNPROVEN, said.format(time=when(off_ms), clause=tolerance.clause)
    begins = spell.begins[0] if spell.begins[0] is not None else period[0]
    ends = spell.ends[1] if spell.ends[1] is not None else period[1]
    if begins is None:
        said = _("It was so at the first reading already, {time}: how long before is not shown.")
        return Verdict.UNPROVEN, said.format(time=when(first))
    longest = ends - begins
    if not _bears(tolerance, longest):
        said = _("The spell lasted {shortest} to {longest}: whether within the {within} of {clause} is not shown.")
        return Verdict.UNPROVEN, said.format(
            shortest=format_duration(shortest),
            longest=format_duration(longest),
            within=length(tolerance.within),
            clause=tolerance.clause,
        )
    said = _("One spell of {length} at most, borne by {clause}.")
    return Verdict.MET, said.format(length=format_duration(longest), clause=tolerance.clause)


def _missed(tolerance: SpellTolerance, spells: Sequence[Spell], shortest: int, context: Context) -> Said | None:
    """Return why spells, the first of them at least `shortest` long (ms), are surely not borne; or ``None``."""
    when = context.words.when
    elsewhere = next((spell for spell in spells if _began(spell, context.off_display)), None)
    if elsewhere is not None:
        said = _("It was not on display at {time}; {clause} bears a spell there alone.")
        return Verdict.MISSED, said.format(time=when(elsewhere.begins[1]), clause=tolerance.clause)
    if len(spells) > 1:
        said = _("A second spell, at {time}; {clause} bears one.")
        return Verdict.MISSED, said.format(time=when(spells[1].begins[1]), clause=tolerance.clause)
    if not _bears(tolerance, shortest):
        said = _("The spell from {time}, for {length} or more, is not within the {within} of {clause}.")
        return Verdict.MISSED, said.format(
            time=when(spells[0].begins[1]),
            length=format_duration(shortest),
            within=length(tolerance.within),
            clause=tolerance.clause,
        )
    return None


def _began(spell: Spell, off_display: Sequence[Span]) -> bool:
    """Return whether a spell surely began while the food was off display: the reading before it was read there too."""
    before, begun = spell.begins
    return before is not None and any(first <= before and (last is None or begun < last) for first, last in off_display)


def _first_off(spell: Series, off_display: Sequence[Span]) -> int | None:
    """Return the first reading of a spell while the food was off display [ms], or ``None``."""
    at = spell.at_ms
    off = [at[(at >= first) & (at < last)] if last is not None else at[at >= first] for first, last in off_display]
    return min((int(part[0]) for part in off if len(part)), default=None)


def _bears(tolerance: SpellTolerance, length_ms: int) -> bool:
    within = tolerance.within.ms
    return length_ms <= within if tolerance.within_inclusive else length_ms < within


def _unbroken(series: Series, largest_ms: NDArray[np.int64], first_ms: int, last_ms: int) -> int:
    """Return the longest part of a spell that no hole breaks, in ms."""
    low = int(np.searchsorted(series.at_ms, first_ms, side="left"))
    high = int(np.searchsorted(series.at_ms, last_ms, side="right"))
    at = series.at_ms[low:high]
    holes = np.flatnonzero(np.diff(at) > largest_ms[low : high - 1]) + 1
    edges = [0, *holes.tolist(), len(at)]
    return max(int(at[stop - 1] - at[start]) for start, stop in pairwise(edges))
