"""Receiving: what a delivery measured at the door, against the limit for what it is."""

import numpy as np

from holdwatch.language import N_, _
from holdwatch.limits.model import HoldingLimits, Limits
from holdwatch.readings import Medium
from holdwatch.rules.answers import answer
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.rules.words import MEDIUM, Words

__all__ = ["judge_receiving"]

_PART = {
    "receiving-cold": N_("receiving-cold"),
    "receiving-hot": N_("receiving-hot"),
    "receiving-shell-eggs": N_("receiving-shell-eggs"),
}
"""The parts in a sentence, in English by their names in the file."""


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
        says = _("{code} gives no figure for {process}.").format(code=limits.title, process=_(_PART.get(part, part)))
        if without is not None:
            says = without.says
        clause = without.clause if without is not None else part
        return ClauseVerdict(clause, limits.title, _("no figure"), Verdict.NONE, says)
    if not np.isfinite(celsius):
        said = Verdict.UNPROVEN, _("No temperature was measured at {time}.").format(time=told.when(at_ms))
        return answer(limit, said, level_c=limit.level.celsius)
    degrees = told.temperature(celsius, limit.level.scale)
    seen = _("{degrees} at {time}").format(degrees=degrees, time=told.when(at_ms))
    if medium is not limit.medium:
        reason = _("This limit is written for {medium}; {reading} was of {other}: measure the {medium}.").format(
            medium=_(MEDIUM[limit.medium]), reading=seen, other=_(MEDIUM[medium])
        )
        return answer(limit, (Verdict.NONE, reason), level_c=limit.level.celsius)
    kept = bool(limit.level.keeps(np.array([celsius]))[0])
    reason = _("{reading}, {level}.").format(reading=seen, level=limit.level.within if kept else limit.level.beyond)
    return answer(limit, (Verdict.MET if kept else Verdict.MISSED, reason), level_c=limit.level.celsius)
