"""Holding: the food kept at or below, or at or above, a level over a period.

=========  =====================================================================================
missed     one reading in the period is beyond the level, and no tolerance of the code bears the spell
unproven   neighbouring readings, or an end of the period and the reading next to it, are further
           apart than the largest gap, an absence between them not counted; or there is one reading
           and no period was named; or none; or a part between two absences has no reading, and all
           the parts are longer than that gap
open       the last readings are not judged yet, and one of them is beyond the level, or without them
           an end is not covered
met        otherwise
=========  =====================================================================================

From ``removed`` to ``returned`` the food is in preparation or under time control: holding is not asked of it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.blocks import places
from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.crossings import Run, farthest, gaps, runs, unbroken
from holdwatch.language import _, many
from holdwatch.limits.model import HoldingLimits
from holdwatch.quantities import Side, format_duration
from holdwatch.readings import Series
from holdwatch.rules.answers import reading
from holdwatch.rules.context import Context
from holdwatch.rules.seen import Seen
from holdwatch.rules.tolerance import judge_spells
from holdwatch.rules.verdicts import ClauseVerdict, Spell, Verdict

__all__ = ["Gap", "Period", "begins_after_cooling", "holes", "judge_holding", "spells_of"]

# Ours, from no code.
LARGEST_GAP_PROBE_MS = 20 * MS_PER_MINUTE
LARGEST_GAP_HAND_MS = 4 * MS_PER_HOUR
COLD_FOR_MS = 30 * MS_PER_MINUTE


@dataclass(frozen=True)
class Gap:
    """The largest gap between readings that a period bears: of a probe, and between two hand checks."""

    probe_ms: int = LARGEST_GAP_PROBE_MS
    hand_ms: int = LARGEST_GAP_HAND_MS

    def between(self, by_hand: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Return the largest gap after each reading but the last: the longer one only between two hand checks."""
        if not by_hand.any():  # a view of one figure, however long the record
            return np.broadcast_to(np.int64(self.probe_ms), max(len(by_hand) - 1, 0))
        return np.where(by_hand[:-1] & by_hand[1:], np.int64(self.hand_ms), np.int64(self.probe_ms))

    def at(self, by_hand: bool) -> int:
        """Return the largest gap between a reading and an end of the period."""
        return self.hand_ms if by_hand else self.probe_ms


@dataclass(frozen=True)
class Period:
    """The period of holding, in ms; ``from_ms`` is ``None`` where nobody named its start."""

    from_ms: int | None
    until_ms: int


def judge_holding(limit: HoldingLimits, seen: Seen, period: Period, gap: Gap, context: Context) -> ClauseVerdict:
    """Return whether the level was kept over the period."""
    worst = seen.high if limit.level.side is Side.AT_MOST else seen.low
    first, stop = _inside(worst.at_ms, period)
    series, by_hand = Series(worst.at_ms[first:stop], worst.celsius[first:stop]), seen.by_hand[first:stop]
    read_ms = series.at_ms
    if context.away:
        asked = ~_away(series.at_ms, context.away)
        series, by_hand = Series(series.at_ms[asked], series.celsius[asked]), by_hand[asked]
    telling = _Telling(limit, series, by_hand, context)
    verdict, reason, spells = _verdict(limit, series, by_hand, read_ms, period, gap, telling)
    begins = period.from_ms if period.from_ms is not None or not len(series) else int(series.at_ms[0])
    return ClauseVerdict(
        clause=limit.clause,
        source=limit.source,
        requires=limit.requires,
        verdict=verdict,
        reason=reason + telling.suspended(period),
        level_c=limit.level.celsius,
        started=(begins, begins),
        spells=spells,
    )


def _inside(at_ms: NDArray[np.int64], period: Period) -> tuple[int, int]:
    """Return the first reading of the period, and one past the last."""
    first = 0 if period.from_ms is None else int(np.searchsorted(at_ms, period.from_ms, side="left"))
    return first, max(first, int(np.searchsorted(at_ms, period.until_ms, side="right")))


