"""Silent probe: a probe that has not been heard for longer than its habit allows.

It says nothing about the food. It tells a person to look before the hole in the record grows so long that no
clause can be shown any more. A probe that speaks every minute is silent after five; one that speaks every ten
minutes after twenty.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_MINUTE

__all__ = ["SignalVerdict", "judge_signal"]

# Ours, from no code.
HABIT_READINGS = 20  # the last intervals that tell the usual one
MISSED_READINGS = 5  # so many in a row, for a probe that speaks often
NEVER_BEFORE_MS = 5 * MS_PER_MINUTE
LARGEST_GAP_MS = 20 * MS_PER_MINUTE


@dataclass(frozen=True)
class SignalVerdict:
    """Whether a probe is silent."""

    silent: bool
    since_ms: int | None
    """The last sign of it: its last reading, or its placement if it has never been heard. [ms]"""
    usual_interval_ms: int | None
    becomes_silent_ms: int | None
    """When it counts, or counted, as silent if nothing more comes. [ms]"""


def judge_signal(
    at_ms: Sequence[int] | NDArray[np.int64],
    placed_ms: int | None,
    now_ms: int,
    *,
    largest_gap_ms: int = LARGEST_GAP_MS,
) -> SignalVerdict:
    """Return whether a probe is silent, from its last instants and the one it was placed at.

    Parameters
    ----------
    at_ms : the probe's last instants in order of time, some twenty of them. [ms]
    placed_ms : when it was placed, from when on it is expected to speak; ``None`` if it never was. [ms]
    now_ms : the present instant. [ms]
    largest_gap_ms : the hole that a holding clause bears; a probe is called silent before it is that long. [ms]
    """
    instants = np.unique(np.asarray(at_ms, dtype=np.int64))
    heard = int(instants[-1]) if len(instants) else None
    since = max((at for at in (heard, placed_ms) if at is not None), default=None)
    intervals = np.diff(instants[-HABIT_READINGS - 1 :])
    usual = int(np.median(intervals)) if len(intervals) else None
    if since is None:
        return SignalVerdict(silent=False, since_ms=None, usual_interval_ms=usual, becomes_silent_ms=None)
    patience = largest_gap_ms
    if usual is not None:
        often = min(max(MISSED_READINGS * usual, NEVER_BEFORE_MS), largest_gap_ms)
        patience = max(often, 2 * usual)
    becomes = since + patience
    return SignalVerdict(now_ms > becomes, since, usual, becomes)
