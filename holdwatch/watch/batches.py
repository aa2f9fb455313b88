"""A vessel of a batch: its whole record judged from its start, and what the verdicts call for.

A vessel's record is a few thousand readings and costs about a millisecond to judge. So nothing is folded: every look
starts from the batch's start, and neither the order of arrival, a correction nor a restart can leave a trace.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.readings import Record
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.facts import next_instant, to_facts
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Spell, Step, Verdict
from holdwatch.storage.events import events
from holdwatch.storage.findings import findings
from holdwatch.storage.records import record_of_vessel
from holdwatch.storage.states import watch_state
from holdwatch.storage.tables import Batch, EventKind, Finding, FindingKind
from holdwatch.watch.answer import Answer, ClauseAnswer, earliest
from holdwatch.watch.findings import Gone, Match, Wanted
from holdwatch.watch.outlook import Outlook, look_ahead
from holdwatch.watch.signals import silent_since
from holdwatch.watch.site import InForce, in_force
from holdwatch.watch.spells import Group, group_spells
from holdwatch.watch.subjects import batch_subject, vessel_title, vessels_of

__all__ = ["VesselCase", "judge_batch_vessel", "wanted_of_vessel"]

AHEAD_MS = 3 * MS_PER_MINUTE
"""Readings may carry instants this far ahead of the clock; they are judged when the clock gets there."""
DECIDE = "Decide with the plan: discard it, or what your local authority allows; record it."


@dataclass(frozen=True)
class VesselCase:
    """All that decides which findings a vessel calls for."""

    batch: Batch
    vessel: int
    here: InForce
    judgements: Sequence[Judgement]
    outlook: Mapping[str, Outlook]
    """By clause: how the forecast of an open cooling clause compares with its due instant."""
    silent_since_ms: int | None
    last: tuple[int, float] | None
    """The last reading: instant in ms, °C."""
    standing_soon: frozenset[str]
    """Families of which a warning stands."""
    now_ms: int

    @property
    def subject(self) -> str:
        """The name of the vessel in the store."""
        return batch_subject(self.batch.id or 0, self.vessel)

    @property
    def over_ms(self) -> int | None:
        """When the batch ended, if it has."""
        ended = self.batch.ended_ms
        return ended if ended is not None and ended <= self.now_ms else None

    def is_told(self, clause: ClauseVerdict) -> bool:
        """Whether an earlier stage is warned of or missed: one slow cooling is one warning."""
        stages = [c for j in self.judgements if j.process is Process.COOLING for c in j.clauses]
        for stage in stages[: stages.index(clause)]:
            if stage.verdict is Verdict.MISSED:
                return True
            if stage.verdict is Verdict.OPEN and self.outlook.get(stage.clause, Outlook()).misses:
                return True
        return False

    def family(self, judgement: Judgement, clause: ClauseVerdict) -> str:
        """Name the identity of a clause's finding: batch, vessel, step, clause."""
        step = Step.COOL if judgement.process is Process.COOLING else Step.HOLD
        return f"{self.subject}/{step.value}/{clause.clause}"


def judge_batch_vessel(
    session: Session, batch: Batch, vessel: int, now_ms: int, *, largest_gap_ms: int | None = None
) -> Answer:
    """Judge a vessel as its record stands at `now_ms`."""
    subject = batch_subject(batch.id or 0, vessel)
    if vessel not in vessels_of(session, batch):
        gone = Gone("nothing is known of this vessel any more: its probe was placed by mistake")
        return Answer(subject, gone=lambda _: gone, no_forecast=True, days=("",), batch_id=batch.id, vessel=vessel)
    here = in_force(session, batch.started_ms)
    record = record_of_vessel(session, batch, vessel, now_ms + AHEAD_MS)
    judgements = judge_vessel(
        record,
        here.limits,
        step=_step(session, batch),
        holding=_holding(batch),
        until_ms=now_ms,
        ended_ms=batch.ended_ms if batch.ended_ms is not None and batch.ended_ms <= now_ms else None,
        started_ms=batch.started_ms,
        largest_gap_ms=largest_gap_ms,
        words=here.words,
    )
    state = watch_state(session, subject)
    warned = [f for f in findings(session, subject=subject, open_only=True) if f.kind == FindingKind.SOON]
    ahead = look_ahead(
        session,
        batch,
        vessel,
        record,
        judgements,
        facts=state.facts if state is not None else {},
        warned={finding.clause for finding in warned},
        now_ms=now_ms,
    )
    case = VesselCase(
        batch=batch,
        vessel=vessel,
        here=here,
        judgements=judgements,
        outlook=ahead.outlook,
        silent_since_ms=silent_since(
            session, batch_id=batch.id, vessel=vessel, now_ms=now_ms, largest_gap_ms=largest_gap_ms
        ),
        last=_last(record, now_ms),
        standing_soon=frozenset(str(finding.facts.get("family")) for finding in warned),
        now_ms=now_ms,
    )
    ended_later = batch.ended_ms if batch.ended_ms is not None and batch.ended_ms > now_ms else None
    waits = [next_instant(judgement, now_ms) for judgement in judgements]
    return Answer(
        subject=subject,
        clauses=[ClauseAnswer(judgement, clause) for judgement in judgements for clause in judgement.clauses],
        forecasts=ahead.made,
        no_forecast=ahead.none,
        wanted=wanted_of_vessel(case),
        gone=lambda finding: _gone(case, finding),
        days=("",),
        next_ms=earliest(*waits, ahead.next_ms, ended_later, _first_ahead(record, now_ms)),
        facts=ahead.facts,
        batch_id=batch.id,
        vessel=vessel,
    )


