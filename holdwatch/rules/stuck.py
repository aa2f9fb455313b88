"""Stuck probe: the same value to the last digit, for far longer than it ever stood still, or while all around it moved.

A probe that rounds to half a degree stands still for hours in a good fridge, and is right. So standing still alone says
nothing; it is held against what the probe itself did before, and against what another probe beside it saw. It says
nothing about the food, and changes no verdict: it tells a person to compare the probe with a hand thermometer.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_HOUR
from holdwatch.language import _
from holdwatch.quantities import span_c
from holdwatch.readings import Series
from holdwatch.rules.air import estimated_food_c

__all__ = ["BESIDE_AFTER_MS", "LOOK_BACK_MS", "StuckVerdict", "judge_stuck"]

# Ours, from no code.
STUCK_AFTER_MS = 12 * MS_PER_HOUR
READINGS = 20  # in the stretch, at least
TIMES_ITS_LONGEST = 4  # times the longest that it stood still before
HISTORY_MS = 24 * MS_PER_HOUR  # so much of it must be known before the stretch
CHANGES = 10  # in that history, at least
BESIDE_AFTER_MS = 4 * MS_PER_HOUR
BESIDE_MOVED_C = span_c(9)  # food that follows that air: even food four times as slow moves by a degree or two
LOOK_BACK_MS = 3 * HISTORY_MS


@dataclass(frozen=True)
class StuckVerdict:
    """Whether a probe is stuck."""

    stuck: bool
    since_ms: int | None = None
    """The first reading of the stretch in which it has not changed. [ms]"""
    value_c: float | None = None
    why: str = ""
    """What shows that it should have changed."""


def judge_stuck(probe: Series, beside: Series, *, told_since_ms: int | None = None) -> StuckVerdict:
    """Return whether a probe is stuck, from its last days and the air beside it.

    Parameters
    ----------
    probe : its readings, up to now; more than a day before the stretch are needed to know its habit.
    beside : readings of the air in the same place, empty where nobody measures it.
    told_since_ms : the beginning of a stretch that was told already: it is stuck until it changes. [ms]
    """
    if not len(probe):
        return StuckVerdict(stuck=told_since_ms is not None)
    changes = np.flatnonzero(probe.celsius[1:] != probe.celsius[:-1]) + 1
    first = int(changes[-1]) if len(changes) else 0
    since_ms, value_c = int(probe.at_ms[first]), float(probe.celsius[first])
    if told_since_ms is not None:
        return StuckVerdict(not len(changes) or since_ms <= told_since_ms, since_ms, value_c)
    still_ms = int(probe.at_ms[-1]) - since_ms
    why = ""
    if len(probe) - first >= READINGS:
        if still_ms >= STUCK_AFTER_MS and _changed_before(probe, changes, first, still_ms):
            why = _("it never stood still for a quarter as long in the days before")
        elif still_ms >= BESIDE_AFTER_MS and _moved(beside.between(since_ms, int(probe.at_ms[-1]))):
            why = _("the air beside it has warmed or cooled meanwhile by more than food can miss")
    return StuckVerdict(bool(why), since_ms, value_c, why)


def _changed_before(probe: Series, changes: NDArray[np.intp], first: int, still_ms: int) -> bool:
    """Return whether the history is long enough, and has no stretch without a change that is like this one."""
    if len(changes) < CHANGES or int(probe.at_ms[first] - probe.at_ms[0]) < HISTORY_MS:
        return False
    starts = probe.at_ms[np.concatenate(([0], changes))]
    return bool(TIMES_ITS_LONGEST * int(np.diff(starts).max()) <= still_ms)


def _moved(air: Series) -> bool:
    """Return whether food in that air would have changed by far more than a probe can miss."""
    return len(air) > 1 and bool(np.ptp(estimated_food_c(air)) >= BESIDE_MOVED_C)
