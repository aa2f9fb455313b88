"""The local days of a probe's post in a unit, judged one by one, or together where a spell runs through midnight."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.quantities import span_c
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series
from holdwatch.rules.facts import from_facts
from holdwatch.rules.holding import LARGEST_GAP_PROBE_MS
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Judgement, Process, SetAside, Spell, Step, Verdict, worst
from holdwatch.storage.findings import findings
from holdwatch.storage.out_of_use import rests
from holdwatch.storage.placing import placements
from holdwatch.storage.readings import recent_instants
from holdwatch.storage.records import record_of_unit
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Probe, Reading, ReadingFlag, Unit, UnitKind
from holdwatch.storage.unit_eggs import shell_eggs_kept
from holdwatch.watch.days import SETTLED_AFTER_MS, day_after, day_of, day_span
from holdwatch.watch.resting import record_in_use, with_rests
from holdwatch.watch.site import InForce, in_force
from holdwatch.watch.spells import group_spells
from holdwatch.watch.subjects import unit_subject

__all__ = [
    "PROCESS_OF_KIND",
    "SETTLED_AFTER_MS",
    "Day",
    "Post",
    "day_at",
    "day_named",
    "judge_span",
    "post_of",
    "window",
]

PROCESS_OF_KIND: dict[UnitKind, Process] = {
    UnitKind.WALK_IN: Process.COLD_HOLDING,
    UnitKind.REACH_IN: Process.COLD_HOLDING,
    UnitKind.DISPLAY_CASE: Process.COLD_HOLDING,
    UnitKind.VAN: Process.COLD_HOLDING,
    UnitKind.INSULATED_BOX: Process.COLD_HOLDING,
    UnitKind.HOT_CABINET: Process.HOT_HOLDING,
    UnitKind.FREEZER: Process.FROZEN_STORAGE,
}
"""What is asked of the food in a unit; of a freezer a code may give no figure, which its days then say. A blast chiller,
an ice bath and a room are no stores: what is in them is judged through its batch."""


JUMP_C = span_c(20)
BEGINNING_MS = 2 * MS_PER_MINUTE
"""Ours, as the sieve has them: a spike is further away, and back within so long."""


@dataclass(frozen=True)
class Day:
    """A local day of the site, with what was in force then."""

    name: str
    first_ms: int
    last_ms: int
    here: InForce


@dataclass(frozen=True)
class Post:
    """A probe in a unit: its placements there, at an instant."""

    unit: Unit
    probe: Probe
    process: Process
    spans: tuple[tuple[int, int | None], ...]
    now_ms: int
    largest_gap_ms: int | None

    @property
    def subject(self) -> str:
        """The name of the post in the store."""
        return unit_subject(self.unit.id or 0, self.probe.id or 0)

    @property
    def title(self) -> str:
        """The post to a person."""
        return _("{unit}, probe {probe}").format(unit=self.unit.name, probe=self.probe.code)

    @property
    def stands(self) -> bool:
        """Whether the probe is there now."""
        return any(first <= self.now_ms and (last is None or last > self.now_ms) for first, last in self.spans)

    def period(self, first_ms: int, last_ms: int) -> tuple[int, int] | None:
        """Return the part of a span, as far as the clock has come, in which the probe was there."""
        last_ms = min(last_ms, self.now_ms)
        parts = [
            (max(first, first_ms), last_ms if last is None else min(last, last_ms))
            for first, last in self.spans
            if first <= last_ms and (last is None or last >= first_ms)
        ]
        return (min(p[0] for p in parts), max(p[1] for p in parts)) if parts else None


def post_of(session: Session, unit: Unit, probe: Probe, now_ms: int, largest_gap_ms: int | None) -> Post | None:
    """Return a probe's post in a unit; ``None`` where nothing is asked of the food in such a unit."""
    process = PROCESS_OF_KIND.get(UnitKind(unit.kind))
    if process is None:
        return None
    rows = placements(session, unit_id=unit.id, probe_id=probe.id)
    spans = [(row.from_ms, row.to_ms) for row in rows if row.batch_id is None and row.to_ms != row.from_ms]
    return Post(unit, probe, process, tuple(spans), now_ms, largest_gap_ms)


def day_at(session: Session, at_ms: int) -> Day:
    """Return the local day that an instant is of."""
    day = day_named(session, day_of(at_ms, in_force(session, at_ms).timezone))
    while at_ms < day.first_ms:
        day = day_named(session, day_after(day.name, -1))
    while at_ms > day.last_ms:
        day = day_named(session, day_after(day.name))
    return day


def day_named(session: Session, name: str) -> Day:
    """Return a local day; the zone is the one in force in its middle, the limits those in force when it began.

    It begins where the day before it ends, so that every hour is of one day also where the zone is set anew.
    """
    first_ms = _last_ms(session, day_after(name, -1)) + 1
    here = _in_the_middle(session, name)
    return Day(
        name,
        first_ms,
        day_span(name, here.timezone)[1],
        replace(here, limits=in_force(session, first_ms).limits),
    )