def _verdict(
    limit: HoldingLimits,
    series: Series,
    by_hand: NDArray[np.bool_],
    read_ms: NDArray[np.int64],
    period: Period,
    gap: Gap,
    telling: "_Telling",
) -> tuple[Verdict, str, tuple[Spell, ...]]:
    spells = spells_of(series, limit)
    borne = ""
    if spells:
        verdict, borne = _bearing(limit, spells, series, gap.between(by_hand), period, telling.context)
        if verdict is not Verdict.MET:
            return verdict, telling.missed(spells) + borne, spells
    not_shown = _not_shown(series, by_hand, read_ms, period, gap, telling)
    if not_shown is not None:
        return *not_shown, spells
    beyond = _pending_beyond(limit, period, telling.context)
    if beyond is not None:
        return Verdict.OPEN, telling.undecided(*beyond), spells
    return Verdict.MET, telling.missed(spells) + borne if spells else telling.met(), spells


def _not_shown(
    series: Series,
    by_hand: NDArray[np.bool_],
    read_ms: NDArray[np.int64],
    period: Period,
    gap: Gap,
    telling: "_Telling",
) -> tuple[Verdict, str] | None:
    """Return why the period is not covered, or ``None`` if it is."""
    away = telling.context.away
    awaited = Verdict.OPEN if telling.context.waiting else Verdict.UNPROVEN
    if not len(series):
        return awaited, telling.nothing()
    inside = _holes_inside(series, by_hand, read_ms, period, gap, away)
    if inside:
        return Verdict.UNPROVEN, telling.hole(inside)
    if len(series) == 1 and period.from_ms is None:
        return awaited, telling.single()
    ends = _uncovered_ends(series, by_hand, period, gap, away)
    if ends:
        late_only = ends[0][0] >= int(series.at_ms[-1])
        return (awaited if late_only else Verdict.UNPROVEN), telling.hole(ends)
    return None


def _bearing(
    limit: HoldingLimits,
    spells: tuple[Spell, ...],
    series: Series,
    largest_ms: NDArray[np.int64],
    period: Period,
    context: Context,
) -> tuple[Verdict, str]:
    """Return whether the code bears the spells; without a tolerance none is borne."""
    if limit.tolerance is None:
        return Verdict.MISSED, ""
    bounds = (period.from_ms, period.until_ms)
    verdict, sentence = judge_spells(limit.tolerance, spells, series, largest_ms, bounds, context)
    return verdict, f" {sentence}"


def _pending_beyond(limit: HoldingLimits, period: Period, context: Context) -> tuple[int, float] | None:
    """Return the first reading (ms, °C) beyond the level that is not judged yet, or ``None``."""
    at, celsius = context.pending.at_ms, context.pending.celsius
    asked = (at <= period.until_ms) & ~_away(at, context.away)
    if period.from_ms is not None:
        asked &= at >= period.from_ms
    beyond = np.flatnonzero(asked & ~limit.level.keeps(celsius))
    return (int(at[beyond[0]]), float(celsius[beyond[0]])) if len(beyond) else None


def spells_of(series: Series, limit: HoldingLimits) -> tuple[Spell, ...]:
    """Return the spells beyond the level, each end between the readings that show it."""
    beyond = ~limit.level.keeps(series.celsius)
    return tuple(_spell(run, series, limit.level.side) for run in runs(series.at_ms, beyond))


def _spell(run: Run, series: Series, side: Side) -> Spell:
    extreme = farthest(series.celsius[run.first_index : run.last_index + 1], side)
    return Spell((run.before_ms, run.first_ms), (run.last_ms, run.after_ms), extreme, run.readings)


# ---------------------------------------------------------------- whether the period is covered


