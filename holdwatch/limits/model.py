"""What a limits file says, once read: every figure with its clause, its source and how sure the reading is."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from holdwatch.quantities import Duration, Level

__all__ = ["Confidence", "CoolingLimits", "CoolingStage", "Counts", "HoldingLimits", "Limits", "NoFigure"]


class Confidence(StrEnum):
    """How a figure was read."""

    SEEN = "seen"
    """In the text of the code, or of a jurisdiction that adopted it."""
    SECONDARY = "secondary"
    """In somebody else's summary."""
    MEMORY = "memory"
    """Not seen."""


class Counts(StrEnum):
    """From where the time of a cooling stage counts."""

    TOTAL = "total"
    """From the start of cooling: time saved in an earlier stage may be spent."""
    FURTHER = "further"
    """From where the stage before was reached."""


@dataclass(frozen=True)
class CoolingStage:
    """One stage of cooling: a target to be reached within a time."""

    clause: str
    source: str
    requires: str
    target: Level
    within: Duration
    within_inclusive: bool
    counts: Counts
    confidence: Confidence
    read_on: date
    read_at: tuple[str, ...]


@dataclass(frozen=True)
class CoolingLimits:
    """From which temperature the clock runs, and the stages to be kept."""

    start: Level
    stages: tuple[CoolingStage, ...]


@dataclass(frozen=True)
class HoldingLimits:
    """A level at which food is kept."""

    clause: str
    source: str
    requires: str
    level: Level
    confidence: Confidence
    read_on: date
    read_at: tuple[str, ...]


@dataclass(frozen=True)
class NoFigure:
    """What a code says where it gives no figure; the clause is then ``none``, and the words say why."""

    clause: str
    source: str
    says: str


@dataclass(frozen=True)
class Limits:
    """One code of practice."""

    id: str
    title: str
    authority: str
    edition: str
    caution: str
    cooling: CoolingLimits | None = None
    cold_holding: HoldingLimits | None = None
    hot_holding: HoldingLimits | None = None
    no_figure: Mapping[str, NoFigure] = field(default_factory=lambda: MappingProxyType({}))
    """By process (``cooling``, ``cold-holding``, ``hot-holding``): where the code gives no figure."""
