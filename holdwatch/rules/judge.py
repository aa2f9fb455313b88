"""Judging a record: what it shows of the clauses of one process."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from holdwatch.language import N_, _
from holdwatch.limits.model import HoldingLimits, Limits
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series, Source
from holdwatch.rules.air import judge_air
from holdwatch.rules.context import Context
from holdwatch.rules.cooling import cooling_answers
from holdwatch.rules.holding import Gap, Period, holes, judge_holding
from holdwatch.rules.life import Span, spans
from holdwatch.rules.processes import NEVER_OUT_OF_FOOD, judge_clause
from holdwatch.rules.seen import Prepared, Seen, prepare
from holdwatch.rules.settling import awaited_until, question, settle, worse
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Step, Verdict, worst
from holdwatch.rules.words import MEDIUM, Words, of_another_medium

__all__ = ["Sitting", "judge", "sit"]


def judge(
    process: Process,
    record: Record,
    limits: Limits,
    *,
    until_ms: int,
    source: Source = Source.PROBE,
    step: Step = Step.STORE,
    largest_gap_ms: int | None = None,
    finished: bool = False,
    words: Words | None = None,
) -> Judgement:
    """Return what a record shows of a process at an instant.

    Parameters
    ----------
    process : what the record is judged as.
    record : one vessel's readings and what was declared; readings and declarations after `until_ms` are not seen.
    limits : the code of practice.
    until_ms : the instant of judging. [ms]
    source : ``hand`` takes all readings as a hand thermometer's.
    step : the step of the batch; holding is asked of food in hold, store and display.
    largest_gap_ms : the plan's watching interval, in place of our 20 min for a probe and 4 h for hand checks. [ms]
    finished : whether the record is complete at `until_ms`: the cook step has ended, or the file is at its end.
    words : how reasons write instants and temperatures.
    """
    sitting = sit(
        record,
        until_ms=until_ms,
        source=source,
        largest_gap_ms=largest_gap_ms,
        out_of_food=process not in NEVER_OUT_OF_FOOD,
        words=words,
    )
    if process is Process.COOLING:
        return sitting.cooling(limits)
    if process not in HOLDING:
        return judge_clause(sitting, process, limits, finished=finished)
    if step not in {Step.HOLD, Step.STORE, Step.DISPLAY}:
        return sitting.not_asked_in(step, process, limits)
    begins = record.instants(DeclarationKind.FROM)
    return sitting.holding(process, limits, lambda _: begins[0] if begins else None, on_display=step is Step.DISPLAY)


HOLDING = (Process.COLD_HOLDING, Process.HOT_HOLDING, Process.SHELL_EGGS, Process.FROZEN_STORAGE)


Begins = Callable[[Seen], int | None]


@dataclass(frozen=True, eq=False)
class Sitting:
    """A record sifted once, to be asked about several clauses."""

    record: Record
    prepared: Prepared
    context: Context
    gap: Gap
    source: Source = Source.PROBE

    def cooling(self, limits: Limits) -> Judgement:
        """Judge cooling, every stage."""
        if limits.cooling is None:
            return self.nothing_asked(Process.COOLING, limits, ())
        if self.record.medium is not Medium.FOOD:
            reason = of_another_medium(self.record.medium)
            stages = [(stage.clause, stage.source, stage.requires) for stage in limits.cooling.stages]
            clauses = tuple(ClauseVerdict(*stage, Verdict.NONE, reason) for stage in stages)
            return self.nothing_asked(Process.COOLING, limits, clauses)
        every = [cooling_answers(limits.cooling, seen, self.context) for seen in self.prepared.choices]
        answers = [tuple(worse(stage) for stage in zip(*under, strict=True)) for under in every]
        clauses = settle(answers, self.prepared, partial(awaited_until, context=self.context), self.context)
        changes = self._cooling_changes([answer for under in every for answer in under], clauses)
        return self.judgement(Process.COOLING, limits, clauses, changes)

    def holding(
        self, process: Process, limits: Limits, begins: Begins, *, must_begin: bool = False, on_display: bool = False
    ) -> Judgement:
        """Judge holding from where `begins` says; with `must_begin`, not before it says so.

        What the code tolerates of food for service or on display counts `on_display` alone.
        """
        limit = limits.holding(process)
        if limit is None:
            return self.nothing_asked(process, limits, ())
        limit = _displayed(limit) if on_display else replace(limit, tolerance=None)
        if limit.medium is not Medium.FOOD and self.record.medium is not limit.medium:
            reason = _("This limit is written for {medium}; a reading of {other} neither keeps nor breaks it.").format(
                medium=_(MEDIUM[limit.medium]), other=_(MEDIUM[self.record.medium])
            )
            return self.nothing_asked(process, limits, _as_none(limit, reason))
        if self.record.medium is not limit.medium:
            period = Period(begins(self.prepared.choices[0]), self.context.until_ms)
            clause = judge_air(limit, self.record, self.prepared.choices[0], period, self.context)
            return self.nothing_asked(process, limits, (clause,))
        if limit.medium is Medium.AIR and self.source is Source.PROBE and len(self.record.hand):
            of_air = self._without_hand()
            return of_air.holding(process, limits, begins, must_begin=must_begin, on_display=on_display)
        starts = [begins(seen) for seen in self.prepared.choices]
        answers = [
            (self._hold(limit, seen, start, must_begin=must_begin),)
            for seen, start in zip(self.prepared.choices, starts, strict=True)
        ]
        clauses = settle(answers, self.prepared, self._holding_runs_until, self.context)
        return self.judgement(process, limits, clauses, [*self._holding_changes(), *starts])

    def _without_hand(self) -> "Sitting":
        """Return the record without its hand checks: beside a probe in air they are of the food."""
        record, context = replace(self.record, hand=Series.empty()), self.context
        prepared = prepare(record, until_ms=context.until_ms, now_ms=context.now_ms, out_of_food=False)
        context = replace(context, grace_ms=prepared.grace_ms, pending=prepared.pending)
        return replace(self, record=record, prepared=prepared, context=context)

    def not_asked_in(self, step: Step, process: Process, limits: Limits) -> Judgement:
        """Return a judgement of holding in a step in which it is not asked."""
        limit = limits.holding(process)
        return self.nothing_asked(process, limits, _as_none(limit, _(_NOT_ASKED[step])))

    def nothing_asked(self, process: Process, limits: Limits, clauses: tuple[ClauseVerdict, ...]) -> Judgement:
        """Return a judgement in which no limit is asked; without clauses the code's own words say why."""
        if not clauses:
            clauses = (_no_figure(process, limits),)
        return self.judgement(process, limits, clauses, [])

    def _hold(self, limit: HoldingLimits, seen: Seen, from_ms: int | None, *, must_begin: bool) -> ClauseVerdict:
        if must_begin and (from_ms is None or from_ms > self.context.until_ms):
            if self.context.ended_ms is not None:
                return _as_none(limit, _("It was served, used, frozen or discarded before holding began."))[0]
            reason = _("Holding begins after 30 min unbroken at the level, or when the time for cooling ends.")
            return replace(_as_none(limit, reason)[0], verdict=Verdict.OPEN)
        return judge_holding(limit, seen, Period(from_ms, self.context.until_ms), self.gap, self.context)

    # ------------------------------------------------------------ what time alone changes

    def _holding_runs_until(self, _: Sequence[ClauseVerdict]) -> int | None:
        """A probe that comes back to the food within the largest gap leaves no hole behind it."""
        running = [doubt.first_ms + self.gap.probe_ms for doubt in self.prepared.doubts if not doubt.over]
        return max(running, default=None)

    def _cooling_changes(
        self, answers: Sequence[tuple[ClauseVerdict, ...]], clauses: Sequence[ClauseVerdict]
    ) -> list[int]:
        if not any(clause.verdict is Verdict.OPEN for clause in clauses):
            return []
        grace, stages = self.context.grace_ms, [clause for answer in answers for clause in answer]
        ends = [end for clause in stages for end in clause.due or () if end is not None]
        changes = [at for end in ends for at in (end, end + grace + 1)]
        if any(clause.started is not None and clause.started[1] is None for clause in stages):
            changes.append(self.context.now_ms + CLOCKLESS_LOOK_MS)
        return changes

    def _holding_changes(self) -> list[int]:
        prepared = self.prepared
        changes = [doubt.first_ms + self.gap.probe_ms + 1 for doubt in prepared.doubts]
        for seen in prepared.choices:
            if len(seen.low):
                last = int(seen.low.at_ms[-1])
                changes += [last + self.gap.probe_ms + 1, last + self.gap.hand_ms + 1]
        return changes

    # ------------------------------------------------------------ putting it together

    def judgement(
        self, process: Process, limits: Limits, clauses: tuple[ClauseVerdict, ...], changes: Sequence[int | None]
    ) -> Judgement:
        """Put a judgement together."""
        prepared, now = self.prepared, self.context.now_ms
        later = [at for at in (*changes, prepared.decided_ms) if at is not None and at > now]
        doubtful = any(clause.doubtful for clause in clauses)
        return Judgement(
            process=process,
            limits=limits.id,
            limits_text=limits.digest,
            verdict=worst(clause.verdict for clause in clauses),
            clauses=clauses,
            used=prepared.used,
            first_ms=prepared.first_ms,
            last_ms=prepared.last_ms,
            set_aside=prepared.set_aside,
            gaps=holes(prepared.choices[0], self.gap),
            doubts=prepared.doubts,
            asks=tuple(question(doubt, self.context) for doubt in prepared.doubts) if doubtful else (),
            changes_ms=min(later, default=None),
        )


