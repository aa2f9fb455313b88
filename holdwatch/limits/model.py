"""What a limits file says, once read: every figure with its clause, its source and how sure the reading is."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import TypeVar

from holdwatch.language import N_, _, written_day
from holdwatch.quantities import Duration, Level
from holdwatch.readings import Medium

__all__ = [
    "AmbientCoolingLimits",
    "Cited",
    "Confidence",
    "CookingLimits",
    "CookingRow",
    "CoolingLimits",
    "CoolingStage",
    "Counts",
    "CumulativeLimits",
    "DateMarkLimits",
    "EggLimits",
    "EggWay",
    "HoldingLimits",
    "Laxer",
    "Limits",
    "NoFigure",
    "ReheatingLimits",
    "SpellTolerance",
    "Standing",
    "TimeControlLimits",
]


class Confidence(StrEnum):
    """How a figure was read."""

    SEEN = "seen"
    """In the text of the code, or of a jurisdiction that adopted it."""
    SECONDARY = N_("secondary")
    """In somebody else's summary."""
    MEMORY = N_("memory")
    """Not seen."""


class Standing(StrEnum):
    """What kind of document a limits file holds."""

    LAW = N_("law")
    MODEL_CODE = N_("model-code")
    """In force where a jurisdiction adopted it."""
    GUIDANCE = N_("guidance")
    """Advice of an authority, not law."""
    PLAN = N_("plan")
    """A site's own."""


class Counts(StrEnum):
    """From where the time of a cooling stage counts."""

    TOTAL = "total"
    """From the start of cooling: time saved in an earlier stage may be spent."""
    FURTHER = "further"
    """From where the stage before was reached."""


@dataclass(frozen=True, kw_only=True)
class Cited:
    """A figure's clause and source, and how it was read."""

    clause: str
    source: str
    """Document and section; where the figure was not seen in its own text, this says so."""
    requires: str
    confidence: Confidence
    read_on: date
    read_at: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class CoolingStage(Cited):
    """One stage of cooling: a target to be reached within a time."""

    target: Level
    within: Duration
    within_inclusive: bool
    counts: Counts


@dataclass(frozen=True)
class CoolingLimits:
    """From which temperature the clock runs, and the stages to be kept."""

    start: Level
    stages: tuple[CoolingStage, ...]


@dataclass(frozen=True, kw_only=True)
class AmbientCoolingLimits(Cited):
    """A target to be reached within a time of preparation, or of receipt."""

    target: Level
    within: Duration
    within_inclusive: bool


@dataclass(frozen=True, kw_only=True)
class SpellTolerance(Cited):
    """One spell beyond the level that is borne of food for service or on display."""

    within: Duration
    within_inclusive: bool


@dataclass(frozen=True, kw_only=True)
class HoldingLimits(Cited):
    """A level at which food, or the air around it, is kept."""

    level: Level
    medium: Medium = Medium.FOOD
    tolerance: SpellTolerance | None = None


@dataclass(frozen=True, kw_only=True)
class TimeControlLimits(Cited):
    """Time instead of temperature: how the food must be at the start, and for how long."""

    within: Duration
    within_inclusive: bool
    starts_cold: Level
    starts_hot: Level | None = None
    never_above: Level | None = None


@dataclass(frozen=True, kw_only=True)
class CumulativeLimits(Cited):
    """Time outside the safe temperatures, added up over all spells."""

    cold: Level
    hot: Level
    back_within: Duration
    back_within_inclusive: bool
    within: Duration
    within_inclusive: bool


@dataclass(frozen=True)
class CookingRow:
    """A temperature and how long the food stays at it; no length is an instant."""

    level: Level
    dwell: Duration | None

    def __str__(self) -> str:
        if self.dwell is None:
            return f"{self.level.temperature} for an instant"
        return f"{self.level.temperature} for {self.dwell}"


@dataclass(frozen=True, kw_only=True)
class CookingLimits(Cited):
    """Rows of a table of cooking; any one of them is enough, and nothing lies between them."""

    rows: tuple[CookingRow, ...]


@dataclass(frozen=True, kw_only=True)
class ReheatingLimits(Cited):
    """A temperature to be reached, for a dwell there, within a time where the code gives one."""

    row: CookingRow
    start: Level | None = None
    within: Duration | None = None
    within_inclusive: bool = True


@dataclass(frozen=True, kw_only=True)
class DateMarkLimits(Cited):
    """How many days food may be kept, the day of preparation or opening being the first."""

    days: int
    level: Level
    marked_after: Duration
    """Food held longer than this is marked."""


