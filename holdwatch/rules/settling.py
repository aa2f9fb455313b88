"""One answer out of several: where values or doubts allow more than one."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from holdwatch.language import N_, _, many
from holdwatch.rules.context import Context
from holdwatch.rules.seen import Prepared
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.sieve import Doubt

__all__ = ["awaited_until", "question", "settle", "worse"]

_ORDER = (Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.MET, Verdict.NONE)
_SCREEN = {
    Verdict.MET: N_("kept"),
    Verdict.MISSED: N_("not kept"),
    Verdict.UNPROVEN: N_("not shown"),
    Verdict.OPEN: N_("still running"),
    Verdict.NONE: N_("no limit asked"),
}

Answers = tuple[ClauseVerdict, ...]
TimeRuns = Callable[[Sequence[ClauseVerdict]], int | None]


def worse(answers: Sequence[ClauseVerdict]) -> ClauseVerdict:
    """Return the worst of several answers about one clause; of equally bad ones the first."""
    return min(answers, key=lambda answer: _ORDER.index(answer.verdict))


def awaited_until(answers: Sequence[ClauseVerdict], context: Context) -> int | None:
    """Return until when the answer to a clause can still come: its last end, and two usual intervals. [ms]."""
    ends = [end for answer in answers for end in answer.due or () if end is not None]
    return max(ends) + context.grace_ms if ends else None


def settle(answers: Sequence[Answers], prepared: Prepared, time_runs: TimeRuns, context: Context) -> Answers:
    """Return one answer for each clause out of those under every choice of doubtful readings.

    Parameters
    ----------
    answers : for every choice of `prepared`, the clauses in the same order.
    prepared : the record after the sieve.
    time_runs : returns until when (ms) a clause's answer can still be awaited, from its answers.
    context : the instant of judging, and words.
    """
    return tuple(_one(clause, prepared, time_runs, context) for clause in zip(*answers, strict=True))


def _one(answers: Sequence[ClauseVerdict], prepared: Prepared, time_runs: TimeRuns, context: Context) -> ClauseVerdict:
    sure = answers[0]
    if all(answer.verdict is sure.verdict for answer in answers):
        out = "" if sure.verdict not in {Verdict.OPEN, Verdict.UNPROVEN} else _still_out(prepared, context)
        return replace(sure, reason=sure.reason + _contested(prepared, context) + out, doubtful=bool(out))
    runs_until = time_runs(answers)
    running = runs_until is not None and context.now_ms <= runs_until
    reason = _doubtful(answers, prepared.doubts, context) + _contested(prepared, context)
    return replace(sure, verdict=Verdict.OPEN if running else Verdict.UNPROVEN, reason=reason, doubtful=True)


def question(doubt: Doubt, context: Context) -> str:
    """Return what a person is asked about a doubt."""
    first, last = context.words.when(doubt.first_ms), context.words.when(doubt.last_ms)
    if doubt.out and doubt.over:
        said = _("The probe was out of the food from {first} to {last}: {why}, and a hand thermometer read otherwise.")
    elif doubt.out:
        said = _("Is the probe back in the food? Since {first}: {why}, and a hand thermometer read otherwise.")
    elif not doubt.over:
        said = _("Is the probe still in the food? Since {first}: {why}.")
    else:
        said = _("Was the probe in the food from {first} to {last}? At the beginning {why}.")
    return said.format(first=first, last=last, why=doubt.why)


def _still_out(prepared: Prepared, context: Context) -> str:
    """Ask for a probe that a hand thermometer has shown to be out of the food, as long as it is not back."""
    asked = [question(doubt, context) for doubt in prepared.doubts if doubt.out and not doubt.over]
    return f" {' '.join(asked)}" if asked else ""


def _doubtful(answers: Sequence[ClauseVerdict], doubts: Sequence[Doubt], context: Context) -> str:
    without, believed = _(_SCREEN[answers[0].verdict]), _(_SCREEN[answers[-1].verdict])
    questions = " ".join(question(doubt, context) for doubt in doubts)
    said = _(
        "Perhaps the probe was out of the food: without the readings in doubt it is {without}, with them {believed}."
    )
    if answers[0].verdict is answers[-1].verdict:
        said = _(
            "Perhaps the probe was out of the food: it depends on which of the readings in doubt are believed; without "
            "all of them it is {without}."
        )
    return f"{said.format(without=without, believed=believed)} {questions}"


def _contested(prepared: Prepared, context: Context) -> str:
    count = len(prepared.contested)
    if not count:
        return ""
    return " " + many(
        "Two values are recorded for {first}; the worse one counts.",
        "Two values are recorded for {count} instants, the first {first}; the worse ones count.",
        count,
        first=context.words.when(prepared.contested[0]),
    )