def _away(at: NDArray[np.int64], away: Sequence[tuple[int, int | None]]) -> NDArray[np.bool_]:
    """Return which readings fall into a declared preparation; the return itself does not."""
    out = np.zeros(len(at), dtype=np.bool_)
    for first, last in away:
        out |= (at >= first) & ((at < last) if last is not None else True)
    return out


def holes(seen: Seen, gap: Gap) -> tuple[tuple[int, int], ...]:
    """Return the stretches between readings that are longer than the largest gap."""
    return gaps(seen.low.at_ms, gap.between(seen.by_hand))


def _holes_inside(
    series: Series,
    by_hand: NDArray[np.bool_],
    read_ms: NDArray[np.int64],
    period: Period,
    gap: Gap,
    away: Sequence[tuple[int, int | None]],
) -> tuple[tuple[int, int], ...]:
    """Return the holes between readings that no declared preparation shortens to the largest gap.

    What was read in the preparation itself (`read_ms` has it too) is not judged, but somebody looked: without it the
    parts before and after are one hole.
    """
    between = gap.between(by_hand)
    earlier, later = series.at_ms[:-1], series.at_ms[1:]
    wide = places(len(later), lambda part: later[part] - earlier[part] > between[part]).tolist()
    found = []
    for index in wide:
        beside = {int(series.at_ms[at]): gap.at(bool(by_hand[at])) for at in (index, index + 1)}
        first, last = beside
        looked = np.searchsorted(read_ms, last) > np.searchsorted(read_ms, first) + 1
        parts = _asked(first, last, away, period)
        if not looked and _length(parts) > max(beside.values()):
            found += parts
        else:
            found += _unread(first, last, beside, away, period)
    return tuple(found)


def _uncovered_ends(
    series: Series,
    by_hand: NDArray[np.bool_],
    period: Period,
    gap: Gap,
    away: Sequence[tuple[int, int | None]],
) -> tuple[tuple[int, int], ...]:
    """Return the ends of the period that lie further from a reading than the largest gap."""
    first, last = int(series.at_ms[0]), int(series.at_ms[-1])
    begins = period.from_ms if period.from_ms is not None else first
    ends = [(begins, first, first, bool(by_hand[0])), (last, period.until_ms, last, bool(by_hand[-1]))]
    return tuple(
        part for low, high, read, hand in ends for part in _unread(low, high, {read: gap.at(hand)}, away, period)
    )


def _unread(
    first: int, last: int, beside: Mapping[int, int], away: Sequence[tuple[int, int | None]], period: Period
) -> list[tuple[int, int]]:
    """Return the parts of a stretch without readings that are not covered by the readings beside it.

    `beside` has the instants of these readings, each with its largest gap. A part that touches none of them is covered
    only where all the parts together are no longer than that.
    """
    parts = _asked(first, last, away, period)
    if _length(parts) <= min(beside.values()):
        return []
    return [(start, stop) for start, stop in parts if stop - start > _borne(start, stop, beside)]


def _length(parts: Sequence[tuple[int, int]]) -> int:
    return sum(stop - start for start, stop in parts)


def _borne(start: int, stop: int, beside: Mapping[int, int]) -> int:
    """Return how long a part may be for the readings at its ends, in ms: none where there is no reading."""
    return min((beside[at] for at in (start, stop) if at in beside), default=0)


def _asked(first: int, last: int, away: Sequence[tuple[int, int | None]], period: Period) -> list[tuple[int, int]]:
    """Return the parts of a stretch in which holding is asked."""
    parts = [(first, last)]
    for start, stop in away:
        end = stop if stop is not None else period.until_ms
        parts = [
            piece
            for low, high in parts
            for piece in ((low, min(high, start)), (max(low, end), high))
            if piece[1] > piece[0]
        ]
    return parts


# ---------------------------------------------------------------- after cooling