def wanted_of_vessel(case: VesselCase) -> list[Wanted]:
    """Return the findings that the verdicts of a vessel call for."""
    wanted: list[Wanted] = []
    never_cold = _never_cold(case.judgements)
    for judgement in case.judgements:
        for clause in judgement.clauses:
            if judgement.process is Process.COOLING:
                wanted += _cooling(case, judgement, clause)
            elif clause.verdict is Verdict.MISSED:
                wanted += _spells(case, judgement, clause, never_cold)
            elif clause.verdict is Verdict.UNPROVEN and not _silence_owns(case, judgement, clause):
                wanted.append(_not_shown(case, judgement, clause, f"{case.family(judgement, clause)}/shown"))
    return wanted


# ---------------------------------------------------------------- what each verdict calls for


def _cooling(case: VesselCase, judgement: Judgement, clause: ClauseVerdict) -> list[Wanted]:
    family = case.family(judgement, clause)
    if clause.verdict is Verdict.MISSED:
        return [_wanted(case, judgement, clause, family, FindingKind.DEVIATION, f"{clause.reason} {DECIDE}")]
    if clause.verdict is Verdict.UNPROVEN and not _silence_owns(case, judgement, clause):
        return [_not_shown(case, judgement, clause, family)]
    if clause.verdict is Verdict.OPEN and case.over_ms is None:
        if case.is_told(clause):
            return []
        outlook = case.outlook.get(clause.clause, Outlook())
        if outlook.misses or (outlook.misses is None and family in case.standing_soon):
            reason = outlook.reason or "as it cooled when it was last read, it will not be there in time."
            return [_wanted(case, judgement, clause, family, FindingKind.SOON, reason)]
    return []


def _not_shown(case: VesselCase, judgement: Judgement, clause: ClauseVerdict, family: str) -> Wanted:
    asks = f" {judgement.asks[0]}" if clause.doubtful and judgement.asks else ""
    return _wanted(case, judgement, clause, family, FindingKind.NOT_SHOWN, f"{clause.reason}{asks}")


def _wanted(
    case: VesselCase, judgement: Judgement, clause: ClauseVerdict, family: str, kind: FindingKind, reason: str
) -> Wanted:
    return Wanted(
        family=family,
        match=Match.ONE,
        kind=kind,
        subject=case.subject,
        title=vessel_title(case.batch, case.vessel),
        reason=reason,
        since_ms=_since(case, clause, kind),
        clause=clause.clause,
        source=clause.source,
        verdict=clause.verdict.value,
        over_ms=case.over_ms,
        over_reason=_ended(case),
        batch_id=case.batch.id,
        facts=_facts(case, judgement, clause),
    )


def _spells(case: VesselCase, judgement: Judgement, clause: ClauseVerdict, never_cold: bool) -> list[Wanted]:
    """Return a deviation a spell; the food that never got cold is told by the cooling clause that it missed."""
    spells: Sequence[Spell] = clause.spells
    if never_cold and spells and spells[0].begins[0] is None:
        spells = spells[1:]
    level_c = clause.level_c if clause.level_c is not None else 0.0
    return [
        _spell(case, judgement, clause, group, level_c) for group in group_spells(spells, judgement.last_ms, level_c)
    ]


def _spell(case: VesselCase, judgement: Judgement, clause: ClauseVerdict, group: Group, level_c: float) -> Wanted:
    over_ms = group.back_ms if group.over else case.over_ms
    level = case.here.level(level_c)
    side = "above" if group.extreme_c > level_c else "below"
    reason = (
        f"{side} {level} from {case.here.when(group.first_ms)}, farthest {case.here.degrees(group.extreme_c)}. {DECIDE}"
    )
    back = f"within {level} again at {case.here.when(group.back_ms)}" if group.back_ms is not None else ""
    return Wanted(
        family=case.family(judgement, clause),
        match=Match.SPELL,
        kind=FindingKind.DEVIATION,
        subject=case.subject,
        title=vessel_title(case.batch, case.vessel),
        reason=reason,
        since_ms=group.first_ms,
        clause=clause.clause,
        source=clause.source,
        verdict=Verdict.MISSED.value,
        first_ms=group.first_ms,
        last_ms=group.last_ms,
        over_ms=over_ms,
        over_reason=back if group.over else _ended(case),
        batch_id=case.batch.id,
        facts=_facts(case, judgement, clause),
    )


