"""What stands of a judged record, in five figures: enough to tell that one more reading changes no verdict.

Most readings change nothing: they come when they are expected, before any time is up, and lie in a band around the
readings before them in which there is no level to cross and no change that the sieve would look at. Any other gives
``None``: then the record is judged again from its beginning, and so the two can never disagree. So it is when anything
but a reading becomes known of the subject: a note, a reading by hand, the air beside it. The state is written down as
JSON values and is taken up anywhere.

A wrong ``None`` costs a judgement; nothing else can be wrong.
"""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from holdwatch.limits.model import Limits
from holdwatch.quantities import Level
from holdwatch.readings import Record, Series
from holdwatch.rules.holding import Gap
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Matter, Process, Verdict
from holdwatch.sieve.changes import RATE_OVER_MS, RISE_MS, SLOW_FALL_C
from holdwatch.sieve.sifting import COLDEST_C, SPIKE_C, WARMEST_C

__all__ = ["CARRIED", "Standing", "carried_on", "standing_from", "standing_of"]

CARRIED = frozenset(
    {Process.COOLING, Process.COLD_HOLDING, Process.HOT_HOLDING, Process.SHELL_EGGS, Process.FROZEN_STORAGE}
)
"""The processes that can be carried on: in others a reading counts by its mere instant."""

NEAR_C = 1e-4
"""So near to a bound nothing is carried on; more than what any rule allows for conversion between scales."""
FALL_C, RISE_C = SLOW_FALL_C - NEAR_C, SPIKE_C - NEAR_C
"""The least change down and up that the sieve looks at: the beginning of a fast fall, and of a spike. [°C]"""


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands after a reading."""

    last_ms: int
    gap_ms: int
    """So long after it the next reading leaves no hole. [ms]"""
    due_ms: int | None
    """From this instant on a reading may answer a time that is up. [ms]"""
    above_c: float
    below_c: float
    """Between these two a reading changes nothing. [°C]"""

    def to_facts(self) -> dict[str, Any]:
        """Return it as JSON values."""
        return asdict(self)


def standing_from(facts: dict[str, Any]) -> Standing:
    """Return what `Standing.to_facts` wrote down."""
    return Standing(**facts)


def carried_on(standing: Standing, at_ms: int, celsius: float) -> Standing | None:
    """Return what stands after one more reading, or ``None`` where the record has to be judged again.

    Where it is not ``None``, every verdict of the subject at `at_ms` is the one before, and so is every bracket but for
    the end that follows the last reading.
    """
    if not 0 < at_ms - standing.last_ms <= standing.gap_ms:
        return None
    if standing.due_ms is not None and at_ms >= standing.due_ms:
        return None
    if not standing.above_c < celsius < standing.below_c:
        return None
    return Standing(
        at_ms,
        standing.gap_ms,
        standing.due_ms,
        max(standing.above_c, celsius - FALL_C),
        min(standing.below_c, celsius + RISE_C),
    )


def standing_of(
    record: Record, judgements: Sequence[Judgement], limits: Limits, *, largest_gap_ms: int | None = None
) -> Standing | None:
    """Return what stands of a judged record, or ``None`` where nothing can be carried on.

    Parameters
    ----------
    record, limits : what was judged by what, up to the record's last reading.
    judgements : all that is asked of the subject.
    largest_gap_ms : the plan's watching interval, if it has one of its own. [ms]
    """
    probe = record.probe
    if not _is_plain(record, judgements):
        return None
    last_ms, last_c = int(probe.at_ms[-1]), float(probe.celsius[-1])
    clauses = [(one.process, clause) for one in judgements for clause in one.clauses]
    if any(_may_turn(process, clause, last_c, limits) for process, clause in clauses):
        return None
    figures = [level.celsius for level in _levels(limits)]
    standing = Standing(
        last_ms=last_ms,
        gap_ms=Gap().probe_ms if largest_gap_ms is None else largest_gap_ms,
        due_ms=min((end for _, clause in clauses for end in clause.due or () if end and end > last_ms), default=None),
        above_c=max([COLDEST_C, *(c + NEAR_C for c in figures if c <= last_c), _highest(probe) - FALL_C]),
        below_c=min([WARMEST_C, *(c - NEAR_C for c in figures if c > last_c), _lowest(probe) + RISE_C]),
    )
    return standing if standing.above_c < last_c < standing.below_c else None


def _is_plain(record: Record, judgements: Sequence[Judgement]) -> bool:
    """Tell whether readings may follow a record with nothing to settle: no doubt, nothing awaited, no second witness."""
    probe = record.probe
    if not len(probe) or len(record.air) or bool((probe.at_ms[1:] == probe.at_ms[:-1]).any()):
        return False
    last_ms = int(probe.at_ms[-1])
    if any(declared.at_ms > last_ms for declared in record.declared):
        return False
    return all(one.process in CARRIED and one.last_ms == last_ms and not one.doubts for one in judgements)


def _may_turn(process: Process | Matter, clause: ClauseVerdict, last_c: float, limits: Limits) -> bool:
    """Tell whether a reading on the same side of every level may change a clause."""
    if process is Process.COOLING:
        reached = clause.reached is not None and clause.reached[1] is not None
        return clause.verdict is Verdict.UNPROVEN and not reached
    held = limits.holding(process)
    kept = held is not None and bool(held.level.keeps(np.array([last_c])).item())
    if clause.verdict is Verdict.OPEN:  # holding begins by itself where the level is kept for long enough
        return kept
    return clause.verdict is Verdict.UNPROVEN or (bool(clause.spells) and not kept)  # a spell that goes on grows


def _levels(limits: Limits) -> Iterator[Level]:
    """Give every level that a clause asks of cooling or holding."""
    if limits.cooling is not None:
        yield limits.cooling.start
        yield from (stage.target for stage in limits.cooling.stages)
    yield from (held.level for process in CARRIED if (held := limits.holding(process)) is not None)


def _highest(probe: Series) -> float:
    """Return the highest reading of the last minute and the one before it, which a fall may be measured from. [°C]."""
    first = int(np.searchsorted(probe.at_ms, probe.at_ms[-1] - RATE_OVER_MS, side="right")) - 1
    return float(probe.celsius[max(first, 0) :].max())


def _lowest(probe: Series) -> float:
    """Return the lowest reading of the time over which a rise counts. [°C]."""
    return float(probe.celsius[int(np.searchsorted(probe.at_ms, probe.at_ms[-1] - RISE_MS, side="left")) :].min())