def begins_after_cooling(limit: HoldingLimits, seen: Seen, gap: Gap, allowance_ends_ms: int | None) -> int | None:
    """Return when cold holding begins: after 30 min unbroken at the level, or when the cooling allowance ends."""
    cold = unbroken(seen.low, limit.level, length_ms=COLD_FOR_MS, largest_ms=gap.between(seen.by_hand))
    return min((at for at in (cold, allowance_ends_ms) if at is not None), default=None)


# ---------------------------------------------------------------- the reasons


@dataclass(frozen=True, eq=False)
class _Telling:
    """Puts holding into words; each sentence names the reading that decides."""

    limit: HoldingLimits
    series: Series
    by_hand: NDArray[np.bool_]
    context: Context

    def _degrees(self, celsius: float) -> str:
        return self.context.words.temperature(celsius, self.limit.level.scale)

    def _when(self, at_ms: int) -> str:
        return self.context.words.when(at_ms)

    def _at(self, index: int) -> str:
        return reading(self.series, index, self.limit.level.scale, self.context)

    def met(self) -> str:
        extreme = farthest(self.series.celsius, self.limit.level.side)
        index = int(np.flatnonzero(self.series.celsius == extreme)[0])
        if bool(self.by_hand.all()):
            how = many("Kept, by {count} check", "Kept, by {count} checks", len(self.series))
        else:
            how = many(
                "Kept in {count} reading without a gap", "Kept in {count} readings without a gap", len(self.series)
            )
        said = (
            _("{how}: {level}; the warmest was {reading}.")
            if self.limit.level.side is Side.AT_MOST
            else _("{how}: {level}; the coldest was {reading}.")
        )
        return said.format(how=how, level=self.limit.level.within, reading=self._at(index))

    def missed(self, spells: Sequence[Spell]) -> str:
        first = spells[0]
        begins = first.begins[1]
        index = int(np.searchsorted(self.series.at_ms, begins, side="left"))
        total = sum(spell.readings for spell in spells)
        said = _("{reading}, {level}.").format(reading=self._at(index), level=self.limit.level.beyond)
        if total == 1:
            return said
        extreme = farthest(np.array([spell.extreme_c for spell in spells]), self.limit.level.side)
        more = many(
            "{total} such readings in {count} spell, farthest {degrees}",
            "{total} such readings in {count} spells, farthest {degrees}",
            len(spells),
            total=total,
            degrees=self._degrees(extreme),
        )
        return f"{said[:-1]}; {more}."

    def undecided(self, at_ms: int, celsius: float) -> str:
        return _(
            "Kept up to the reading before {degrees} at {time}, which is not judged yet: whether it is the food's is "
            "decided within 3 min."
        ).format(degrees=self._degrees(celsius), time=self._when(at_ms))

    def nothing(self) -> str:
        return _("There is no reading of the period to judge.")

    def single(self) -> str:
        return _("There is only one reading, {reading}, and no period was named.").format(reading=self._at(0))

    def hole(self, found: Sequence[tuple[int, int]]) -> str:
        first, last = max(found, key=lambda hole: hole[1] - hole[0])
        return many(
            "No reading for {length}, from {first} to {last}: whether it kept {level} is not shown.",
            "No reading for {length}, from {first} to {last}: whether it kept {level} is not shown "
            "({count} such gaps, this is the longest).",
            len(found),
            length=format_duration(last - first),
            first=self._when(first),
            last=self._when(last),
            level=self.limit.level.within,
        )

    def suspended(self, period: Period) -> str:
        """Tell of declared preparation, and how long it took."""
        parts = []
        for start, stop in self.context.away:
            if start > period.until_ms or (stop is not None and period.from_ms is not None and stop <= period.from_ms):
                continue
            if stop is None:
                said = _("Not asked for {length} so far, since {time}: removed, not returned.")
            else:
                said = _("Not asked for {length} from {time}: removed until returned.")
            length = format_duration((period.until_ms if stop is None else stop) - start)
            parts.append(" " + said.format(length=length, time=self._when(start)))
        return "".join(parts)
