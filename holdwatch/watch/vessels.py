"""What the verdicts of a vessel call for: its findings, with the words for a person. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.language import N_, _
from holdwatch.rules.facts import to_facts
from holdwatch.rules.verdicts import COLD_IN_TIME, ClauseVerdict, Judgement, Matter, Process, Spell, Step, Verdict
from holdwatch.storage.tables import Batch, Finding, FindingKind
from holdwatch.views.discard import IN_USE
from holdwatch.watch.answer import earliest
from holdwatch.watch.findings import Gone, Match, Wanted
from holdwatch.watch.outlook import Outlook
from holdwatch.watch.site import InForce
from holdwatch.watch.spells import Group, group_spells, spell_words
from holdwatch.watch.subjects import batch_subject, vessel_title

__all__ = ["VesselCase", "gone_of_vessel", "wanted_of_vessel"]

HOLDING = frozenset({Process.COLD_HOLDING, Process.HOT_HOLDING})
AHEAD_OF_ITS_END_MS: Mapping[Process | Matter, int] = {
    Process.TIME_CONTROL_4H: 30 * MS_PER_MINUTE,
    Process.TIME_CONTROL_6H: 30 * MS_PER_MINUTE,
    Process.TIME_CONTROL_FROM_ROOM: 30 * MS_PER_MINUTE,
    Process.CUMULATIVE_TIME: 30 * MS_PER_MINUTE,
    Matter.DATE_MARKING: 12 * MS_PER_HOUR,
}
"""Ours: so long before a time is up somebody is told, that the food can still be served, sold or used."""
IN_USE_AHEAD_MS = 15 * MS_PER_MINUTE
"""Ours: a piping bag that is nearly over."""
DECIDE = N_("Decide with the plan: discard it, or what your local authority allows; record it.")


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
        stages = next(j.clauses for j in self.judgements if j.process in COLD_IN_TIME and clause in j.clauses)
        for stage in stages[: stages.index(clause)]:
            if stage.verdict is Verdict.MISSED:
                return True
            if stage.verdict is Verdict.OPEN and self.outlook.get(stage.clause, Outlook()).misses:
                return True
        return False

    def family(self, judgement: Judgement, clause: ClauseVerdict) -> str:
        """Name the identity of a clause's finding: batch, vessel, step or occasion, clause."""
        step = Step.COOL if judgement.process is Process.COOLING else Step.HOLD
        occasion = judgement.occasion.replace(" ", "-")
        if occasion and judgement.process in {Process.COOLING, Process.COLD_HOLDING}:
            occasion = f"{step.value}-{occasion}"
        return f"{self.subject}/{occasion or step.value}/{clause.clause}"

    def soon_ms(self, judgement: Judgement, clause: ClauseVerdict) -> int | None:
        """Return from when on somebody is told that a time runs out: half an hour before, of a date mark half a day."""
        ahead = AHEAD_OF_ITS_END_MS.get(judgement.process)
        if ahead is not None and judgement.occasion == IN_USE:
            ahead = IN_USE_AHEAD_MS
        due = earliest(*(clause.due or (None,)))
        running = clause.verdict in {Verdict.OPEN, Verdict.MET} and self.batch.ended_ms is None
        return due - ahead if ahead is not None and due is not None and running else None

    def waits(self) -> list[int]:
        """Return when somebody has to be told that a time runs out."""
        told = [self.soon_ms(judgement, clause) for judgement in self.judgements for clause in judgement.clauses]
        return [at for at in told if at is not None and at > self.now_ms]


def wanted_of_vessel(case: VesselCase) -> list[Wanted]:
    """Return the findings that the verdicts of a vessel call for."""
    wanted: list[Wanted] = []
    for judgement in case.judgements:
        for clause in judgement.clauses:
            if judgement.process not in HOLDING:
                wanted += _once(case, judgement, clause)
            elif clause.verdict is Verdict.MISSED:
                wanted += _spells(case, judgement, clause, _never_cold(case.judgements, judgement.occasion))
            elif clause.verdict is Verdict.UNPROVEN and not _silence_owns(case, judgement, clause):
                wanted.append(_not_shown(case, judgement, clause, f"{case.family(judgement, clause)}/shown"))
    return wanted


# ---------------------------------------------------------------- what each verdict calls for


