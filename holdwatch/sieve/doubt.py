"""What a doubt is, and what the sieve holds a probe's readings against."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from holdwatch.readings import Series

__all__ = ["SLACK_C", "Doubt", "Floats", "Instants", "Judged", "Surroundings", "doubt_of"]

SLACK_C = 1e-6  # absorbs conversion between scales

Floats = NDArray[np.float64]
Instants = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Surroundings:
    """What was declared and measured beside a probe; instants in ms, in order of time."""

    placed: Sequence[int] = ()
    moved: Sequence[int] = ()
    steps: Sequence[int] = ()
    """Any other declared step that may warm the food or move the probe."""
    left_heat_ms: int | None = None
    hand: Series = field(default_factory=Series.empty)
    air: Series = field(default_factory=Series.empty)


@dataclass(frozen=True)
class Doubt:
    """A stretch of readings that may not be the food's."""

    first_index: int
    stop_index: int
    """One past the last."""
    first_ms: int
    last_ms: int
    why: str
    over: bool
    """Whether it ended; if not, the probe may be out of the food still."""
    out: bool = False
    """Whether a hand thermometer showed that the probe was out of the food: the readings are not judged at all."""


@dataclass(frozen=True, eq=False)
class Judged:
    """A probe's judged readings with what each is compared with."""

    at: Instants
    celsius: Floats
    around: Surroundings
    agreed: tuple[int, ...]
    """Instants of hand readings that agree with the probe. [ms]"""

    def __len__(self) -> int:
        return len(self.at)


def doubt_of(probe: Judged, first: int, stop: int, why: str, *, over: bool) -> Doubt:
    """Return the doubt about the readings from `first` up to, not including, `stop`."""
    return Doubt(first, stop, int(probe.at[first]), int(probe.at[stop - 1]), why, over)
