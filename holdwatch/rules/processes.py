"""The processes that are one clause: which part of a limits file each asks, and which rule judges it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from holdwatch.language import _
from holdwatch.limits.model import (
    AmbientCoolingLimits,
    Cited,
    CookingLimits,
    CumulativeLimits,
    Limits,
    ReheatingLimits,
    TimeControlLimits,
)
from holdwatch.readings import DeclarationKind, Medium
from holdwatch.rules.ambient import judge_ambient_cooling
from holdwatch.rules.answers import Declared, answer
from holdwatch.rules.cooking import judge_cooking
from holdwatch.rules.cumulative import cooling_allowance_ms, judge_cumulative_time
from holdwatch.rules.reheating import judge_reheating
from holdwatch.rules.seen import Seen, prepare
from holdwatch.rules.settling import awaited_until, settle
from holdwatch.rules.time_control import judge_time_control
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Verdict
from holdwatch.rules.words import of_another_medium

if TYPE_CHECKING:
    from holdwatch.rules.judge import Sitting

__all__ = ["NEVER_OUT_OF_FOOD", "judge_clause"]

NEVER_OUT_OF_FOOD = frozenset(
    {
        Process.TIME_CONTROL_4H,
        Process.TIME_CONTROL_6H,
        Process.TIME_CONTROL_FROM_ROOM,
        Process.CUMULATIVE_TIME,
        Process.COOK_EGGS,
        Process.COOK_EGGS_TO_ORDER,
        Process.REHEATING,
    }
)
"""Processes in which food warms and cools fast by nature: a fast change is no ground for doubt."""

UNDONE_BY_ONE_READING = NEVER_OUT_OF_FOOD - {Process.COOK_EGGS, Process.COOK_EGGS_TO_ORDER, Process.REHEATING}
"""Processes in which one more reading can undo what was kept; a dwell, once kept, stays kept."""

LOOK_AGAIN_MS = 60_000
"""How soon to look again at a sum of times that still grows."""

Rule = Callable[[Seen], ClauseVerdict]


def judge_clause(
    sitting: "Sitting", process: Process, limits: Limits, *, finished: bool, beside: Mapping[str, Any] | None = None
) -> Judgement:
    """Return what a record shows of a process that is one clause; `beside` is what else was declared of it."""
    limit = limits.part(process.value, Cited)
    if limit is None:
        return sitting.nothing_asked(process, limits, ())
    medium = sitting.record.medium
    if medium is not Medium.FOOD:
        return sitting.nothing_asked(process, limits, (answer(limit, (Verdict.NONE, of_another_medium(medium))),))
    declared = replace(Declared.of(sitting.record, finished=finished), **(beside or {}))
    rule = _rule(sitting, process, limits, declared)
    answers = [(_waiting(rule(seen), process, sitting),) for seen in sitting.prepared.choices]
    clauses = settle(answers, sitting.prepared, partial(awaited_until, context=sitting.context), sitting.context)
    return sitting.judgement(process, limits, clauses, _changes(sitting, process, answers))


def _rule(sitting: "Sitting", process: Process, limits: Limits, declared: Declared) -> Rule:
    """Return the rule of a process, ready to be asked."""
    limit = limits.part(process.value, Cited)
    context, gap = sitting.context, sitting.gap
    if isinstance(limit, AmbientCoolingLimits):
        begun = _received(sitting, declared) if process is Process.RECEIVED_COOLING else declared
        return lambda seen: judge_ambient_cooling(limit, seen, begun, context)
    if isinstance(limit, TimeControlLimits):
        sure = _surely_food(sitting)
        return lambda seen: judge_time_control(limit, seen, sure, declared, gap, context)
    if isinstance(limit, CumulativeLimits):
        cooling_ms = cooling_allowance_ms(limits)
        return lambda seen: judge_cumulative_time(limit, seen, declared, cooling_ms, gap, context)
    if isinstance(limit, CookingLimits):
        return lambda seen: judge_cooking(limit, seen, declared, context)
    if isinstance(limit, ReheatingLimits):
        return lambda seen: judge_reheating(limit, seen, declared, context)
    raise TypeError(f"no rule judges {type(limit).__name__}")  # pragma: no cover - every part has a rule


def _waiting(clause: ClauseVerdict, process: Process, sitting: "Sitting") -> ClauseVerdict:
    """Leave open what readings that are not judged yet may still undo."""
    if clause.verdict is not Verdict.MET or process not in UNDONE_BY_ONE_READING or not sitting.context.waiting:
        return clause
    reason = f"{clause.reason} {_('The last readings are not judged yet.')}"
    return replace(clause, verdict=Verdict.OPEN, reason=reason)


def _received(sitting: "Sitting", declared: Declared) -> Declared:
    """Take the declared beginning of the period as the instant of receipt."""
    received = sitting.record.instants(DeclarationKind.FROM)
    return Declared(prepared_ms=received[0] if received else None, entries=declared.entries)


def _surely_food(sitting: "Sitting") -> Seen:
    """Return the readings without any that is perhaps out of the food: one of those shows no food."""
    context = sitting.context
    prepared = prepare(sitting.record, until_ms=context.until_ms, now_ms=context.now_ms, source=sitting.source)
    return prepared.choices[0]


# ---------------------------------------------------------------- what time alone changes


def _changes(sitting: "Sitting", process: Process, answers: Sequence[tuple[ClauseVerdict, ...]]) -> list[int]:
    grace, gap = sitting.context.grace_ms, sitting.gap
    ends = [end for clauses in answers for clause in clauses for end in clause.due or () if end is not None]
    changes = [at for end in ends for at in (end, end + 1, end + grace + 1)]
    if process in _GAPS_COUNT:
        for seen in sitting.prepared.choices:
            if len(seen.low):
                last = int(seen.low.at_ms[-1])
                changes += [last + gap.probe_ms + 1, last + gap.hand_ms + 1]
    if process is Process.CUMULATIVE_TIME and answers[0][0].verdict in {Verdict.MET, Verdict.OPEN}:
        changes.append(sitting.context.now_ms + LOOK_AGAIN_MS)
    return changes


_GAPS_COUNT = frozenset({Process.TIME_CONTROL_6H, Process.TIME_CONTROL_FROM_ROOM, Process.CUMULATIVE_TIME})
