"""The five words, and what a rule answers with."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from holdwatch.sieve import Doubt, SetAside

__all__ = [
    "Bracket",
    "ClauseVerdict",
    "Judgement",
    "Matter",
    "Process",
    "SetAside",
    "Spell",
    "Step",
    "Verdict",
    "worst",
]

Bracket = tuple[int | None, int | None]
"""Two instants between which something happened. [ms since 1970-01-01 UTC]; ``None`` is an unknown end."""


class Verdict(StrEnum):
    """What the record shows of a limit. It never says that food is safe."""

    MET = "met"
    MISSED = "missed"
    UNPROVEN = "unproven"
    OPEN = "open"
    NONE = "none"


_WORST_FIRST = (Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.MET)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict of several clauses: missed, unproven, open, met; ``none`` is not counted."""
    present = set(verdicts)
    return next((v for v in _WORST_FIRST if v in present), Verdict.NONE)


class Process(StrEnum):
    """What a record is judged as; the words of the command-line contract."""

    COOLING = "cooling"
    COLD_HOLDING = "cold-holding"
    HOT_HOLDING = "hot-holding"
    AMBIENT_COOLING = "ambient-cooling"
    RECEIVED_COOLING = "received-cooling"
    TIME_CONTROL_4H = "time-control-4h"
    TIME_CONTROL_6H = "time-control-6h"
    TIME_CONTROL_FROM_ROOM = "time-control-from-room"
    CUMULATIVE_TIME = "cumulative-time"
    COOK_EGGS = "cook-eggs"
    COOK_EGGS_TO_ORDER = "cook-eggs-to-order"
    REHEATING = "reheating"
    SHELL_EGGS = "shell-eggs"
    FROZEN_STORAGE = "frozen-storage"


COLD_IN_TIME = frozenset({Process.COOLING, Process.AMBIENT_COOLING, Process.RECEIVED_COOLING})
"""Processes in which food is to be cold within a time."""


class Matter(StrEnum):
    """What a batch is asked beside the processes of a record."""

    RECEIVING = "receiving"
    DATE_MARKING = "date-marking"


class Step(StrEnum):
    """The step of a batch in which readings were taken."""

    COOK = "cook"
    COOL = "cool"
    HOLD = "hold"
    ASSEMBLE = "assemble"
    STORE = "store"
    DISPLAY = "display"
    SERVE = "serve"


@dataclass(frozen=True)
class Spell:
    """A time spent beyond a holding level: both ends are brackets, since nobody saw the crossing itself."""

    begins: tuple[int | None, int]
    """From the reading before, if there is one, to the first reading beyond the level. [ms]"""
    ends: tuple[int, int | None]
    """From the last reading beyond it to the reading after, if there is one. [ms]"""
    extreme_c: float
    """The reading farthest beyond the level. [°C]"""
    readings: int


@dataclass(frozen=True)
class ClauseVerdict:
    """What the record shows of one clause.

    `started`, `due` and `reached` are brackets in ms, or ``None`` where the clause has no such instant.
    """

    clause: str
    source: str
    requires: str
    verdict: Verdict
    reason: str
    start_level_c: float | None = None
    """The level whose downward crossing starts the clock. [°C]"""
    level_c: float | None = None
    """The level to be reached or kept. [°C]"""
    started: Bracket | None = None
    due: Bracket | None = None
    reached: Bracket | None = None
    spells: tuple[Spell, ...] = ()
    doubtful: bool = False
    """Whether readings perhaps out of the food decide it: the Bench then asks whether the probe is still in."""


@dataclass(frozen=True)
class Judgement:
    """The verdict of a process, clause by clause, with the readings that were left out of it."""

    process: Process | Matter
    limits: str
    verdict: Verdict
    clauses: tuple[ClauseVerdict, ...]
    used: int
    first_ms: int | None
    last_ms: int | None
    set_aside: tuple[SetAside, ...]
    gaps: tuple[tuple[int, int], ...] = ()
    """Stretches without readings longer than the largest gap. [ms]"""
    doubts: tuple[Doubt, ...] = ()
    """Stretches of readings that may not be the food's."""
    asks: tuple[str, ...] = ()
    """Questions for a person, in words, that would settle a doubt."""
    changes_ms: int | None = None
    """The next instant at which time alone, without another reading, can change an answer. [ms]"""
    limits_text: str = ""
    """Which text of the limits it was: the SHA-256 of the file. [hex]"""
    occasion: str = ""
    """Which of several times in a batch's life it is about: empty for the first cooling and its holding."""
