"""What the screens and papers show, as plain frozen records.

Nothing here judges. Verdicts are the ones that the watch has stored, so that a screen, a printed log and a finding
can never disagree; how late the watch is stands beside them.
"""

from dataclasses import dataclass, field

from holdwatch.charts.curves import CurveView, FanView, Hole, LevelView, TraceView
from holdwatch.charts.marks import Mark
from holdwatch.language import _
from holdwatch.people.handling import Disposition, Handling
from holdwatch.quantities import Scale
from holdwatch.rules.verdicts import ClauseVerdict, Spell, Verdict
from holdwatch.views.discard import Discard

__all__ = [
    "AlertView",
    "Allergens",
    "AsideView",
    "BatchView",
    "ClauseRow",
    "CurveView",
    "DayView",
    "EntryView",
    "EventView",
    "FanView",
    "FindingView",
    "Hole",
    "LevelView",
    "Mark",
    "PlacementView",
    "ProbeRow",
    "RoleView",
    "SiteView",
    "SpellView",
    "SystemView",
    "TraceView",
    "UnheardView",
    "UnitView",
    "VersionView",
]


@dataclass(frozen=True)
class SiteView:
    """The site as it is, or was at an instant."""

    name: str
    zone: str
    """IANA name, such as America/Denver."""
    limits: str
    """Identity of the limits in force, such as us-food-code-2022."""
    limits_title: str
    limits_edition: str
    caution: str
    scale: Scale
    """In which temperatures are shown."""
    limits_notice: str = ""
    """What every screen says of the limits: confirmed or not, laxer, not seen, not answered."""
    altitude: str = ""
    """Of the kitchen as it was written, such as 5280ft; empty where nobody said."""


@dataclass(frozen=True)
class EventView:
    """Something done, declared or noted."""

    id: int
    at_ms: int
    recorded_ms: int
    kind: str
    words: str
    """One line for a person, such as "left the heat"."""
    vessel: int | None
    celsius: float | None
    text: str
    by: str


@dataclass(frozen=True)
class PlacementView:
    """Which probe was where, from when to when."""

    probe: str
    medium: str
    vessel: int
    slowest: bool
    from_ms: int
    to_ms: int | None
    by: str
    probe_id: int = 0


@dataclass(frozen=True)
class AlertView:
    """One message to one contact."""

    contact: str
    reason: str
    title: str
    body: str
    state: str
    attempts: int
    queued_ms: int
    sent_ms: int | None
    last_error: str
    finding_id: int = 0


@dataclass(frozen=True)
class UnheardView:
    """A message that no channel took and nobody has seen."""

    alert: AlertView
    since_ms: int
    """Since when it is due. [ms]"""
    loud: bool
    """Whether it should sound on the kitchen's own tablet."""


@dataclass(frozen=True)
class VersionView:
    """One version that a finding has had."""

    version: int
    at_ms: int
    kind: str
    verdict: str
    reason: str
    closed_ms: int | None


@dataclass(frozen=True)
class EntryView:
    """What somebody recorded about a finding."""

    id: int
    at_ms: int
    words: str
    """What it was, such as "corrective action: discard"."""
    text: str
    by: str
    signed: str
    """The initials under it; empty where nobody has signed it."""
    decides: bool
    """Whether it says what was done, so that it wants a signature."""
    corrected: bool
    """Whether a later entry stands in its place."""

    @property
    def wants_signature(self) -> bool:
        """Whether it should be signed and is not."""
        return self.decides and not self.signed


@dataclass(frozen=True)
class FindingView:
    """A deviation, something not shown, a warning or a fault of the system."""

    id: int
    kind: str
    mark: Mark
    subject: str
    title: str
    clause: str
    source: str
    requires: str
    verdict: Verdict | None
    reason: str
    since_ms: int
    opened_ms: int
    closed_ms: int | None
    close_reason: str
    version: int
    batch_id: int | None
    lot: str
    unit_id: int | None
    unit: str
    probe_id: int | None
    vessel: int | None
    due_ms: int | None
    todo: str
    """What to do about it, as the alert says."""
    versions: tuple[VersionView, ...]
    alerts: tuple[AlertView, ...]
    handling: Handling = field(default_factory=Handling)
    """Where it stands among people."""
    entries: tuple[EntryView, ...] = ()
    """What people recorded about it, corrected entries too."""
    wants_somebody: bool = False
    """Whether somebody still has to do something about it."""
    offers: tuple[Disposition, ...] = tuple(Disposition)
    """What may become of the food, first what still helps."""
    no_way_back: str = ""
    """That nothing brings the food back, where a time has run out."""