def _last_ms(session: Session, name: str) -> int:
    return day_span(name, _in_the_middle(session, name).timezone)[1]


def _in_the_middle(session: Session, name: str) -> InForce:
    return in_force(session, day_span(name, "UTC")[0] + MS_PER_DAY // 2)


def judge_span(session: Session, post: Post, first: Day, last: Day, sight_ms: int) -> Judgement | None:
    """Judge a post over whole local days, as far as the clock and the placements go.

    A span that is over is judged as of a quarter of an hour after its end: later looks change nothing. The sieve sees
    the record from `sight_ms` on, and that quarter of an hour.
    """
    period = post.period(first.first_ms, last.last_ms)
    if period is None:
        return None
    from_ms, until_ms = period
    seen_ms = min(post.now_ms, until_ms + SETTLED_AFTER_MS)
    sight_ms = min(sight_ms, from_ms)
    out_of_use = rests(session, post.unit.id, sight_ms, seen_ms)
    whole = record_of_unit(session, post.unit, post.probe, sight_ms, seen_ms)
    record = record_in_use(whole, out_of_use)
    record = _begun_steadily(record, from_ms)
    judgements = [_judged(post, record, post.process, (from_ms, until_ms), seen_ms, first, last)]
    eggs = shell_eggs_kept(session, post.unit, from_ms, until_ms) if post.probe.medium == Medium.AIR else None
    if eggs is not None:  # they have a limit for the air around them
        judgements.append(_judged(post, record, Process.SHELL_EGGS, eggs, seen_ms, first, last))
    judged = with_rests(_together(judgements), out_of_use, period, last.here, whole)
    return _since(_with_the_rest(session, post, judged, period, first, last), record, from_ms)


def _with_the_rest(
    session: Session, post: Post, judgement: Judgement, period: tuple[int, int], first: Day, last: Day
) -> Judgement:
    """Call no day kept that is over, and in which no probe of the medium was there for longer than the largest gap.

    Before the first of them was ever placed in the unit nothing was asked of it.
    """
    if last.last_ms >= post.now_ms or all(clause.verdict is not Verdict.MET for clause in judgement.clauses):
        return judgement
    spans = [
        (row.from_ms, last.last_ms if row.to_ms is None else row.to_ms)
        for row in placements(session, unit_id=post.unit.id)
        if row.batch_id is None
        and row.to_ms != row.from_ms
        and session.get_one(Probe, row.probe_id).medium == post.probe.medium
    ]
    begins_ms = max(first.first_ms, min(span[0] for span in spans))
    longest_ms = max(_longest_without(spans, begins_ms, period[0]), _longest_without(spans, period[1], last.last_ms))
    if longest_ms <= (post.largest_gap_ms or LARGEST_GAP_PROBE_MS):
        return judgement
    when = last.here.when
    said = _("A probe stood there only from {first} to {last}: nothing shows the rest of the day.").format(
        first=when(period[0]), last=when(period[1])
    )
    clauses = tuple(
        replace(clause, verdict=Verdict.UNPROVEN, reason=f"{clause.reason} {said}")
        if clause.verdict is Verdict.MET
        else clause
        for clause in judgement.clauses
    )
    return replace(judgement, clauses=clauses, verdict=worst(clause.verdict for clause in clauses))


def _longest_without(spans: Sequence[tuple[int, int]], first_ms: int, last_ms: int) -> int:
    """Return the longest part of a stretch that no span covers. [ms]."""
    at_ms = first_ms
    longest_ms = 0
    for begins_ms, ends_ms in sorted(spans):
        longest_ms = max(longest_ms, min(begins_ms, last_ms) - at_ms)
        at_ms = max(at_ms, ends_ms)
    return max(longest_ms, last_ms - at_ms)


def _judged(
    post: Post, record: Record, process: Process, period: tuple[int, int], seen_ms: int, first: Day, last: Day
) -> Judgement:
    """Judge a process over a period of whole days, or of a part of them."""
    from_ms, until_ms = period
    declared = [d for d in record.declared if d.kind is not DeclarationKind.FROM]
    declared.append(Declaration(from_ms, DeclarationKind.FROM))
    if until_ms < post.now_ms:
        declared.append(Declaration(until_ms, DeclarationKind.ENDED))
    return judge(
        process,
        replace(record, declared=tuple(sorted(declared))),
        first.here.limits,
        until_ms=seen_ms,
        step=Step.STORE,
        largest_gap_ms=post.largest_gap_ms,
        words=last.here.words,
    )


def _together(judgements: Sequence[Judgement]) -> Judgement:
    """Return one judgement with the clauses of several of the same record."""
    first, *others = judgements
    changes = [judgement.changes_ms for judgement in judgements if judgement.changes_ms is not None]
    clauses = tuple(clause for judgement in judgements for clause in judgement.clauses)
    verdict = worst(clause.verdict for clause in clauses)
    return replace(first, clauses=clauses, verdict=verdict, changes_ms=min(changes, default=None)) if others else first


def _begun_steadily(record: Record, from_ms: int) -> Record:
    """Leave out first readings before a span from which the record jumps: where sight begins, a spike looks like food."""
    probe = record.probe
    if not len(probe):
        return record
    first_ms = int(probe.at_ms[0])
    near = int(np.searchsorted(probe.at_ms, min(first_ms + BEGINNING_MS, from_ms - 1), side="right"))
    jumps = np.flatnonzero(np.abs(np.diff(probe.celsius[: near + 1])) > JUMP_C)
    if not len(jumps):
        return record
    start = int(jumps[-1]) + 1
    return replace(record, probe=Series(probe.at_ms[start:], probe.celsius[start:]))


def _since(judgement: Judgement, record: Record, from_ms: int) -> Judgement:
    """Leave out of a judgement what is told of the readings before a span, which only the sieve was to see."""
    aside = tuple(reading for reading in judgement.set_aside if reading.at_ms >= from_ms)
    before = sum(int(np.searchsorted(series.at_ms, from_ms)) for series in (record.probe, record.hand))
    seen = judgement.last_ms is not None and judgement.last_ms >= from_ms
    return replace(
        judgement,
        used=judgement.used - before + len(judgement.set_aside) - len(aside),
        first_ms=_first_since(judgement, record, aside, from_ms) if seen else None,
        last_ms=judgement.last_ms if seen else None,
        set_aside=aside,
        gaps=tuple(gap for gap in judgement.gaps if gap[0] >= from_ms),
    )


def _first_since(judgement: Judgement, record: Record, aside: Sequence[SetAside], from_ms: int) -> int | None:
    """Return the first reading of a span that was judged."""
    if judgement.first_ms is not None and judgement.first_ms >= from_ms:
        return judgement.first_ms
    out = {(reading.at_ms, reading.celsius) for reading in aside}
    inside = (series.between(from_ms, judgement.last_ms or from_ms) for series in (record.probe, record.hand))
    kept = [
        at
        for series in inside
        for at, celsius in zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True)
        if (at, celsius) not in out
    ]
    return min(kept, default=None)


