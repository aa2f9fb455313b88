"""What stands of a judged record, kept small: enough to tell that one more reading changes no verdict.

Most readings change nothing: they lie on the same side of every level as the one before, come when they are expected,
and move as food moves. Of such a reading nothing but this state has to be looked at. Any other, and any instant at which
time alone may change an answer, gives ``None``: then the record is judged again from its beginning, and so the two can
never disagree. So it is when anything but a reading becomes known of the subject: a note, a reading by hand. The state is a handful of figures, is written down as JSON values, and is taken up anywhere.

Every test is on the safe side of the rule that it stands for: the sieve's (`sieve.changes`, `sieve.sifting`), the
crossings of the levels, the gaps and the ends of time. A wrong ``None`` costs a judgement; nothing else can be wrong.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.limits.model import Limits
from holdwatch.quantities import Level, span_c
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.holding import LARGEST_GAP_PROBE_MS
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Verdict
from holdwatch.sieve import POWER_ON_C, POWER_ON_WIDTH_C

__all__ = ["CARRIED", "Standing", "carried_on", "standing_from", "standing_of"]

CARRIED = frozenset(
    {Process.COOLING, Process.COLD_HOLDING, Process.HOT_HOLDING, Process.SHELL_EGGS, Process.FROZEN_STORAGE}
)
"""The processes that can be carried on: in others a reading counts by its mere instant."""

# Each at or within the figure of the sieve that it stands for.
COLDEST_C, WARMEST_C = -60.0, 300.0
JUMP_C = span_c(20)
FALL_C = span_c(3)  # in a minute
RISE_C = span_c(30)
FALL_OVER_MS, RISE_OVER_MS = MS_PER_MINUTE, 10 * MS_PER_MINUTE
SWING_C = 1.6 * 0.8 * span_c(1)  # twice the deviation that follows the air, with room to spare
SWING_OVER_MS = 20 * MS_PER_MINUTE
HAND_MS = 5 * MS_PER_MINUTE
LOOK_AGAIN_MS = MS_PER_DAY
BESIDE_C = 1e-4  # so near to a level nothing is carried on


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands after a reading; instants in ms, temperatures in °C."""

    last_ms: int
    last_c: float
    until_ms: int
    """From this instant on time alone may change an answer. [ms]"""
    gap_ms: int
    above_c: float
    """The level next below the reading, or the coldest that a temperature can be. [°C]"""
    below_c: float
    """The level next above it. [°C]"""
    lowest_c: float
    """Not warmer than the coldest reading of the last ten minutes. [°C]"""
    swing_c: tuple[float, float] | None
    """Bounds of the readings of the last twenty minutes where the air beside is measured. [°C]"""
    tail: tuple[tuple[int, float], ...]
    """The readings of the last minute, and the one before them."""

    def to_facts(self) -> dict[str, Any]:
        """Return it as JSON values."""
        return asdict(self)


def standing_from(facts: dict[str, Any]) -> Standing:
    """Return what `Standing.to_facts` wrote down."""
    swing = facts["swing_c"]
    tail = tuple((int(at), float(celsius)) for at, celsius in facts["tail"])
    return Standing(**{**facts, "swing_c": None if swing is None else (swing[0], swing[1]), "tail": tail})


def carried_on(standing: Standing, at_ms: int, celsius: float) -> Standing | None:
    """Return what stands after one more reading, or ``None`` where the record has to be judged again.

    Where it is not ``None``, every verdict of the subject at `at_ms` is the one before, and so is every bracket but for
    the end that follows the last reading.
    """
    last_ms, last_c, tail = standing.last_ms, standing.last_c, standing.tail
    if not (last_ms < at_ms < standing.until_ms and at_ms - last_ms <= standing.gap_ms):
        return None
    if not standing.above_c < celsius < standing.below_c or abs(celsius - POWER_ON_C) < POWER_ON_WIDTH_C:
        return None
    lowest_c, swing = min(standing.lowest_c, celsius), standing.swing_c
    if abs(celsius - last_c) >= JUMP_C or celsius - lowest_c >= RISE_C:
        return None
    for before_ms, before_c in tail:
        if (before_c - celsius) * FALL_OVER_MS >= FALL_C * max(at_ms - before_ms, FALL_OVER_MS):
            return None
    if swing is not None:
        swing = min(swing[0], celsius), max(swing[1], celsius)
        if swing[1] - swing[0] >= SWING_C:
            return None
    kept, since_ms = 0, at_ms - FALL_OVER_MS
    while kept + 1 < len(tail) and tail[kept + 1][0] <= since_ms:
        kept += 1
    return Standing(
        at_ms,
        celsius,
        standing.until_ms,
        standing.gap_ms,
        standing.above_c,
        standing.below_c,
        lowest_c,
        swing,
        (*tail[kept:], (at_ms, celsius)),
    )