@dataclass(frozen=True)
class Allergens:
    """What a batch contains, with all that came into it."""

    contains: str
    """In the words of the law of the place; empty where none was declared."""
    not_declared: tuple[str, ...]
    """The batches in it of which nobody declared what they contain."""

    @property
    def words(self) -> str:
        """Say it; what is unknown is never *none*."""
        if not self.not_declared:
            return (
                _("contains {allergens}").format(allergens=self.contains)
                if self.contains
                else _("none of the listed allergens declared")
            )
        whose = _("not declared of {batches}").format(batches=", ".join(self.not_declared))
        return (
            _("contains {allergens}; {whose}").format(allergens=self.contains, whose=whose) if self.contains else whose
        )


@dataclass(frozen=True, eq=False)
class BatchView:
    """A batch: its vessels, what is due next, and what has been recorded of it."""

    id: int
    lot: str
    product: str
    vessels: int
    amount: str
    """As the kitchen measures it, such as "9 kg"; empty where nobody said."""
    step: str
    holding: str
    started_ms: int
    ended_ms: int | None
    outcome: str
    by: str
    verdict: Verdict
    mark: Mark
    due_ms: int | None
    """When the next limit falls due; ``None`` where none is running. [ms]"""
    due_what: str
    """What is due then, such as "70 °F"."""
    due_clause: str
    due_vessel: int | None
    forecast: str
    """The forecast of what is due next in words, such as "at 70 °F about 14:05, limit 14:32"."""
    sentence: str
    """What a cook is told of it, in a sentence or three."""
    told: str
    """The same without the name and the word, where these stand beside it."""
    measured: str
    """Which vessels speak, such as "1 of 6 measured, the slowest"."""
    curves: tuple[CurveView, ...]
    """One a vessel that has readings or a probe."""
    events: tuple[EventView, ...]
    placements: tuple[PlacementView, ...]
    findings: tuple[FindingView, ...]
    """The open ones."""
    asks: tuple[str, ...]
    """Questions that would settle a doubt, such as "Is the probe still in the food?"."""
    doubts: tuple[tuple[int, str], ...]
    """The same with the vessel that each is about: an answer never settles the doubt of another vessel."""
    discard: tuple[Discard, ...]
    """When all of it is to be gone, the earliest, which governs, first."""
    allergens: Allergens
    found_in_parts: tuple[FindingView, ...]
    """What was found of the batches that are in it, and that nobody has dealt with."""
    judged_ms: int | None
    """When the watch last judged it. [ms]"""
    detained: str = ""
    """That an officer has detained it, by whom and since when; empty where nobody has."""

    @property
    def running(self) -> bool:
        """Whether the batch has not been ended."""
        return self.ended_ms is None

    @property
    def wrong(self) -> FindingView | None:
        """What is wrong with it, as long as nobody has decided: a limit not kept, or not shown to be kept."""
        found = (f for f in self.findings if f.mark in {Mark.DEVIATION, Mark.NOT_SHOWN} and f.wants_somebody)
        return min(found, key=lambda each: (each.mark is not Mark.DEVIATION, each.since_ms), default=None)

    @property
    def title(self) -> str:
        """The batch in words, such as "Pastry cream L-0412"."""
        return f"{self.product} {self.lot}"


@dataclass(frozen=True, eq=False)
class ProbeRow:
    """One probe in a unit over the span looked at."""

    code: str
    medium: str
    probe_id: int
    last_ms: int | None
    last_c: float | None
    age_ms: int | None
    trace: TraceView
    level: LevelView | None
    """The limit ruled through its trace; for air it only warns."""
    mark: Mark
    """Of the latest day in the span; air under a food limit is "no limit asked"."""
    from_ms: int
    to_ms: int | None


