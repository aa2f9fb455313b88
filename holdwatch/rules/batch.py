"""The live judgement of one vessel of a batch, from its start to its end; and of the whole batch.

What is asked follows from the step it begins in and from what people declared since (``rules.life``):

* cooking of eggs, until it left the heat;
* cooling, or cooling of what was never hot, and cold holding from where that begins;
* reheating, hot holding from where it got hot, a second cooling where the reheating was kept, and its holding;
* time in place of temperature, and times added up, from the instant declared;
* what a delivery measured at the door.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from holdwatch.language import _
from holdwatch.limits.model import Limits
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record
from holdwatch.rules.contents import governing
from holdwatch.rules.cooling import judge_cooling
from holdwatch.rules.holding import begins_after_cooling
from holdwatch.rules.judge import Begins, Sitting, sit
from holdwatch.rules.judgements import BEFORE_MS, again, alone, asked_nothing, joined, since
from holdwatch.rules.life import Counted, Life, Measured, Reheated, Span
from holdwatch.rules.processes import NEVER_OUT_OF_FOOD, judge_clause
from holdwatch.rules.raw_egg import of_this_food
from holdwatch.rules.receiving import judge_receiving
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Matter, Process, Step, Verdict, worst
from holdwatch.rules.words import Words

__all__ = ["batch_verdict", "judge_vessel"]

_COOLING_STEPS = {Step.COOK, Step.COOL}
_HOLDING_STEPS = {Step.HOLD, Step.STORE, Step.DISPLAY}
_COOKING = (Process.COOK_EGGS, Process.COOK_EGGS_TO_ORDER)
_NEVER_HOT = (Process.AMBIENT_COOLING, Process.RECEIVED_COOLING)
_HELD = (Process.COLD_HOLDING, Process.HOT_HOLDING)


def judge_vessel(
    record: Record,
    limits: Limits,
    *,
    step: Step,
    holding: Literal["cold", "hot"],
    until_ms: int,
    ended_ms: int | None = None,
    started_ms: int | None = None,
    largest_gap_ms: int | None = None,
    life: Life | None = None,
    words: Words | None = None,
) -> tuple[Judgement, ...]:
    """Return what the record of one vessel shows at an instant.

    Parameters
    ----------
    record : the vessel's readings and declarations.
    limits : the code of practice.
    step : where the batch began: a batch that cools is judged on cooling, then on cold holding once that begins;
        one that is held, stored or displayed on holding alone; in other steps no limit is asked here.
    holding : which holding limit is asked of a batch that does not cool.
    until_ms : the instant of judging. [ms]
    ended_ms : when the batch was served, used, frozen or discarded. [ms]
    started_ms : when the batch was started. [ms]
    largest_gap_ms : the plan's watching interval, in place of our defaults. [ms]
    life : what was declared since, and what it began with where the step alone does not say.
    words : how reasons write instants and temperatures.
    """
    life = (life or Life()).known_at(until_ms)
    heated = (Declaration(reheated.at_ms, DeclarationKind.REMOVED) for reheated in life.reheated)
    record = replace(record, declared=tuple(sorted({*record.declared, *heated})))
    vessel = _Vessel(
        record, limits, step, holding, until_ms, ended_ms, started_ms, largest_gap_ms, life, words or Words()
    )
    answers = tuple(of_this_food(answer, limits, life.food) for answer in vessel.answers())
    if vessel.life.not_tcs:
        reason = _("Declared to need no temperature control: {why}.").format(why=vessel.life.not_tcs)
        return tuple(asked_nothing(answer, reason) for answer in answers)
    return answers


def batch_verdict(verdicts: Iterable[Verdict], *, speaks_for_all: bool) -> Verdict:
    """Return the verdict of a batch, from those of the clauses of its measured vessels.

    One vessel that misses makes the batch miss. That the limit was kept is shown of the whole batch only where every
    vessel is measured, or the slowest of them: what nobody measured is not shown.
    """
    found = worst(verdicts)
    return Verdict.UNPROVEN if found is Verdict.MET and not speaks_for_all else found


@dataclass(frozen=True, eq=False)
class _Vessel:
    """One vessel, to be asked about everything that its life calls for."""

    record: Record
    limits: Limits
    step: Step
    hold: Literal["cold", "hot"]
    until_ms: int
    ended_ms: int | None
    started_ms: int | None
    largest_gap_ms: int | None
    life: Life
    words: Words

    def answers(self) -> Iterator[Judgement]:
        """Give every judgement, in the order of the batch's life."""
        if self.life.received:  # of several packs of one delivery the worst counts
            measured = (self._received(each) for each in self.life.received)
            yield from governing([(alone(Matter.RECEIVING, self.limits, clause),) for clause in measured])
        begins = self._begins()
        of_temperature = list(self._of_temperature(begins))
        yield from of_temperature
        cools = any(judged.process is Process.COOLING for judged in of_temperature)
        for counted in self.life.counted:
            yield self._counted(counted, begins, cools=cools)

    def _of_temperature(self, begins: tuple[Process, ...]) -> Iterator[Judgement]:
        """Judge cooking, cooling and holding, and what a reheating asks again."""
        for process in begins:
            if process in _COOKING:
                yield self.clause_of(process, self._up_to_reheating())
        yield from self._temperature(begins)
        for number, reheated in enumerate(self.life.reheated, start=1):
            yield from self._reheating(reheated, number)

    def _received(self, measured: Measured) -> ClauseVerdict:
        """Judge a delivery; of shell eggs the air around them is measured."""
        limits, at_ms = self.limits, measured.at_ms
        medium = Medium.AIR if measured.part == "receiving-shell-eggs" else Medium.FOOD
        return judge_receiving(limits, measured.part, measured.celsius, at_ms, medium=medium, words=self.words)

    def _begins(self) -> tuple[Process, ...]:
        """Return what is asked from the start: what was declared, else what the step asks."""
        held = Process.COLD_HOLDING if self.hold == "cold" else Process.HOT_HOLDING
        begins = self.life.begins
        if any(process not in _COOKING for process in begins):
            return begins
        if begins:  # what is cooked is cooled afterwards, or held hot
            return (*begins, Process.COOLING if self.hold == "cold" else held)
        if self.step in _COOLING_STEPS or any(step in _COOLING_STEPS for _, step in self.life.steps):
            return (Process.COOLING,)
        return (held,)

    # ------------------------------------------------------------ sifted records

    def _sit(
        self, record: Record, *, out_of_food: bool = True, away: Sequence[Span] = (), ended_ms: int | None = None
    ) -> Sitting:
        ends = [at for at in (self.ended_ms, ended_ms) if at is not None]
        return sit(
            record,
            until_ms=self.until_ms,
            largest_gap_ms=self.largest_gap_ms,
            ended_ms=min(ends, default=None),
            started_ms=self.started_ms,
            away=away,
            out_of_food=out_of_food,
            words=self.words,
        )

    def _main(self, ended_ms: int | None = None) -> Sitting:
        """Return the whole record with all the stretches in which holding is not asked."""
        record = self.record
        if self.life.reheated:  # leaving the heat after that is of the second cooling
            again_ms, left = self.life.reheated[0].at_ms, DeclarationKind.LEFT_HEAT
            first = tuple(d for d in record.declared if d.kind is not left or d.at_ms < again_ms)
            record = replace(record, declared=first)
        return self._sit(record, away=(*self.life.prepared_for, *self.life.frozen), ended_ms=ended_ms)

    def clause_of(self, process: Process, record: Record, beside: Mapping[str, Any] | None = None) -> Judgement:
        """Judge a process that is one clause."""
        sitting = self._sit(record, out_of_food=process not in NEVER_OUT_OF_FOOD)
        judged = judge_clause(sitting, process, self.limits, finished=False, beside=beside)
        return replace(judged, occasion=process.value)

    # ------------------------------------------------------------ cooling and holding

    def _temperature(self, begins: tuple[Process, ...]) -> Iterator[Judgement]:
        """Judge cooling, then holding; or holding alone."""
        if Process.COOLING in begins:
            yield from self._cooled(self._main())
            return
        never_hot = next((process for process in begins if process in _NEVER_HOT), None)
        if never_hot is not None:
            cooled = self.clause_of(never_hot, self.record)
            yield cooled
            (clause,) = cooled.clauses
            due = clause.due
            yield self._held_cold(self._main(), lambda _: None if due is None else due[1])
            return
        for process in begins:
            if process not in _HELD:
                continue
            if not self.life.begins and self.step not in _HOLDING_STEPS:
                yield self._main().not_asked_in(self.step, process, self.limits)
            else:
                cooked = any(other in _COOKING for other in begins)
                sitting, begins_ms = self._main(), self._named(cooked=cooked)
                held = self._held(sitting, process, lambda _, at=begins_ms: at)  # type: ignore[misc]
                yield self._awaited(held, sitting, begins_ms)

    def _named(self, *, cooked: bool) -> int | None:
        """Return from where holding is asked: from receipt, or leaving the heat; else from the start of the batch."""
        kinds = (DeclarationKind.FROM, *((DeclarationKind.LEFT_HEAT,) if cooked else ()))
        return min((at for kind in kinds for at in self.record.instants(kind)), default=self.started_ms)

    def _awaited(self, held: Judgement, sitting: Sitting, begins_ms: int | None) -> Judgement:
        """Leave open what has no reading yet, as long as the first one may still come in time."""
        if begins_ms is None or held.verdict is not Verdict.UNPROVEN or self.ended_ms is not None:
            return held
        until_ms = begins_ms + sitting.gap.probe_ms
        if self.until_ms > until_ms:
            return held
        reason = _("No reading of the food since {since} yet: the first one is awaited until {until}.").format(
            since=self.words.when(begins_ms), until=self.words.when(until_ms)
        )
        clauses = tuple(replace(clause, verdict=Verdict.OPEN, reason=reason) for clause in held.clauses)
        return replace(held, verdict=Verdict.OPEN, clauses=clauses, changes_ms=until_ms + 1)

    def _cooled(self, sitting: Sitting) -> Iterator[Judgement]:
        """Judge cooling, and cold holding from where it begins."""
        frozen = self.life.frozen[0][0] if self.life.frozen else None
        cooling = sitting if frozen is None else self._sit(sitting.record, ended_ms=frozen)
        yield cooling.cooling(self.limits)

        def allowance_ends(seen: Seen) -> int | None:
            if self.limits.cooling is None:
                return None
            due = judge_cooling(self.limits.cooling, seen, sitting.context)[-1].due
            return due[1] if due is not None else None

        yield self._held_cold(sitting, allowance_ends, lambda seen: self._cold_since(seen, sitting))

    def _cold_since(self, seen: Seen, sitting: Sitting) -> int | None:
        """Return from when on a batch that is cold has cooled, in ms: before it was cooked it is a raw mix.

        ``None`` where it has not been seen to be cooked.
        """
        left_heat = sitting.context.left_heat_ms
        cooked = self.step is Step.COOK or any(process in _COOKING for process in self.life.begins)
        if self.limits.cooling is None or not (cooked or (self.step is Step.COOL and left_heat is not None)):
            return 0
        s1, s2 = judge_cooling(self.limits.cooling, seen, sitting.context)[0].started or (None, None)
        return left_heat if s1 is None else s2

    def _held_cold(self, sitting: Sitting, allowance_ends: Begins, cold_since: Begins = lambda _: 0) -> Judgement:
        """Judge cold holding from where it begins after a cooling; the 30 min count from where `cold_since` says."""
        limit = self.limits.cold_holding

        def begins(seen: Seen) -> int | None:
            if limit is None:
                return None
            since_ms, ends_ms = cold_since(seen), allowance_ends(seen)
            if since_ms is None:
                return ends_ms
            return begins_after_cooling(limit, seen.between(since_ms, self.until_ms), sitting.gap, ends_ms)

        return self._held(sitting, Process.COLD_HOLDING, begins, must_begin=True)

    def _held(self, sitting: Sitting, process: Process, begins: Begins, *, must_begin: bool = False) -> Judgement:
        """Judge holding; what the code bears of food on display counts while it is there, once read there."""
        limit, shown_ms = self.limits.holding(process), self.life.displayed_ms
        first_ms, last_ms = sitting.prepared.first_ms, sitting.prepared.last_ms
        shown = replace(sitting, context=replace(sitting.context, off_display=self.life.off_display))
        if self.step is Step.DISPLAY or (shown_ms is not None and first_ms is not None and shown_ms <= first_ms):
            return shown.holding(process, self.limits, begins, must_begin=must_begin, on_display=True)
        if limit is None or limit.tolerance is None or shown_ms is None or last_ms is None or shown_ms > last_ms:
            return sitting.holding(process, self.limits, begins, must_begin=must_begin)
        away, record = sitting.context.away, sitting.record
        stored = self._sit(record, away=away, ended_ms=shown_ms)
        before = stored.holding(process, self.limits, begins, must_begin=must_begin)

        def on_display(seen: Seen) -> int | None:
            begun = begins(seen)
            return max(shown_ms, begun) if begun is not None else None if must_begin else shown_ms

        after = shown.holding(process, self.limits, on_display, must_begin=must_begin, on_display=True)
        return joined(before, after)

    # ------------------------------------------------------------ after a reheating

    def _reheating(self, reheated: Reheated, number: int) -> Iterator[Judgement]:
        """Judge a reheating, and after the first what it begins."""
        occasion = Process.REHEATING.value if number == 1 else f"{Process.REHEATING.value} {number}"
        record = self._from(reheated.at_ms, number)
        judged = self.clause_of(Process.REHEATING, record)
        if reheated.for_service:
            reason = _("Reheated to be served at once: no limit is asked of that.")
            yield replace(asked_nothing(judged, reason), occasion=occasion)
            return
        yield replace(judged, occasion=occasion)
        if number > 1:  # a reheating begins a second cooling once
            return
        (clause,) = judged.clauses
        hot_ms = clause.reached[1] if clause.verdict is Verdict.MET and clause.reached else None
        if hot_ms is None:
            yield again(self._held_cold(self._sit(record), lambda _: None))
        else:
            yield from self._after(hot_ms, record)

    def _after(self, hot_ms: int, record: Record) -> Iterator[Judgement]:
        """Judge hot holding from where it was hot, and a second cooling, with its own holding."""
        left = [at for at in record.instants(DeclarationKind.LEFT_HEAT) if at >= hot_ms]
        hot = self._sit(since(record, hot_ms), ended_ms=left[0] if left else None)
        held = self._held(hot, Process.HOT_HOLDING, lambda _: hot_ms)
        yield replace(held, occasion=Process.HOT_HOLDING.value)
        for judged in self._cooled(self._sit(since(record, hot_ms), away=self.life.prepared_for)):
            yield again(judged)

    def _from(self, at_ms: int, number: int) -> Record:
        """Return the record of a reheating: from the last readings before it to the next one."""
        later = self.life.reheated[number:]
        last_ms = later[0].at_ms if later else self.until_ms
        record = self.record
        return replace(
            record,
            probe=record.probe.between(at_ms - BEFORE_MS, last_ms),
            hand=record.hand.between(at_ms - BEFORE_MS, last_ms),
            declared=(
                Declaration(at_ms, DeclarationKind.REMOVED),
                *(d for d in record.declared if d.at_ms <= last_ms and d.kind is not DeclarationKind.REMOVED),
            ),
        )

    def _up_to_reheating(self) -> Record:
        """Return the record before a reheating, in which nothing is cooked any more."""
        if not self.life.reheated:
            return self.record
        last_ms, record = self.life.reheated[0].at_ms, self.record
        return replace(record, probe=record.probe.between(0, last_ms), hand=record.hand.between(0, last_ms))

    # ------------------------------------------------------------ time in place of temperature

    def _counted(self, counted: Counted, begins: tuple[Process, ...], *, cools: bool) -> Judgement:
        """Judge time in place of temperature from its own removal, or all times added up."""
        if counted.process is Process.CUMULATIVE_TIME:
            # leaving the heat begins a cooling that does not count only where cooling is asked
            return self.clause_of(counted.process, self.record, {} if cools else {"left_heat_ms": None})
        no_end = {DeclarationKind.ENDED} if self.life.ends_frozen else set()
        left_out = {DeclarationKind.REMOVED, *no_end}
        others = [d for d in self.record.declared if d.kind not in left_out]
        declared = tuple(sorted([*others, Declaration(counted.at_ms, DeclarationKind.REMOVED)]))
        entries = (d.at_ms for d in declared if d.kind is not DeclarationKind.ENDED)
        beside = {
            "entries": tuple(sorted([*entries, *self.life.entries])),
            "tray_ms": counted.tray_ms,
            "room": self.life.room if counted.room_air else None,
            "stood": self._stood(counted, begins),
        }
        asked = replace(self, ended_ms=None) if self.life.ends_frozen else self
        return asked.clause_of(counted.process, replace(self.record, declared=declared), beside)

    def _stood(self, counted: Counted, begins: tuple[Process, ...]) -> str:
        """Say what shows that it was cold when it was removed: its cooling was kept, and its unit kept the limit.

        The unit is the one that it left when time began to count: of a later removal that shows nothing.
        """
        stood = self.life.stood
        if stood is None or counted.at_ms != self.life.counted[0].at_ms or Process.COOLING not in begins:
            return ""
        cooled = self._sit(self.record, ended_ms=counted.at_ms).cooling(self.limits)
        if cooled.verdict is not Verdict.MET:
            return ""
        return _(
            "its cooling had been kept, and {unit}, in which it stood, had kept the limit since {time} without a gap"
        ).format(unit=stood.unit, time=self.words.when(stood.since_ms))
