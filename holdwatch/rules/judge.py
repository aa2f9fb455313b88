"""Judging a record: what it shows of the clauses of one process."""

from holdwatch.limits.model import Limits
from holdwatch.readings import Record, Source
from holdwatch.rules.verdicts import Judgement, Process, Step
from holdwatch.rules.words import Words

__all__ = ["judge"]


def judge(
    process: Process,
    record: Record,
    limits: Limits,
    *,
    until_ms: int,
    source: Source = Source.PROBE,
    step: Step = Step.STORE,
    largest_gap_ms: int | None = None,
    words: Words | None = None,
) -> Judgement:
    """Return what a record shows of a process at the instant `until_ms`; readings after it are not seen."""
    raise NotImplementedError