def window(
    session: Session, post: Post, days: Sequence[Day], judged: Mapping[str, Judgement | None]
) -> tuple[Day, Day]:
    """Return the first and last day to be judged together, so that no spell is cut.

    It grows back while the day of the last reading before ends in a spell, on while its own last day does, and over
    every spell that was found before and touches it.
    """
    first, last = days[0], days[-1]
    while True:
        before, after = _neighbour(session, post, first, back=True), _neighbour(session, post, last, back=False)
        if before is not None and _runs_on(session, post, before, judged):
            first = before
        elif after is not None and _runs_on(session, post, last, judged):
            last = after
        else:
            begin, end = _known_spells(session, post, first, last)
            if begin >= first.first_ms and end <= last.last_ms:
                return first, last
            first, last = day_at(session, min(begin, first.first_ms)), day_at(session, max(end, last.last_ms))


def _neighbour(session: Session, post: Post, day: Day, *, back: bool) -> Day | None:
    """Return the day of the reading next to a day, within the post and the clock."""
    probe_id = post.probe.id or 0
    if back:
        earlier = recent_instants(session, probe_id, 1, day.first_ms - 1)
        found = int(earlier[0]) if len(earlier) else None
    else:
        query = select(Reading.at_ms).where(
            col(Reading.probe_id) == probe_id,
            col(Reading.at_ms) > day.last_ms,
            col(Reading.flags).bitwise_and(int(ReadingFlag.NOT_JUDGED)) == 0,
        )
        found = session.exec(query.order_by(col(Reading.at_ms)).limit(1)).first()
    if found is None or post.period(found, found) is None:
        return None
    return day_at(session, found)


def _runs_on(session: Session, post: Post, day: Day, judged: Mapping[str, Judgement | None]) -> bool:
    """Tell whether a day ends in a spell that is not over by then."""
    spells: list[Spell] = []
    last_ms: int | None = None
    if day.name in judged:
        judgement = judged[day.name]
        if judgement is not None:
            spells = [spell for clause in judgement.clauses for spell in clause.spells]
            last_ms = judgement.last_ms
    else:
        for row in clause_states(session, subject=post.subject, first_day=day.name, last_day=day.name):
            spells += from_facts(row.facts).spells
            last_ms = row.facts.get("last_ms")
    return any(not group.over for group in group_spells(spells, last_ms, 0.0))


def _known_spells(session: Session, post: Post, first: Day, last: Day) -> tuple[int, int]:
    """Return how far the findings of spells that touch a window reach."""
    begin, end = first.first_ms, last.last_ms
    for finding in findings(session, subject=post.subject, since_ms=begin, until_ms=end):
        facts = finding.facts
        touches = facts.get("first_ms", end + 1) <= last.last_ms and facts.get("last_ms", begin - 1) >= first.first_ms
        if facts.get("match") == "spell" and facts.get("stands", True) and touches:
            begin, end = min(begin, facts["first_ms"]), max(end, facts["last_ms"])
    return begin, end