class EggWay(StrEnum):
    """A way in which a code lets food with raw egg be served."""

    PASTEURISED = "pasteurised"
    COOKED = "cooked"
    """A row of the code's table of cooking was met."""
    ADVISORY = "advisory"
    """The guest was told in writing, with the reminder that the code asks for."""
    ONE_PORTION = "one-portion"
    """Combined for one portion just before it was cooked, and served at once."""
    BAKED = "baked"
    """Combined just before it was baked through."""
    HACCP_PLAN = "haccp-plan"
    """Under a plan that the authority approved."""


@dataclass(frozen=True, kw_only=True)
class EggLimits(Cited):
    """The ways in which food with raw egg may be served; any one of them is enough."""

    ways: tuple[EggWay, ...]
    ways_combined: tuple[EggWay, ...]
    """Where more than one egg is broken and combined."""


@dataclass(frozen=True)
class NoFigure:
    """What a code says where it gives no figure; the clause is then ``none``, and the words say why."""

    clause: str
    source: str
    says: str


@dataclass(frozen=True)
class Laxer:
    """Who allowed a plan to be laxer than the code that it names, and with whose approval."""

    author: str
    on: date
    reason: str
    approved_by: str
    approved_on: date


_Kind = TypeVar("_Kind", bound=Cited)


@dataclass(frozen=True)
class Limits:
    """One code of practice."""

    id: str
    title: str
    authority: str
    edition: str
    caution: str
    standing: Standing = Standing.PLAN
    base: str | None = None
    """The code that a plan is made from: what the plan does not say, the code says."""
    laxer: Laxer | None = None
    """Where a plan is laxer than its base."""
    laxer_than: str = ""
    """The title of that base."""
    laxer_in: tuple[str, ...] = ()
    """By the names of the parts in the file."""
    digest: str = ""
    """SHA-256 of the file as it was read, with its base where it has one: which version this is. [hex]"""
    places: tuple[str, ...] = ()
    """Where the authority inspects, as people there write it."""
    cooling: CoolingLimits | None = None
    cold_holding: HoldingLimits | None = None
    hot_holding: HoldingLimits | None = None
    more: Mapping[str, Cited] = field(default_factory=lambda: MappingProxyType({}))
    """By the name of the part in the file: every other figure."""
    no_figure: Mapping[str, NoFigure] = field(default_factory=lambda: MappingProxyType({}))
    """By the name of the part: where the code gives no figure."""

    @property
    def laxer_told(self) -> str:
        """That a plan is laxer, and who answers for it, for every screen and paper that uses it; else empty."""
        if self.laxer is None:
            return ""
        return _(
            "This plan is LAXER than {base} in {parts}: by {author} on {day}, because {reason}; approved by {approver} "
            "on {approved}."
        ).format(
            base=self.laxer_than,
            parts=", ".join(self.laxer_in),
            author=self.laxer.author,
            day=written_day(self.laxer.on),
            reason=self.laxer.reason.rstrip("."),
            approver=self.laxer.approved_by,
            approved=written_day(self.laxer.approved_on),
        )

    @property
    def cautions(self) -> str:
        """The caution of the file, and that it is laxer where it is."""
        return f"{self.caution} {self.laxer_told}".strip()

    def part(self, name: str, kind: type[_Kind]) -> _Kind | None:
        """Return a part of the file, or ``None`` where it has none."""
        found = self.more.get(name)
        return found if isinstance(found, kind) else None

    def holding(self, process: str) -> HoldingLimits | None:
        """Return the limit of a process of holding."""
        named = {"cold-holding": self.cold_holding, "hot-holding": self.hot_holding}
        return named[process] if process in named else self.part(process, HoldingLimits)

    def parts(self) -> dict[str, Cited | CoolingLimits]:
        """Return every part that has a figure, by its name in the file."""
        first = {"cooling": self.cooling, "cold-holding": self.cold_holding, "hot-holding": self.hot_holding}
        return {**{name: part for name, part in first.items() if part is not None}, **self.more}

    def figures(self) -> tuple[tuple[str, Cited], ...]:
        """Return every figure with the name of its part, in the order of the processes."""
        found: list[tuple[str, Cited]] = []
        if self.cooling is not None:
            found += [("cooling", stage) for stage in self.cooling.stages]
        for name, holding in (("cold-holding", self.cold_holding), ("hot-holding", self.hot_holding)):
            if holding is not None:
                found.append((name, holding))
        found += self.more.items()
        with_tolerances: list[tuple[str, Cited]] = []
        for name, figure in found:
            with_tolerances.append((name, figure))
            if isinstance(figure, HoldingLimits) and figure.tolerance is not None:
                with_tolerances.append((name, figure.tolerance))
        return tuple(with_tolerances)
