"""Food as a probe in it would read it, and short ways to ask what the record shows."""

from collections.abc import Sequence

import numpy as np

from holdwatch.limits import load_limits
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Judgement, Process, Step, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, declared, points

__all__ = ["MET", "MISSED", "NONE", "OPEN", "UNPROVEN", "ask", "cooled", "end", "verdicts", "vessel"]

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
Notes = Sequence[tuple[str, float]]
NOTHING = Series.empty()


def cooled(
    first_min: float, last_min: float, *, from_f: float = 150, around_f: float = 34, half_min: float = 60
) -> Series:
    """Return food that loses half of its distance to what is around it in `half_min`, read every minute."""
    at = np.arange(first_min, last_min + 0.5)
    degrees = around_f + (from_f - around_f) * 0.5 ** (at / half_min)
    return points(*zip(at.tolist(), degrees.tolist(), strict=True))


def end(*series: Series) -> float:
    """Return the minute of the last reading."""
    return max((int(one.at_ms[-1]) - T0) / MINUTE for one in series if len(one))


def ask(
    process: Process,
    probe: Series = NOTHING,
    notes: Notes = (),
    *,
    hand: Series = NOTHING,
    air: Series = NOTHING,
    medium: Medium = Medium.FOOD,
    until: float | None = None,
    code: str = "us-food-code-2022",
    step: Step = Step.STORE,
) -> Judgement:
    """Judge a record at a minute after T0; default the last reading."""
    record = Record(probe, hand, medium, declared(*notes), air)
    at = end(probe, hand) if until is None else until
    return judge(process, record, load_limits(code), until_ms=T0 + round(at * MINUTE), step=step, finished=True)


def vessel(
    probe: Series, notes: Notes = (), *, until: float | None = None, ended: float | None = None
) -> tuple[Judgement, ...]:
    """Judge a vessel live as one that cools: cooling, then cold holding."""
    at = end(probe) if until is None else until
    return judge_vessel(
        Record(probe, declared=declared(*notes)),
        LIMITS,
        step=Step.COOL,
        holding="cold",
        until_ms=T0 + round(at * MINUTE),
        ended_ms=None if ended is None else T0 + round(ended * MINUTE),
        started_ms=T0,
    )


def verdicts(judgement: Judgement) -> tuple[Verdict, ...]:
    """Return the verdicts of the clauses."""
    return tuple(clause.verdict for clause in judgement.clauses)
