"""What the charts are drawn from: curves and traces, already cut down to what an eye can see."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from holdwatch.readings import Series
from holdwatch.rules.verdicts import ClauseVerdict
from holdwatch.sieve import SetAside

__all__ = ["CurveView", "FanView", "Hole", "LevelView", "TraceView"]


@dataclass(frozen=True)
class Hole:
    """A stretch without readings; nothing is ever drawn across it but its hatch."""

    from_ms: int
    """The last reading before it, or where the record begins. [ms]"""
    until_ms: int
    """The first reading after it, or the instant of looking. [ms]"""
    still: bool = False
    """Whether it goes on at the instant of looking."""


@dataclass(frozen=True)
class FanView:
    """The forecast of one level: when it may be reached, and the course until then."""

    clause: str
    target_c: float
    reaches: bool | None
    expected_ms: int | None
    earliest_ms: int | None
    latest_ms: int | None
    reason: str
    made_ms: int
    path: tuple[tuple[int, float, float, float], ...] = ()
    """(instant in ms, low, middle, high in °C)."""


@dataclass(frozen=True, eq=False)
class CurveView:
    """One vessel of a batch: its readings, the limits that they are held against, and what lies ahead."""

    lot: str
    product: str
    vessel: int
    vessels: int
    readings: Series
    """For drawing: at most a thousand points; no hole, no lowest and no highest reading is lost in them."""
    set_aside: tuple[SetAside, ...]
    hand: Series
    holes: tuple[Hole, ...]
    clauses: tuple[ClauseVerdict, ...]
    fans: tuple[FanView, ...]
    from_ms: int
    until_ms: int
    """The instant of looking, or the end of the batch. [ms]"""
    sparse: bool = False
    """Whether the readings are so rare that no line may be drawn between any two of them."""
    live: bool = False
    """Whether the batch is still running, so that `until_ms` is now."""
    soon: frozenset[str] = frozenset()
    """Clauses of which a warning stands: forecast to be missed."""
    last_ms: int | None = None
    last_c: float | None = None
    drawn: tuple[ClauseVerdict, ...] | None = None
    """The clauses of one cooling and its holding, where others stand beside them; by default all."""

    @property
    def steps(self) -> tuple[ClauseVerdict, ...]:
        """The clauses that the picture shows."""
        return self.clauses if self.drawn is None else self.drawn


@dataclass(frozen=True, eq=False)
class TraceView:
    """One probe over a span: lowest, mean and highest of each stretch of time; holes are told apart."""

    at_ms: NDArray[np.int64]
    min_c: NDArray[np.float64]
    mean_c: NDArray[np.float64]
    max_c: NDArray[np.float64]
    from_ms: int
    until_ms: int
    holes: tuple[Hole, ...] = ()
    raw: bool = True
    """Whether the points are readings; else each stands for a stretch of time and its lowest and highest count too."""
    food_c: NDArray[np.float64] | None = None
    """Food estimated from this air, a point each; ``None`` where nothing is estimated. [°C]"""
    food_lag_min: float | None = None
    """The lag that it was estimated with. [min]"""

    @classmethod
    def empty(cls, from_ms: int, until_ms: int) -> "TraceView":
        """Return a trace without points: one hole."""
        none: NDArray[np.float64] = np.empty(0)
        hole = Hole(from_ms, until_ms, still=True)
        return cls(
            np.empty(0, dtype=np.int64), none, none, none, from_ms, until_ms, (hole,) if until_ms > from_ms else ()
        )

    def __len__(self) -> int:
        return len(self.at_ms)


@dataclass(frozen=True)
class LevelView:
    """A limit ruled through a trace."""

    level_c: float
    clause: str
    at_most: bool
    """Whether the food is to stay at or below it; else at or above."""
    requires: str = ""
    marks: tuple[tuple[int, int], ...] = field(default=())
    """Spells beyond it. [ms]"""
