"""Receiving: what a delivery measured at the door, against the limit for what it is."""

import numpy as np

from holdwatch.limits.model import HoldingLimits, Limits
from holdwatch.readings import Medium
from holdwatch.rules.answers import answer
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.rules.words import Words

__all__ = ["judge_receiving"]


def judge_receiving(
    limits: Limits, part: str, celsius: float, at_ms: int, *, medium: Medium = Medium.FOOD, words: Words | None = None
) -> ClauseVerdict:
    """Return whether a delivery was as cold, or as hot, as the code asks.

    Parameters
    ----------
    limits : the code of practice.
    part : ``receiving-cold``, ``receiving-hot`` or ``receiving-shell-eggs``.
    celsius, at_ms : what was measured, corrected, and when. [°C, ms]
    medium : what was measured: shell eggs are judged on the air around them, all else on the food.
    words : how the sentence writes instants and temperatures.
    """
    told = words or Words()
    limit = limits.part(part, HoldingLimits)
    if limit is None:
        without = limits.no_figure.get(part)
        says = without.says if without is not None else f"{limits.title} gives no figure for {part}."
        clause = without.clause if without is not None else part
        return ClauseVerdict(clause, limits.title, "no figure", Verdict.NONE, says)
    if not np.isfinite(celsius):
        said = Verdict.UNPROVEN, f"No temperature was measured at {told.when(at_ms)}."
        return answer(limit, said, level_c=limit.level.celsius)
    seen = f"{told.temperature(celsius, limit.level.scale)} at {told.when(at_ms)}"
    if medium is not limit.medium:
        reason = f"This limit is written for {limit.medium.value}; {seen} was of {medium.value}: measure the {limit.medium.value}."
        return answer(limit, (Verdict.NONE, reason), level_c=limit.level.celsius)
    kept = bool(limit.level.keeps(np.array([celsius]))[0])
    reason = f"{seen}, {limit.level.within}." if kept else f"{seen}, {limit.level.beyond} {limit.level.temperature}."
    return answer(limit, (Verdict.MET if kept else Verdict.MISSED, reason), level_c=limit.level.celsius)