def _once(case: VesselCase, judgement: Judgement, clause: ClauseVerdict) -> list[Wanted]:
    family = case.family(judgement, clause)
    if clause.verdict is Verdict.MISSED:
        return [_wanted(case, judgement, clause, family, FindingKind.DEVIATION, f"{clause.reason} {_(DECIDE)}")]
    if clause.verdict is Verdict.UNPROVEN and not _silence_owns(case, judgement, clause):
        return [_not_shown(case, judgement, clause, family)]
    soon_ms = case.soon_ms(judgement, clause)
    if soon_ms is not None and soon_ms <= case.now_ms:
        return [_wanted(case, judgement, clause, family, FindingKind.SOON, clause.reason)]
    if judgement.process in COLD_IN_TIME and clause.verdict is Verdict.OPEN and case.over_ms is None:
        if case.is_told(clause):
            return []
        outlook = case.outlook.get(clause.clause, Outlook())
        if outlook.misses or (outlook.misses is None and family in case.standing_soon):
            reason = outlook.reason or _("as it cooled when it was last read, it will not be there in time.")
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
    reason = f"{spell_words(group, level_c, case.here)}. {_(DECIDE)}"
    back = ""
    if group.back_ms is not None:
        back = _("within {level} again at {time}").format(level=level, time=case.here.when(group.back_ms))
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
        # of food that is to be gone by a time the level is that of its start, none to get to
        "level_c": None if judgement.process in AHEAD_OF_ITS_END_MS else clause.level_c,
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
    if not case.batch.outcome:
        return _("the batch ended")
    return _("the batch ended: {outcome}").format(outcome=_(case.batch.outcome))


_NEVER_HOT = frozenset({Process.AMBIENT_COOLING, Process.RECEIVED_COOLING})
_REACHED_IN_TIME = COLD_IN_TIME | {Process.REHEATING}


def _silence_owns(case: VesselCase, judgement: Judgement, clause: ClauseVerdict) -> bool:
    """Tell whether the silence of the probe alone is why the clause is not shown: one cause, one finding."""
    since = case.silent_since_ms
    if since is None or clause.doubtful:
        return False
    if judgement.process in _REACHED_IN_TIME:
        if clause.reached is not None and clause.reached[1] is not None:
            return False  # it was seen to get there: what is not shown lies before the silence
        due = clause.due[1] if clause.due is not None else None
        return due is None or since <= due
    if judgement.process not in HOLDING:
        return False
    begins = (
        clause.started[0] if clause.started is not None and clause.started[0] is not None else case.batch.started_ms
    )
    return not any(last > begins for _, last in judgement.gaps)


def _never_cold(judgements: Sequence[Judgement], occasion: str) -> bool:
    """Tell whether the last stage of cooling was missed and not reached: the food is still on its way."""
    stages = [
        clause
        for judgement in judgements
        if judgement.process in COLD_IN_TIME and (judgement.occasion == occasion or judgement.process in _NEVER_HOT)
        for clause in judgement.clauses
    ]
    return bool(stages) and stages[-1].verdict is Verdict.MISSED


def gone_of_vessel(case: VesselCase, finding: Finding) -> Gone:
    """Say why a finding of a vessel is no longer called for."""
    family = str(finding.facts.get("family", "")).removesuffix("/shown")
    judged = {case.family(j, c): (j, c) for j in case.judgements for c in j.clauses}
    judgement, now = judged.get(family, (None, None))
    if judgement is None or now is None:
        return Gone(_("the batch is judged by other limits now"), Verdict.NONE.value)
    if judgement.process in AHEAD_OF_ITS_END_MS and now.verdict is not Verdict.UNPROVEN:
        return Gone(now.reason, now.verdict.value)
    if finding.kind == FindingKind.SOON:
        words = {
            Verdict.MET: _("it was reached in time"),
            Verdict.OPEN: _("it is expected in time now"),
            Verdict.NONE: _("no limit is asked any more"),
            Verdict.UNPROVEN: _("the probe fell silent, which is told by itself"),
        }
        return Gone(words.get(now.verdict, now.reason), now.verdict.value)
    if now.verdict is Verdict.UNPROVEN:
        return Gone(_("the probe fell silent, which is told by itself"), now.verdict.value)
    words = {
        Verdict.MET: _("a later reading shows that the limit was kept."),
        Verdict.OPEN: _("a later reading shows that the limit can still be kept."),
        Verdict.NONE: _("a later reading shows that no limit is asked."),
        Verdict.MISSED: _("a later reading shows that it is another spell, told by itself."),
    }
    return Gone(f"{words[now.verdict]} {now.reason}", now.verdict.value)