CLOCKLESS_LOOK_MS = 60_000
"""How soon to look again at a clause whose clock has not started."""


def sit(
    record: Record,
    *,
    until_ms: int,
    source: Source = Source.PROBE,
    largest_gap_ms: int | None = None,
    ended_ms: int | None = None,
    started_ms: int | None = None,
    away: Sequence[Span] = (),
    out_of_food: bool,
    words: Words | None = None,
) -> Sitting:
    """Sift a record as it is known at `until_ms`; `away` are further stretches, known by then, in which holding is not asked."""
    declared = tuple(sorted(d for d in record.declared if d.at_ms <= until_ms))
    record = replace(record, declared=declared)
    told = record.instants(DeclarationKind.ENDED)[-1:]  # a later end shows that at the earlier one not all was gone
    ended = min((at for at in (ended_ms, *told) if at is not None and at <= until_ms), default=None)
    last = until_ms if ended is None else ended
    prepared = prepare(record, until_ms=last, now_ms=until_ms, source=source, out_of_food=out_of_food)
    left_heat = record.instants(DeclarationKind.LEFT_HEAT)
    beginnings = [d.at_ms for d in declared if d.kind is not DeclarationKind.ENDED]
    context = Context(
        now_ms=until_ms,
        ended_ms=ended,
        left_heat_ms=left_heat[0] if left_heat else None,
        since_ms=min([*beginnings, *([] if started_ms is None else [started_ms])], default=None),
        away=tuple(dict.fromkeys([*_away(declared), *away])),
        grace_ms=prepared.grace_ms,
        pending=prepared.pending,
        words=words or Words(),
    )
    gap = Gap() if largest_gap_ms is None else Gap(largest_gap_ms, largest_gap_ms)
    return Sitting(record, prepared, context, gap, source)


