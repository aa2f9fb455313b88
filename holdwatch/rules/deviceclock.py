"""The clock of a device: whether the instants that it states agree with when its readings arrive.

A reading that waited in a device's outbox is late and rightly dated: the outbox comes in one burst, so the arrivals lie
close together while the instants do not. Readings that arrive one by one as they are taken, and are all late by the
same, are dated by a clock that is wrong. A clock that runs behind makes a step look over before it was. One that is
ahead by more than can be believed has its readings kept and not judged, and nobody would know why.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND

__all__ = ["ClockVerdict", "Dated", "judge_device_clock"]

# Ours, from no code.
READINGS = 5  # the last ones, as they arrived
ALIKE_MS = 10 * MS_PER_SECOND  # so far their delays may differ
BEHIND_MS = 5 * MS_PER_MINUTE
AHEAD_MS = 30 * MS_PER_SECOND


@dataclass(frozen=True, eq=False)
class Dated:
    """Readings of a device that states instants; arrays of one length."""

    at_ms: NDArray[np.int64]
    """The stated instants; of those that cannot be, anything. [ms]"""
    received_ms: NDArray[np.int64]
    """When each was received. [ms]"""
    impossible: NDArray[np.bool_]
    """Whether the stated instant cannot be, so that the reading is kept and not judged."""


@dataclass(frozen=True)
class ClockVerdict:
    """Whether a device's clock is wrong, and by how much."""

    wrong: bool
    since_ms: int | None = None
    """When the first of the readings that show it arrived. [ms]"""
    by_ms: int | None = None
    """How far it is behind the arrivals; negative where it is ahead; ``None`` where it is beyond belief. [ms]"""


def judge_device_clock(dated: Dated, *, told: bool = False) -> ClockVerdict:
    """Return whether a device's clock is wrong, from its last readings.

    Once it was `told`, it takes readings that are rightly dated to take it back: one that comes late among others does
    not, or the same clock would be told of again and again.
    """
    order = np.lexsort((dated.at_ms, dated.received_ms))[-READINGS:]
    received, impossible = dated.received_ms[order], dated.impossible[order]
    if len(order) < READINGS:
        return ClockVerdict(wrong=False)
    if bool(impossible.all()) or (told and bool(impossible.any())):
        return ClockVerdict(wrong=True, since_ms=int(received[0]))
    if bool(impossible.any()):
        return ClockVerdict(wrong=False)
    delays = received - dated.at_ms[order]
    live = bool((np.diff(received) > 0).all()) and int(np.ptp(delays)) <= ALIKE_MS
    by_ms = int(np.median(delays))
    if -AHEAD_MS <= by_ms < BEHIND_MS or not (live or told):
        return ClockVerdict(wrong=False)
    return ClockVerdict(wrong=True, since_ms=int(received[0]), by_ms=by_ms)