def standing_of(
    record: Record,
    judgements: Sequence[Judgement],
    limits: Limits,
    *,
    until_ms: int,
    largest_gap_ms: int | None = None,
) -> Standing | None:
    """Return what stands of a record that was judged at `until_ms`, or ``None`` where nothing can be carried on.

    Parameters
    ----------
    record, limits : what was judged by what.
    judgements : all that is asked of the subject.
    until_ms : the instant of judging. [ms]
    largest_gap_ms : the plan's watching interval, if it has one of its own. [ms]
    """
    probe = record.probe
    if not _is_plain(record, judgements, until_ms):
        return None
    last_ms, last_c = int(probe.at_ms[-1]), float(probe.celsius[-1])
    clauses = [(one.process, clause) for one in judgements for clause in one.clauses]
    levels = list(_levels(limits))
    if any(_may_turn(process, clause, last_c, levels) for process, clause in clauses):
        return None
    figures = [level.celsius for level in levels]
    above_c = max((c + BESIDE_C for c in figures if c <= last_c), default=COLDEST_C)
    below_c = min((c - BESIDE_C for c in figures if c > last_c), default=WARMEST_C)
    if not above_c < last_c < below_c:
        return None
    ends = [end for end in _ends(clauses, limits, last_ms) if end is not None and end > last_ms]
    swing = _within(probe, SWING_OVER_MS)
    return Standing(
        last_ms=last_ms,
        last_c=last_c,
        until_ms=min(ends),
        gap_ms=min(LARGEST_GAP_PROBE_MS if largest_gap_ms is None else largest_gap_ms, LARGEST_GAP_PROBE_MS),
        above_c=above_c,
        below_c=below_c,
        lowest_c=float(_within(probe, RISE_OVER_MS).min()),
        swing_c=(float(swing.min()), float(swing.max())) if len(record.air) else None,
        tail=_tail(probe),
    )


def _is_plain(record: Record, judgements: Sequence[Judgement], until_ms: int) -> bool:
    """Tell whether a record is such that readings may follow it with nothing to settle: no doubt, nothing awaited."""
    probe, hand = record.probe, record.hand
    if not len(probe) or record.medium is Medium.PRODUCT:
        return False
    last_ms = int(probe.at_ms[-1])
    if last_ms > until_ms or any(declared.at_ms >= last_ms for declared in record.declared):
        return False
    if len(hand) and int(hand.at_ms[-1]) >= last_ms - HAND_MS:
        return False
    if bool((probe.at_ms[1:] == probe.at_ms[:-1]).any()):
        return False
    return bool(judgements) and all(
        one.process in CARRIED and one.last_ms == last_ms and not one.doubts for one in judgements
    )


def _may_turn(process: object, clause: ClauseVerdict, last_c: float, levels: Iterable[Level]) -> bool:
    """Tell whether a reading on the same side of every level may change a clause."""
    if process is Process.COOLING:
        reached = clause.reached is not None and clause.reached[1] is not None
        return clause.verdict is Verdict.UNPROVEN and not reached
    if clause.verdict in {Verdict.UNPROVEN, Verdict.OPEN}:
        begins_by_itself = clause.verdict is Verdict.OPEN and not clause.spells
        return not begins_by_itself or _keeps(clause, last_c, levels)
    return bool(clause.spells) and not _keeps(clause, last_c, levels)  # a spell that goes on grows


def _keeps(clause: ClauseVerdict, last_c: float, levels: Iterable[Level]) -> bool:
    """Tell whether the last reading keeps the level of a clause of holding."""
    own = [level for level in levels if level.celsius == clause.level_c]
    return all(bool(level.keeps(np.array([last_c]))[0]) for level in own)


def _levels(limits: Limits) -> Iterator[Level]:
    """Give every level that a clause asks of cooling or holding."""
    if limits.cooling is not None:
        yield limits.cooling.start
        yield from (stage.target for stage in limits.cooling.stages)
    for process in CARRIED - {Process.COOLING}:
        held = limits.holding(process)
        if held is not None:
            yield held.level


def _ends(clauses: Iterable[tuple[object, ClauseVerdict]], limits: Limits, last_ms: int) -> Iterator[int | None]:
    """Give the instants at which time alone may change an answer."""
    for process, clause in clauses:
        yield from clause.due or ()
        yield from clause.started or ()
        if process is Process.COOLING and limits.cooling is not None:  # its clock may not have started yet
            yield last_ms + min(stage.within.ms for stage in limits.cooling.stages)
    yield last_ms + LOOK_AGAIN_MS


def _within(probe: Series, length_ms: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return the temperatures of the last stretch. [°C]."""
    first = int(np.searchsorted(probe.at_ms, int(probe.at_ms[-1]) - length_ms, side="left"))
    return probe.celsius[first:]


def _tail(probe: Series) -> tuple[tuple[int, float], ...]:
    """Return the readings of the last minute, and the one before them."""
    first = max(int(np.searchsorted(probe.at_ms, int(probe.at_ms[-1]) - FALL_OVER_MS, side="right")) - 1, 0)
    return tuple(zip(probe.at_ms[first:].tolist(), probe.celsius[first:].tolist(), strict=True))
