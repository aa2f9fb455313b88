"""Changes that food does not make by itself, and where each is over.

Food falls no faster than it can give off heat, and rises only on the heat. A rise so sudden that no stove makes it is a
probe put into something else: that this cools down to where the readings were shows nothing, they have to come back
about as fast as they left.

All figures here are ours, from no code of practice.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.blocks import blocks
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.quantities import Scale, format_difference, span_c
from holdwatch.sieve.doubt import SLACK_C, Doubt, Floats, Instants, Judged, doubt_of

__all__ = ["changes"]

RATE_OVER_MS = MS_PER_MINUTE
FAST_FALL_C = span_c(10)  # in a minute
SLOW_FALL_C = span_c(3)  # in a minute, if also five times the mean before
SLOW_FALL_TIMES = 5.0
MEAN_OVER_MS = 10 * MS_PER_MINUTE
RISE_C = span_c(30)
RISE_MS = 10 * MS_PER_MINUTE
SUDDEN_RISE_C = span_c(30)  # in a minute
MOVED_MS = 5 * MS_PER_MINUTE
BACK_C = span_c(5)


def changes(probe: Judged) -> list[Doubt]:
    """Return the doubts that a fast fall or a rise begins."""
    if float(np.ptp(probe.celsius)) < SLOW_FALL_C:
        return []
    found: list[Doubt] = []
    clean_from = 0
    for suspect in _suspects(probe):
        index = suspect.index
        if index <= clean_from and found:
            continue
        base = _base_of_fall(probe, suspect.before, clean_from, index) if suspect.falling else None
        fell = base is not None
        if base is None and suspect.rising:
            base = _base_of_rise(probe, max(suspect.low, clean_from), index)
        if base is None:
            continue
        stop = _end(probe, base, _first_back(probe, base, index, fell=fell))
        found.append(doubt_of(probe, base + 1, stop, _why(probe, base, index), over=stop < len(probe)))
        clean_from = stop
        if stop == len(probe):
            break
    return found


@dataclass(frozen=True)
class _Suspect:
    """A reading that ends a change too fast for food; indices."""

    index: int
    before: int
    """The reading that a fall is measured from."""
    low: int
    """The first of the ten minutes before."""
    falling: bool
    rising: bool


def _suspects(probe: Judged) -> Iterator[_Suspect]:
    """Give the readings that end a fast fall or rise, block by block; each block sees what its first reading looks back on."""
    for block in blocks(len(probe)):
        first = _looked_back_on(probe.at, block.start)
        seen = slice(first, block.stop)
        part = Judged(probe.at[seen], probe.celsius[seen], probe.around, probe.agreed)
        before, falling = _falls(part)
        low = np.searchsorted(part.at, part.at - RISE_MS, side="left")
        rising = part.celsius - _lowest_before(part.celsius, low) > RISE_C + SLACK_C
        suspected = (falling | rising) & ~_just_moved(part.at, part.around.moved)
        own = block.start - first
        for n in (own + np.flatnonzero(suspected[own:])).tolist():
            yield _Suspect(first + n, first + int(before[n]), first + int(low[n]), bool(falling[n]), bool(rising[n]))


def _looked_back_on(at: Instants, index: int) -> int:
    """Return the first reading that decides whether the one at `index` is suspect: where the mean before a fall begins."""
    before = max(int(np.searchsorted(at, at[index] - RATE_OVER_MS, side="right")) - 1, 0)
    return max(int(np.searchsorted(at, at[before] - MEAN_OVER_MS, side="right")) - 1, 0)


def _falls(probe: Judged) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return for each reading the one that a fall is measured from, and whether the fall is too fast for food.

    Where no reading is just a minute older, a minute lies between two: the fall is measured from either, so that an
    interval of 50 s does not halve the rate of a sudden fall.
    """
    at = probe.at
    outside = np.maximum(np.searchsorted(at, at - RATE_OVER_MS, side="right") - 1, 0)
    inside = np.searchsorted(at, at - RATE_OVER_MS, side="left")
    falling = _falling(probe, outside)
    sudden = _falling(probe, inside) & ~falling
    return np.where(sudden, inside, outside), falling | sudden