def _away(declared: Sequence[Declaration]) -> tuple[Span, ...]:
    """Return the stretches from ``removed`` to ``returned``."""
    kind = DeclarationKind
    return spans((d.at_ms, d.kind is kind.REMOVED) for d in declared if d.kind in {kind.REMOVED, kind.RETURNED})


def _displayed(limit: HoldingLimits) -> HoldingLimits:
    """Return a limit that says what it tolerates."""
    if limit.tolerance is None:
        return limit
    return replace(limit, requires=f"{limit.requires}; {limit.tolerance.requires}")


def _as_none(limit: HoldingLimits | None, reason: str) -> tuple[ClauseVerdict, ...]:
    if limit is None:
        return ()
    clause = ClauseVerdict(limit.clause, limit.source, limit.requires, Verdict.NONE, reason)
    return (replace(clause, level_c=limit.level.celsius),)


def _no_figure(process: Process, limits: Limits) -> ClauseVerdict:
    """Return the clause of a code that gives no figure for a process."""
    said = limits.no_figure.get(process.value)
    if said is None:
        why = _("{code} gives no figure for {process}.").format(code=limits.title, process=_(_PROCESS[process]))
        return ClauseVerdict(process.value, limits.title, _("no figure"), Verdict.NONE, why)
    return ClauseVerdict(said.clause, said.source, _("no figure"), Verdict.NONE, said.says)


_PROCESS = {
    Process.COOLING: N_("cooling"),
    Process.COLD_HOLDING: N_("cold-holding"),
    Process.HOT_HOLDING: N_("hot-holding"),
    Process.AMBIENT_COOLING: N_("ambient-cooling"),
    Process.RECEIVED_COOLING: N_("received-cooling"),
    Process.TIME_CONTROL_4H: N_("time-control-4h"),
    Process.TIME_CONTROL_6H: N_("time-control-6h"),
    Process.TIME_CONTROL_FROM_ROOM: N_("time-control-from-room"),
    Process.CUMULATIVE_TIME: N_("cumulative-time"),
    Process.COOK_EGGS: N_("cook-eggs"),
    Process.COOK_EGGS_TO_ORDER: N_("cook-eggs-to-order"),
    Process.REHEATING: N_("reheating"),
    Process.SHELL_EGGS: N_("shell-eggs"),
    Process.FROZEN_STORAGE: N_("frozen-storage"),
}
"""The processes in a sentence, in English by the words of the command line."""
_NOT_ASKED = {
    Step.COOK: N_("Not asked of food in the step cook."),
    Step.COOL: N_("Not asked of food in the step cool."),
    Step.ASSEMBLE: N_("Not asked of food in the step assemble."),
    Step.SERVE: N_("Not asked of food in the step serve."),
}
"""Whole sentences: the steps are verbs, and other languages say them otherwise."""
