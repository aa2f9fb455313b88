"""Stretches without readings, and what a day holds: found from the instants themselves, so that no gap is hidden."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.readings import Series

__all__ = ["LARGEST_GAP_MS", "DayFigures", "Gap", "GapFinder", "day_figures", "rolled_figures"]

LARGEST_GAP_MS = 20 * MS_PER_MINUTE
"""Ours, from no code: a longer stretch without readings of a probe is printed as a gap."""


@dataclass(frozen=True)
class Gap:
    """A stretch without readings; an end that is not a reading is an end of what was looked at."""

    from_ms: int
    to_ms: int
    begins_with_reading: bool
    ends_with_reading: bool

    @property
    def length_ms(self) -> int:
        """How long it is."""
        return self.to_ms - self.from_ms


@dataclass(frozen=True)
class DayFigures:
    """What the readings of one probe on one day come to."""

    count: int
    low_c: float | None
    mean_c: float | None
    high_c: float | None
    longest_gap_ms: int


class GapFinder:
    """Finds the gaps of one probe from its instants, handed over in order and in parts."""

    def __init__(self, first_ms: int, largest_ms: int = LARGEST_GAP_MS) -> None:
        self._largest_ms = largest_ms
        self._last_ms = first_ms
        self._seen = False
        self._found: list[Gap] = []

    def feed(self, at_ms: NDArray[np.int64]) -> None:
        """Look at the next instants."""
        if len(at_ms) == 0:
            return
        edges = np.concatenate(([self._last_ms], at_ms))
        for i in np.flatnonzero(np.diff(edges) > self._largest_ms):
            begins = self._seen or bool(i > 0)
            self._found.append(Gap(int(edges[i]), int(edges[i + 1]), begins, ends_with_reading=True))
        self._last_ms, self._seen = int(at_ms[-1]), True

    def finish(self, last_ms: int) -> tuple[Gap, ...]:
        """Return the gaps, what is missing at the end too."""
        if last_ms - self._last_ms > self._largest_ms:
            self._found.append(Gap(self._last_ms, last_ms, self._seen, ends_with_reading=False))
        return tuple(self._found)


def day_figures(series: Series, first_ms: int, last_ms: int) -> DayFigures:
    """Return the figures of the readings from `first_ms` to `last_ms`, both included; the ends also end a gap."""
    part = series.between(first_ms, last_ms)
    edges = np.concatenate(([first_ms], part.at_ms, [last_ms + 1]))
    longest = int(np.diff(edges).max())
    if len(part) == 0:
        return DayFigures(0, None, None, None, longest)
    values = part.celsius
    return DayFigures(len(part), float(values.min()), float(values.mean()), float(values.max()), longest)


def rolled_figures(buckets: NDArray[np.void], first_ms: int, last_ms: int) -> DayFigures:
    """Return the same of a day that was thinned, from what each of its five minutes held (`storage.traces.load_buckets`)."""
    begins = np.concatenate((buckets["first_ms"], [last_ms + 1]))
    ends = np.concatenate(([first_ms], buckets["last_ms"]))
    longest = int(max((begins - ends).max(), buckets["hole_ms"].max(initial=0)))
    count = int(buckets["count"].sum())
    if not count:
        return DayFigures(0, None, None, None, longest)
    mean_c = float((buckets["mean_c"] * buckets["count"]).sum() / count)
    return DayFigures(count, float(buckets["min_c"].min()), mean_c, float(buckets["max_c"].max()), longest)