def _falling(probe: Judged, before: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return which readings end a fall that is too fast for food."""
    at, celsius = probe.at, probe.celsius
    minutes = np.maximum(at - at[before], RATE_OVER_MS) / RATE_OVER_MS
    rate = (celsius[before] - celsius) / minutes
    fast: NDArray[np.bool_] = rate >= FAST_FALL_C - SLACK_C
    if not (rate >= SLOW_FALL_C - SLACK_C).any():
        return fast
    earlier = np.searchsorted(at, at[before] - MEAN_OVER_MS, side="right") - 1
    known = earlier >= 0
    earlier = np.maximum(earlier, 0)
    span = np.maximum(at[before] - at[earlier], 1) / RATE_OVER_MS
    mean = np.maximum((celsius[earlier] - celsius[before]) / span, 0.0)
    slow: NDArray[np.bool_] = known & (rate >= SLOW_FALL_C - SLACK_C) & (rate >= SLOW_FALL_TIMES * mean - SLACK_C)
    return fast | slow


def _lowest_before(celsius: Floats, low: NDArray[np.intp]) -> Floats:
    """Return for each reading the lowest from index `low` up to itself, by tables of doubling width."""
    n = len(celsius)
    width = np.arange(n) - low + 1
    level = np.frexp(width.astype(np.float64))[1] - 1
    lowest = np.empty(n)
    table, reach = celsius, 1
    for power in range(int(level.max()) + 1):
        here = np.flatnonzero(level == power)
        lowest[here] = np.minimum(table[low[here]], table[here - reach + 1])
        if len(table) > reach:
            table = np.minimum(table[:-reach], table[reach:])
        reach *= 2
    return lowest


def _just_moved(at: Instants, moved: Sequence[int]) -> NDArray[np.bool_]:
    """Return which readings lie within five minutes of a declared move."""
    near = np.zeros(len(at), dtype=np.bool_)
    for instant in moved:
        near |= np.abs(at - instant) <= MOVED_MS
    return near


def _base_of_fall(probe: Judged, before: int, clean_from: int, index: int) -> int | None:
    """Return the reading before a fall; one that reaches into an earlier doubt must be fast without it."""
    celsius = probe.celsius
    if clean_from > before and celsius[clean_from] - celsius[index] < FAST_FALL_C - SLACK_C:  # in less than a minute
        return None
    return _onset(-celsius, max(before, clean_from), index)


def _base_of_rise(probe: Judged, start: int, index: int) -> int | None:
    """Return the reading before a rise, unless a declared step explains it or it began before `start`."""
    celsius, around = probe.celsius, probe.around
    low = start + int(celsius[start:index].argmin())
    if celsius[index] - celsius[low] <= RISE_C + SLACK_C:
        return None
    rise_ends = int(probe.at[index])
    if around.left_heat_ms is not None and rise_ends <= around.left_heat_ms:
        return None
    declared = (*around.placed, *around.moved, *around.steps)
    if any(int(probe.at[low]) - MOVED_MS <= step <= rise_ends for step in declared):
        return None
    return _onset(celsius, low, index)


def _onset(celsius: Floats, start: int, index: int) -> int:
    """Return the reading before the first large step of a rise between two readings."""
    steps = np.diff(celsius[start : index + 1])
    return start + int((steps >= steps.max() / 2).argmax())


def _end(probe: Judged, base: int, back: int) -> int:
    """Return the first reading that is the food's again, at the latest the one that is `back`, or one past the last."""
    stop, began = back, int(probe.at[base + 1])
    for instant in (*probe.around.placed, *probe.around.moved, *probe.agreed):
        if instant > began:
            stop = min(stop, int(np.searchsorted(probe.at, instant, side="left")))
    return stop


def _first_back(probe: Judged, base: int, index: int, *, fell: bool) -> int:
    """Return the first reading that is back where the readings were, or one past the last."""
    celsius = probe.celsius
    sign = 1.0 if fell else -1.0
    level_c = sign * celsius[base] - BACK_C - SLACK_C
    back = _first_at_least(level_c, celsius, sign, index + 1)
    if fell or not _is_sudden(probe, base, index):
        return back
    while back < len(celsius):
        recent = min(int(np.searchsorted(probe.at, probe.at[back] - RISE_MS, side="left")), back - 1)
        if celsius[max(recent, base) : back].max() - celsius[base] > RISE_C + SLACK_C:
            return back
        above = _first_at_least(celsius[base] + RISE_C, celsius, 1.0, back + 1)
        back = _first_at_least(level_c, celsius, sign, above)
    return back


def _is_sudden(probe: Judged, base: int, index: int) -> bool:
    """Tell whether a rise goes faster, within a minute or between two readings, than a stove can warm a pan."""
    at, celsius = probe.at[base : index + 1], probe.celsius[base : index + 1]
    before = np.minimum(np.searchsorted(at, at - RATE_OVER_MS, side="left"), np.maximum(np.arange(len(at)) - 1, 0))
    minutes = np.maximum(at - at[before], RATE_OVER_MS) / RATE_OVER_MS
    return bool(((celsius - celsius[before]) / minutes > SUDDEN_RISE_C + SLACK_C).any())


def _first_at_least(level_c: float, celsius: Floats, sign: float, start: int) -> int:
    """Return the first index from `start` on whose value times `sign` is at least a level, or one past the last.

    It looks in pieces of growing length: many doubts in a long record do not each look through all of it.
    """
    length = 64
    while start < len(celsius):
        found = np.flatnonzero(sign * celsius[start : start + length] >= level_c)
        if len(found):
            return start + int(found[0])
        start += length
        length *= 2
    return len(celsius)


def _why(probe: Judged, base: int, index: int) -> str:
    change = float(probe.celsius[index] - probe.celsius[base])
    said = (
        _("the probe fell {amount} within {minutes} min")
        if change < 0
        else _("the probe rose {amount} within {minutes} min")
    )
    minutes = max(round(int(probe.at[index] - probe.at[base]) / MS_PER_MINUTE), 1)
    amount = f"{format_difference(change, Scale.F)} ({format_difference(change, Scale.C)})".replace("\u202f", " ")
    return said.format(amount=amount, minutes=minutes)