# ---------------------------------------------------------------- the details


def _step(session: Session, batch: Batch) -> Step:
    """Return the step that decides what is asked: a batch that was cooled once is held to its cooling for ever."""
    told = events(session, batch_id=batch.id, kinds=[EventKind.BATCH_STARTED, EventKind.STEP])
    steps = [str(event.facts.get("step") or event.text) for event in told]
    cooling = next((step for step in steps if step in {Step.COOK, Step.COOL}), None)
    return Step(cooling or batch.step)


def _holding(batch: Batch) -> Literal["cold", "hot"]:
    return "hot" if batch.holding == "hot" else "cold"


def _last(record: Record, now_ms: int) -> tuple[int, float] | None:
    """Return the last reading that the clock has reached, hand or probe."""
    found = []
    for series in (record.probe, record.hand):
        seen = int(np.searchsorted(series.at_ms, now_ms, side="right"))
        if seen:
            found.append((int(series.at_ms[seen - 1]), float(series.celsius[seen - 1])))
    return max(found, default=None)


def _first_ahead(record: Record, now_ms: int) -> int | None:
    """Return the first reading that the clock has not reached."""
    ahead = [
        int(s.at_ms[n])
        for s in (record.probe, record.hand)
        if (n := int(np.searchsorted(s.at_ms, now_ms, "right"))) < len(s)
    ]
    return min(ahead, default=None)


def _since(case: VesselCase, clause: ClauseVerdict, kind: FindingKind) -> int:
    """Return since when the food is concerned: its time was up, or, before that, it began to cool."""
    due = clause.due or (None, None)
    started = clause.started or (None, None)
    order = (started[1], started[0]) if kind is FindingKind.SOON else (due[1], due[0], started[1], started[0])
    return next((at for at in order if at is not None), case.batch.started_ms)


def _facts(case: VesselCase, judgement: Judgement, clause: ClauseVerdict) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "process": judgement.process.value,
        "requires": clause.requires,
        "level_c": clause.level_c,
        "limits": judgement.limits,
        "clause": to_facts(clause),
    }
    due = earliest(*(clause.due or (None,)))
    if due is not None:
        facts["due_ms"] = due
    if case.last is not None:
        facts["seen_ms"], facts["seen_c"] = case.last
    return facts


def _ended(case: VesselCase) -> str:
    outcome = f": {case.batch.outcome}" if case.batch.outcome else ""
    return f"the batch ended{outcome}"


def _silence_owns(case: VesselCase, judgement: Judgement, clause: ClauseVerdict) -> bool:
    """Tell whether the silence of the probe alone is why the clause is not shown: one cause, one finding."""
    since = case.silent_since_ms
    if since is None or clause.doubtful:
        return False
    if judgement.process is Process.COOLING:
        due = clause.due[1] if clause.due is not None else None
        return due is None or since <= due
    begins = (
        clause.started[0] if clause.started is not None and clause.started[0] is not None else case.batch.started_ms
    )
    return not any(last > begins for _, last in judgement.gaps)


def _never_cold(judgements: Sequence[Judgement]) -> bool:
    """Tell whether the last stage of cooling was missed and not reached: the food is still on its way."""
    stages = [
        clause for judgement in judgements if judgement.process is Process.COOLING for clause in judgement.clauses
    ]
    return bool(stages) and stages[-1].verdict is Verdict.MISSED


def _gone(case: VesselCase, finding: Finding) -> Gone:
    """Say why a finding of a vessel is no longer called for."""
    family = str(finding.facts.get("family", "")).removesuffix("/shown")
    now = {case.family(j, c): c for j in case.judgements for c in j.clauses}.get(family)
    if now is None:
        return Gone("the batch is judged by other limits now", Verdict.NONE.value)
    if finding.kind == FindingKind.SOON:
        words = {
            Verdict.MET: "it was reached in time",
            Verdict.OPEN: "it is expected in time now",
            Verdict.NONE: "no limit is asked any more",
            Verdict.UNPROVEN: "the probe fell silent, which is told by itself",
        }
        return Gone(words.get(now.verdict, now.reason), now.verdict.value)
    if now.verdict is Verdict.UNPROVEN:
        return Gone("the probe fell silent, which is told by itself", now.verdict.value)
    words = {
        Verdict.MET: "the limit was kept",
        Verdict.OPEN: "the limit can still be kept",
        Verdict.NONE: "no limit is asked",
        Verdict.MISSED: "it is another spell, told by itself",
    }
    return Gone(f"a later reading shows that {words[now.verdict]}. {now.reason}", now.verdict.value)
