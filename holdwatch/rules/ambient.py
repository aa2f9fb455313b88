"""Cooling of food that was never hot: from its preparation to a target within a time.

The start is declared (``prepared``), not measured; without it the first reading is the latest that the start can
be, and the clause cannot be met.
"""

from holdwatch.language import _
from holdwatch.limits.model import AmbientCoolingLimits
from holdwatch.rules.answers import Declared, answer
from holdwatch.rules.context import Context
from holdwatch.rules.deadline import Deadline
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import ClauseVerdict, Verdict

__all__ = ["judge_ambient_cooling"]


def judge_ambient_cooling(
    limit: AmbientCoolingLimits, seen: Seen, declared: Declared, context: Context
) -> ClauseVerdict:
    """Return whether food made from ingredients at ambient temperature was cold in time."""
    prepared = declared.prepared_ms
    if prepared is None and not len(seen.high):
        said = (
            Verdict.OPEN if context.waiting else Verdict.UNPROVEN,
            _("There is no reading to judge, and nobody declared when it was prepared."),
        )
        return answer(limit, said, level_c=limit.target.celsius, started=(None, None), due=(None, None))
    since = _("nobody declared when it was prepared")
    if prepared is not None:
        since = _("it was prepared at {time}").format(time=context.words.when(prepared))
    asked = Deadline(
        level=limit.target,
        within=limit.within,
        inclusive=limit.within_inclusive,
        s1=prepared,
        s2=prepared if prepared is not None else int(seen.high.at_ms[0]),
        since=since,
        series=seen.high,
        context=context,
    )
    return answer(
        limit,
        asked.said(),
        level_c=limit.target.celsius,
        started=(asked.s1, asked.s2),
        due=asked.due,
        reached=asked.reached,
    )
