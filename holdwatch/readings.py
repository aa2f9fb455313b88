"""What was measured: a series of readings as two arrays, and what people declared beside it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Self

import numpy as np
from numpy.typing import NDArray

__all__ = ["Declaration", "DeclarationKind", "Medium", "Record", "Series", "Source"]


class Medium(StrEnum):
    """What a probe stands in; only food proves or breaks a food limit."""

    FOOD = "food"
    AIR = "air"
    PRODUCT = "product"


class Source(StrEnum):
    """Where a series comes from: a probe that speaks by itself, or a hand thermometer."""

    PROBE = "probe"
    HAND = "hand"


class DeclarationKind(StrEnum):
    """What a person may declare about a batch; the words of the command-line contract."""

    LEFT_HEAT = "left-heat"
    PREPARED = "prepared"
    REMOVED = "removed"
    RETURNED = "returned"
    ENDED = "ended"
    PLACED = "placed"
    MOVED = "moved"
    FROM = "from"


@dataclass(frozen=True, order=True)
class Declaration:
    """An instant that a person declared."""

    at_ms: int
    kind: DeclarationKind


@dataclass(frozen=True, eq=False)
class Series:
    """Readings in order of time.

    Parameters
    ----------
    at_ms : int64 array, shape (n,). [ms since 1970-01-01 UTC], never decreasing.
        Two readings may share an instant (a contested reading); an exact double may not occur.
    celsius : float64 array, shape (n,). [°C], corrected, finite.
    """

    at_ms: NDArray[np.int64]
    celsius: NDArray[np.float64]

    def __post_init__(self) -> None:
        """Refuse arrays that are not a series."""
        if self.at_ms.shape != self.celsius.shape or self.at_ms.ndim != 1:
            message = f"instants {self.at_ms.shape} and temperatures {self.celsius.shape} do not pair up"
            raise ValueError(message)
        if len(self.at_ms) > 1 and bool((self.at_ms[1:] < self.at_ms[:-1]).any()):
            message = "a series runs in order of time"
            raise ValueError(message)

    def __len__(self) -> int:
        return len(self.at_ms)

    @classmethod
    def of(cls, pairs: Iterable[tuple[int, float]]) -> Self:
        """Make a series of (instant in ms, °C) pairs in any order; exact doubles fall away."""
        ordered = sorted({(int(at), float(c)) for at, c in pairs})
        return cls(
            np.array([at for at, _ in ordered], dtype=np.int64),
            np.array([c for _, c in ordered], dtype=np.float64),
        )

    @classmethod
    def empty(cls) -> Self:
        """Return a series without readings."""
        return cls(np.empty(0, dtype=np.int64), np.empty(0, dtype=np.float64))

    def between(self, first_ms: int, last_ms: int) -> "Series":
        """Return the readings from `first_ms` to `last_ms`, both included."""
        low = int(np.searchsorted(self.at_ms, first_ms, side="left"))
        high = int(np.searchsorted(self.at_ms, last_ms, side="right"))
        return Series(self.at_ms[low:high], self.celsius[low:high])


@dataclass(frozen=True, eq=False)
class Record:
    """All that is known of one vessel of a batch, or of one probe in a unit."""

    probe: Series = field(default_factory=Series.empty)
    hand: Series = field(default_factory=Series.empty)
    medium: Medium = Medium.FOOD
    declared: tuple[Declaration, ...] = ()
    air: Series = field(default_factory=Series.empty)
    """Air of the unit that the vessel stands in, where it is measured: the sieve asks whether a food probe follows it."""
    food_lag_min: float | None = None
    """How slowly food there follows the air, where it was set or learned. [min]"""

    def instants(self, kind: DeclarationKind) -> list[int]:
        """Return the declared instants of one kind, in order of time (ms)."""
        return sorted(d.at_ms for d in self.declared if d.kind is kind)
