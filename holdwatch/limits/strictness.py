"""Whether a part of one limits file is laxer than the same part of another.

A part is laxer where anything that it allows, the other does not; a part that is stricter in one figure and laxer
in another is laxer.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from holdwatch.limits.model import (
    AmbientCoolingLimits,
    Cited,
    CookingLimits,
    CookingRow,
    CoolingLimits,
    Counts,
    CumulativeLimits,
    DateMarkLimits,
    EggLimits,
    HoldingLimits,
    ReheatingLimits,
    TimeControlLimits,
)
from holdwatch.quantities import Duration, Level, Side

__all__ = ["is_laxer"]

Part = Cited | CoolingLimits

SAME_C = 1e-9
"""41 °F and 5 °C are one level."""


def is_laxer(ours: Part, theirs: Part) -> bool:
    """Return whether a part allows anything that the other does not; parts of different kinds are laxer."""
    return type(ours) is not type(theirs) or _COMPARE[type(ours)](ours, theirs)


def _level(ours: Level, theirs: Level) -> bool:
    """Return whether a level allows temperatures that the other does not."""
    if ours.side is not theirs.side:
        return True
    if abs(ours.celsius - theirs.celsius) < SAME_C:
        return ours.inclusive and not theirs.inclusive
    return ours.celsius > theirs.celsius if ours.side is Side.AT_MOST else ours.celsius < theirs.celsius


def _longer(ours: Duration, ours_inclusive: bool, theirs: Duration, theirs_inclusive: bool) -> bool:
    if ours.ms == theirs.ms:
        return ours_inclusive and not theirs_inclusive
    return ours.ms > theirs.ms


_Timed = AmbientCoolingLimits | TimeControlLimits | CumulativeLimits


def _within(ours: _Timed, theirs: _Timed) -> bool:
    return _longer(ours.within, ours.within_inclusive, theirs.within, theirs.within_inclusive)


def _cooling(ours: CoolingLimits, theirs: CoolingLimits) -> bool:
    """Each stage of theirs needs one of ours that is as cold, and as early whatever the stages before took."""
    if ours.start.celsius < theirs.start.celsius - SAME_C:  # the clock would start later
        return True
    return not all(any(_covers(ours, n, theirs, m) for n in range(len(ours.stages))) for m in range(len(theirs.stages)))


def _covers(ours: CoolingLimits, n: int, theirs: CoolingLimits, m: int) -> bool:
    """Return whether one stage of ours is at least as strict as one of theirs."""
    own, stage = ours.stages[n], theirs.stages[m]
    if _level(own.target, stage.target):
        return False
    mine_ms, other_ms = _total_ms(ours, n), _total_ms(theirs, m)
    if stage.counts is Counts.FURTHER:
        # counted from an earlier stage that may have been quick: only its own time is sure
        other_ms = stage.within.ms
        if own.counts is Counts.FURTHER and not _level(theirs.stages[m - 1].target, ours.stages[n - 1].target):
            return not _longer(own.within, own.within_inclusive, stage.within, stage.within_inclusive)
    if mine_ms == other_ms:
        return stage.within_inclusive or not own.within_inclusive
    return mine_ms < other_ms


def _total_ms(limits: CoolingLimits, n: int) -> int:
    """Return the longest time in all that a stage allows, in ms."""
    stage = limits.stages[n]
    return stage.within.ms if stage.counts is Counts.TOTAL else _total_ms(limits, n - 1) + stage.within.ms


def _holding(ours: HoldingLimits, theirs: HoldingLimits) -> bool:
    if ours.medium is not theirs.medium or _level(ours.level, theirs.level):
        return True
    mine, other = ours.tolerance, theirs.tolerance
    if mine is None:
        return False
    return other is None or _longer(mine.within, mine.within_inclusive, other.within, other.within_inclusive)


def _time_control(ours: TimeControlLimits, theirs: TimeControlLimits) -> bool:
    if _within(ours, theirs) or _level(ours.starts_cold, theirs.starts_cold):
        return True
    if ours.starts_hot is not None and (theirs.starts_hot is None or _level(ours.starts_hot, theirs.starts_hot)):
        return True
    if theirs.never_above is None:
        return False
    return ours.never_above is None or _level(ours.never_above, theirs.never_above)


def _row(ours: CookingRow, theirs: CookingRow) -> bool:
    """Return whether a row asks less than the other, in temperature or in time."""
    mine = ours.dwell.ms if ours.dwell is not None else 0
    other = theirs.dwell.ms if theirs.dwell is not None else 0
    return mine < other or _level(ours.level, theirs.level)


def _reheating(ours: ReheatingLimits, theirs: ReheatingLimits) -> bool:
    if _row(ours.row, theirs.row):
        return True
    if theirs.within is None or theirs.start is None:
        return False
    if ours.within is None or ours.start is None:
        return True
    longer = _longer(ours.within, ours.within_inclusive, theirs.within, theirs.within_inclusive)
    return longer or _level(ours.start, theirs.start)  # from a warmer start the clock would start later


def _ambient(ours: AmbientCoolingLimits, theirs: AmbientCoolingLimits) -> bool:
    return _level(ours.target, theirs.target) or _within(ours, theirs)


def _cumulative(ours: CumulativeLimits, theirs: CumulativeLimits) -> bool:
    if _level(ours.cold, theirs.cold) or _level(ours.hot, theirs.hot) or _within(ours, theirs):
        return True
    return _longer(ours.back_within, ours.back_within_inclusive, theirs.back_within, theirs.back_within_inclusive)


def _cooking(ours: CookingLimits, theirs: CookingLimits) -> bool:
    return any(all(_row(row, other) for other in theirs.rows) for row in ours.rows)


def _date_mark(ours: DateMarkLimits, theirs: DateMarkLimits) -> bool:
    later = ours.marked_after.ms > theirs.marked_after.ms
    return later or ours.days > theirs.days or _level(ours.level, theirs.level)


def _egg(ours: EggLimits, theirs: EggLimits) -> bool:
    """Return whether there is a way in which ours serves raw egg and theirs does not."""
    return not (set(ours.ways) <= set(theirs.ways) and set(ours.ways_combined) <= set(theirs.ways_combined))


_COMPARE: Mapping[type[Part], Callable[[Any, Any], bool]] = MappingProxyType(
    {
        CoolingLimits: _cooling,
        HoldingLimits: _holding,
        AmbientCoolingLimits: _ambient,
        TimeControlLimits: _time_control,
        CumulativeLimits: _cumulative,
        CookingLimits: _cooking,
        ReheatingLimits: _reheating,
        DateMarkLimits: _date_mark,
        EggLimits: _egg,
    }
)
