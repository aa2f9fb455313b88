"""The live judgement of one vessel of a batch: cooling, and cold holding once it begins; and of the whole batch."""

from collections.abc import Iterable
from typing import Literal

from holdwatch.limits.model import Limits
from holdwatch.readings import DeclarationKind, Record
from holdwatch.rules.cooling import judge_cooling
from holdwatch.rules.holding import begins_after_cooling
from holdwatch.rules.judge import Sitting, sit
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import Judgement, Process, Step, Verdict, worst
from holdwatch.rules.words import Words

__all__ = ["batch_verdict", "judge_vessel"]

_COOLING_STEPS = {Step.COOK, Step.COOL}
_HOLDING_STEPS = {Step.HOLD, Step.STORE, Step.DISPLAY}


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
    words : how reasons write instants and temperatures.
    """
    sitting = sit(
        record,
        until_ms=until_ms,
        largest_gap_ms=largest_gap_ms,
        ended_ms=ended_ms,
        started_ms=started_ms,
        words=words,
    )
    if step in _COOLING_STEPS:
        return sitting.cooling(limits), _cold_after_cooling(sitting, limits)
    process = Process.COLD_HOLDING if holding == "cold" else Process.HOT_HOLDING
    if step in _HOLDING_STEPS:
        begins = sitting.record.instants(DeclarationKind.FROM)
        on_display = step is Step.DISPLAY
        return (sitting.holding(process, limits, lambda _: begins[0] if begins else None, on_display=on_display),)
    return (sitting.not_asked_in(step, process, limits),)


def batch_verdict(verdicts: Iterable[Verdict], *, speaks_for_all: bool) -> Verdict:
    """Return the verdict of a batch, from those of the clauses of its measured vessels.

    One vessel that misses makes the batch miss. That the limit was kept is shown of the whole batch only where every
    vessel is measured, or the slowest of them: what nobody measured is not shown.
    """
    found = worst(verdicts)
    return Verdict.UNPROVEN if found is Verdict.MET and not speaks_for_all else found


def _cold_after_cooling(sitting: Sitting, limits: Limits) -> Judgement:
    """Judge cold holding from where it begins after cooling."""
    limit, cooling = limits.cold_holding, limits.cooling

    def begins(seen: Seen) -> int | None:
        if limit is None:
            return None
        allowance_ends = None
        if cooling is not None:
            due = judge_cooling(cooling, seen, sitting.context)[-1].due
            allowance_ends = due[1] if due is not None else None
        return begins_after_cooling(limit, seen, sitting.gap, allowance_ends)

    return sitting.holding(Process.COLD_HOLDING, limits, begins, must_begin=True)