@dataclass(frozen=True)
class DayView:
    """What one probe shows of one clause on one local day."""

    day: str
    """Local day, ISO 8601."""
    probe: str
    verdict: Verdict
    mark: Mark
    clause: str
    source: str
    requires: str
    words: str


@dataclass(frozen=True)
class SpellView:
    """A time spent beyond a unit's level."""

    probe: str
    clause: str
    spell: Spell
    words: str


@dataclass(frozen=True, eq=False)
class UnitView:
    """A unit over a span of time."""

    id: int
    name: str
    kind: str
    mark: Mark
    probes: tuple[ProbeRow, ...]
    days: tuple[DayView, ...]
    spells: tuple[SpellView, ...]
    findings: tuple[FindingView, ...]
    first_ms: int
    last_ms: int
    words: str
    """One line for the Bench, such as "39.4 °F, 1 min ago"."""
    out_of_use: str = ""
    """Why it is out of use now, since when and by whom; empty while it is in use."""
    warning: str = ""
    """That food is recorded as standing in it while it is out of use."""
    files: tuple[str, ...] = ()
    """What of the span was read from a logger's file."""
    rests: tuple[str, ...] = ()
    """Every stretch out of use that touches the span."""


@dataclass(frozen=True)
class RoleView:
    """How a long-running part is doing."""

    role: str
    state: str
    """starting, ready, trouble, stopped, or "not heard" where it has not reported for long."""
    detail: str
    at_ms: int
    age_ms: int
    words: str


@dataclass(frozen=True)
class AsideView:
    """A message that could not be kept as a reading."""

    received_ms: int
    topic: str
    payload: str
    reason: str
    detail: str


@dataclass(frozen=True)
class HeardView:
    """Something that speaks and that nobody has added, with how its newest message seems to be written."""

    topic: str
    code: str
    """Proposed name; empty where the topic gives none that is free."""
    how: str
    """How it seems to write, in words."""
    last_ms: int
    live: bool
    """Whether it came live, or had waited at the broker."""
    messages: int
    celsius: float | None
    """Read as °C where `unit` is empty."""
    battery: str
    signal: str
    problem: str
    said: str
    payload: str
    pointer: str
    time_pointer: str
    unit_pointer: str
    senml_name: str
    unit: str


@dataclass(frozen=True)
class ProbeSeen:
    """A probe of the register: what it measures, where it is, and what it read last."""

    code: str
    medium: str
    payload: str
    topic: str
    placed: str
    """The unit, or batch and vessel; empty where it is placed nowhere."""
    last_ms: int | None
    last_c: float | None
    """As the probe said it, without its correction."""
    received_ms: int | None


@dataclass(frozen=True)
class SystemView:
    """How the program itself is doing."""

    roles: tuple[RoleView, ...]
    heard: str
    """When each part was last heard, in one line."""
    broker: str
    """How the connection to the broker is, in words."""
    broker_trouble: bool
    built_in_broker: bool
    """Whether the small built-in broker is used: it keeps nothing across a restart."""
    waiting: int
    """Arrivals that the watch has not looked at yet."""
    undelivered: tuple[AlertView, ...]
    unheard: tuple[UnheardView, ...]
    """Of those, what nobody has seen on a screen either, the oldest first."""
    set_aside: tuple[tuple[str, int], ...]
    """How many messages were set aside, by reason, most first."""
    recent_set_aside: tuple[AsideView, ...]
    not_added: tuple[str, ...]
    """Topics of no probe on which something spoke in the last hour."""
    findings: tuple[FindingView, ...]
    """Open findings about the system itself and about probes, the newest first."""
    trouble: tuple[str, ...]
    """What a person should know or do, one sentence each; empty when all is well."""


@dataclass(frozen=True)
class ClauseRow:
    """A clause of a batch, for a table."""

    vessel: int
    clause: ClauseVerdict
    mark: Mark
    words: str
