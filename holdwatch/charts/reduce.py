"""Cutting a series down to what an eye can see, without losing a hole, a lowest or a highest reading."""

import numpy as np
from numpy.typing import NDArray

from holdwatch.charts.curves import Hole
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.readings import Series

__all__ = ["MOST_POINTS", "find_holes", "segments", "thin"]

MOST_POINTS = 1_000
# Ours: a line over a longer stretch would show what nobody measured. Five missed readings, at least 5 min, at
# most the 20 min that a holding clause bears.
MISSED_READINGS = 5
SHORTEST_HOLE_MS = 5 * MS_PER_MINUTE
LARGEST_GAP_MS = 20 * MS_PER_MINUTE
MOST_HOLES = 200


def find_holes(at_ms: NDArray[np.int64], from_ms: int, until_ms: int, *, live: bool) -> tuple[tuple[Hole, ...], bool]:
    """Return the holes of a record over a stretch of time, and whether it is too sparse for any line.

    Parameters
    ----------
    at_ms : int64 array. [ms], instants of the readings in order of time.
    from_ms, until_ms : int. [ms], where readings are expected: from the placement to its end, or to now.
    live : bool, whether more readings may still come.
    """
    if len(at_ms) == 0:
        return ((Hole(from_ms, until_ms, still=live),) if until_ms > from_ms else ()), False
    steps = np.diff(at_ms)
    steps = steps[steps > 0]
    usual = float(np.median(steps)) if len(steps) else 0.0
    sparse = usual > LARGEST_GAP_MS
    bears = 2 * usual if sparse else min(max(MISSED_READINGS * usual, SHORTEST_HOLE_MS), LARGEST_GAP_MS)
    found = []
    if at_ms[0] - from_ms > bears:
        found.append(Hole(from_ms, int(at_ms[0])))
    found += [Hole(int(at_ms[i]), int(at_ms[i + 1])) for i in np.flatnonzero(np.diff(at_ms) > bears)]
    if until_ms - at_ms[-1] > bears:
        found.append(Hole(int(at_ms[-1]), until_ms, still=live))
    if len(found) > MOST_HOLES:
        longest = sorted(found, key=lambda hole: hole.from_ms - hole.until_ms)[:MOST_HOLES]
        return tuple(sorted(longest, key=lambda hole: hole.from_ms)), True
    return tuple(found), sparse


def segments(at_ms: NDArray[np.int64], holes: tuple[Hole, ...]) -> NDArray[np.int64]:
    """Return for each reading the number of the unbroken stretch that it belongs to."""
    ends = np.array(sorted(hole.until_ms for hole in holes), dtype=np.int64)
    return np.searchsorted(ends, at_ms, side="right").astype(np.int64)


def thin(series: Series, holes: tuple[Hole, ...], most: int = MOST_POINTS) -> Series:
    """Return at most `most` readings: the ends of every unbroken stretch, and the lowest and highest of every bucket."""
    count = len(series)
    if count <= most:
        return series
    number = segments(series.at_ms, holes)
    breaks = np.flatnonzero(np.diff(number))
    kept = {0, count - 1, *breaks.tolist(), *(breaks + 1).tolist()}
    buckets = max(1, (most - len(kept)) // 2)
    span = int(series.at_ms[-1] - series.at_ms[0]) + 1
    bucket = (series.at_ms - series.at_ms[0]) * buckets // span
    starts = np.flatnonzero(np.diff(bucket, prepend=-1))
    for begin, end in zip(starts, np.append(starts[1:], count), strict=True):
        part = series.celsius[begin:end]
        kept.add(int(begin + part.argmin()))
        kept.add(int(begin + part.argmax()))
    index = np.array(sorted(kept), dtype=np.int64)
    return Series(series.at_ms[index], series.celsius[index])
