"""The live judgement of one vessel of a batch: cooling, and cold holding once it begins."""

from typing import Literal

from holdwatch.limits.model import Limits
from holdwatch.readings import Record
from holdwatch.rules.verdicts import Judgement, Step
from holdwatch.rules.words import Words

__all__ = ["judge_vessel"]


def judge_vessel(
    record: Record,
    limits: Limits,
    *,
    step: Step,
    holding: Literal["cold", "hot"],
    until_ms: int,
    ended_ms: int | None = None,
    started_ms: int | None = None,
    words: Words | None = None,
) -> tuple[Judgement, ...]:
    """Return what the record of one vessel shows: cooling first, then holding."""
    raise NotImplementedError
