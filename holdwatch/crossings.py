"""A series held against levels: crossings, runs and gaps, each between the readings that show it.

Nobody saw the instant at which a level was crossed; it lies between two readings, and that is all that is said
here. Everything is computed on whole arrays, so one reading and ten million are the same code.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.blocks import places
from holdwatch.quantities import Level, Side
from holdwatch.readings import Series

__all__ = ["Crossing", "Run", "falls", "farthest", "first_fall", "first_reach", "gaps", "runs", "unbroken"]

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Crossing:
    """Two neighbouring readings between which a level was crossed; the earlier may be missing."""

    before_ms: int | None
    after_ms: int
    after_index: int


@dataclass(frozen=True)
class Run:
    """Neighbouring readings on one side of a level, with the readings just outside."""

    before_ms: int | None
    first_ms: int
    last_ms: int
    after_ms: int | None
    first_index: int
    last_index: int

    @property
    def readings(self) -> int:
        """How many readings the run has."""
        return self.last_index - self.first_index + 1

    @property
    def shortest_ms(self) -> int:
        """The least time that the run can have lasted."""
        return self.last_ms - self.first_ms

    @property
    def longest_ms(self) -> int | None:
        """The most time that it can have lasted; ``None`` where an end was not seen."""
        if self.before_ms is None or self.after_ms is None:
            return None
        return self.after_ms - self.before_ms


def _crossing(series: Series, after: int) -> Crossing:
    """Return the crossing that ends at the reading `after`."""
    before = int(series.at_ms[after - 1]) if after else None
    return Crossing(before, int(series.at_ms[after]), after)


def falls(series: Series, level: Level) -> NDArray[np.intp]:
    """Return the indices of the first readings below a level after one at or above it."""
    warm = level.keeps(series.celsius)
    return np.flatnonzero(warm[:-1] & ~warm[1:]) + 1


def first_fall(series: Series, level: Level, *, undone_ms: int, settled_ms: int | None = None) -> Crossing | None:
    """Return the first fall below a level that is not undone, or ``None``.

    A fall is undone when the series is back at the level within `undone_ms` of the first reading below it, or,
    however late, not after `settled_ms`.
    """
    warm_at = np.flatnonzero(level.keeps(series.celsius))
    fallen = falls(series, level)
    if not len(fallen):
        return None
    following = np.searchsorted(warm_at, fallen)
    back = following < len(warm_at)
    back_ms = series.at_ms[warm_at[np.minimum(following, len(warm_at) - 1)]]
    undone = back_ms - series.at_ms[fallen] <= undone_ms
    if settled_ms is not None:
        undone |= back_ms <= settled_ms
    lasting = fallen[~(back & undone)]
    return _crossing(series, int(lasting[0])) if len(lasting) else None


def first_reach(series: Series, level: Level, *, from_ms: int) -> Crossing | None:
    """Return where a level is first kept, at or after an instant, or ``None``."""
    start = int(np.searchsorted(series.at_ms, from_ms, side="left"))
    kept = level.keeps(series.celsius[start:])
    if not kept.any():
        return None
    return _crossing(series, start + int(kept.argmax()))


def runs(at_ms: NDArray[np.int64], mask: Mask) -> tuple[Run, ...]:
    """Return the unbroken runs of readings for which `mask` is true."""
    inside = np.concatenate(([False], mask, [False]))
    edges = places(len(mask) + 1, lambda part: inside[part] != inside[part.start + 1 : part.stop + 1])
    several = []
    for first, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        before = int(at_ms[first - 1]) if first else None
        after = int(at_ms[stop]) if stop < len(at_ms) else None
        several.append(Run(before, int(at_ms[first]), int(at_ms[stop - 1]), after, first, stop - 1))
    return tuple(several)


def gaps(at_ms: NDArray[np.int64], largest_ms: NDArray[np.int64] | int) -> tuple[tuple[int, int], ...]:
    """Return the stretches between neighbouring readings that are longer than the largest gap."""
    earlier, later = at_ms[:-1], at_ms[1:]

    def is_wide(part: slice) -> Mask:
        return later[part] - earlier[part] > (largest_ms if isinstance(largest_ms, int) else largest_ms[part])

    wide = places(len(later), is_wide)
    return tuple((int(at_ms[i]), int(at_ms[i + 1])) for i in wide.tolist())


def unbroken(series: Series, level: Level, *, length_ms: int, largest_ms: NDArray[np.int64] | int) -> int | None:
    """Return when a level has first been kept for a length of time without a break, or ``None``.

    A reading on the other side breaks it, and so does a gap larger than `largest_ms`.
    """
    at = series.at_ms
    if not len(at):
        return None
    kept = level.keeps(series.celsius)
    starts = kept.copy()
    starts[1:] &= ~kept[:-1] | (np.diff(at) > largest_ms)
    number = np.cumsum(starts) - 1
    first_ms = at[np.flatnonzero(starts)]
    if not len(first_ms):
        return None
    enough = kept & (
        at - first_ms[number] >= length_ms
    )  # before the first stretch there is no number, nor a level kept
    return int(first_ms[number[enough.argmax()]]) + length_ms if enough.any() else None


def farthest(celsius: NDArray[np.float64], side: Side) -> float:
    """Return the temperature that is farthest beyond a level kept on `side`."""
    return float(celsius.max() if side is Side.AT_MOST else celsius.min())
