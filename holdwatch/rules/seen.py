"""What a rule sees of a record: judged readings, hand and probe together, in every way that doubts leave open.

Two values at one instant are both kept: `low` has the colder, `high` the warmer, and a rule takes whichever is
worse. Doubtful readings are there or not: a `Seen` is one choice, and `Prepared` holds all the choices that a
verdict must be the same under.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.readings import DeclarationKind, Medium, Record, Series, Source
from holdwatch.sieve import Doubt, SetAside, Sifted, Surroundings, sift

__all__ = ["Prepared", "Seen", "prepare"]

# Ours, from no code.
USUAL_READINGS = 20
USUAL_LEAST_MS, USUAL_MOST_MS = 2 * MS_PER_MINUTE, 15 * MS_PER_MINUTE
EVERY_CHOICE_UP_TO = 3  # doubts; beyond it all, none, each alone, all but each
EACH_ALONE_UP_TO = 12

_NO_DOUBT = Sifted(Series.empty(), np.empty(0, dtype=np.int16), (), ())


@dataclass(frozen=True, eq=False)
class Seen:
    """Judged readings under one choice of what to believe; both series have the same instants."""

    low: Series
    high: Series
    by_hand: NDArray[np.bool_]

    @property
    def contested(self) -> bool:
        """Whether some instant has two values."""
        return self.low is not self.high

    def between(self, first_ms: int, last_ms: int) -> "Seen":
        """Return what was seen from `first_ms` to `last_ms`, both included."""
        low = self.low.between(first_ms, last_ms)
        start = int(np.searchsorted(self.low.at_ms, first_ms, side="left"))
        high = self.high.between(first_ms, last_ms) if self.contested else low
        return Seen(low, high, self.by_hand[start : start + len(low)])


@dataclass(frozen=True, eq=False)
class Prepared:
    """A record after the sieve."""

    choices: tuple[Seen, ...]
    """The first believes no doubtful reading, the last believes all; one choice where there is no doubt."""
    doubts: tuple[Doubt, ...]
    """Those that a hand thermometer has settled as out of the food among them: they are not believed in any choice."""
    set_aside: tuple[SetAside, ...]
    used: int
    first_ms: int | None
    last_ms: int | None
    contested: tuple[int, ...]
    """Instants that have two values. [ms]"""
    grace_ms: int
    """Two of the probe's usual intervals: so long an answer may still be on its way. [ms]"""
    decided_ms: int | None
    """When readings that are not judged yet will be. [ms]"""
    pending: Series
    """The readings that are not judged yet."""


def prepare(
    record: Record, *, until_ms: int, now_ms: int, source: Source = Source.PROBE, out_of_food: bool = True
) -> Prepared:
    """Sift a record and lay out the choices that its doubts leave open.

    Parameters
    ----------
    record : probe, hand, declarations.
    until_ms : readings after it are not the food's; the sieve alone sees on to `now_ms`, since what comes after a spike
        shows that it was one. [ms]
    now_ms : the instant of judging, not earlier than `until_ms`. [ms]
    source : ``hand`` takes all readings as a hand thermometer's.
    out_of_food : whether the process asks if the probe is perhaps out of the food.
    """
    probe, hand = record.probe, record.hand
    if source is Source.HAND:
        probe, hand = Series.empty(), _together(record.probe, record.hand)
    known, hand = _until(probe, now_ms), _until(hand, until_ms)
    probe = _until(known, until_ms)
    around, medium = _surroundings(record, hand), record.medium
    doubled = known.at_ms[1:][known.at_ms[1:] == known.at_ms[:-1]]
    low = _sifted(_extreme(known, doubled, warmest=False), around, medium, now_ms, out_of_food=out_of_food)
    high = low
    if len(doubled):
        high = _sifted(_extreme(known, doubled, warmest=True), around, medium, now_ms, out_of_food=out_of_food)
    if len(known) > len(probe):
        low = _cut(low, until_ms)
        high = _cut(high, until_ms) if len(doubled) else low
    contested = np.unique(doubled[doubled <= until_ms])
    aside = _aside(low, high)
    first_ms, last_ms = _ends(low, high, hand)
    return Prepared(
        choices=tuple(_seen(low, high, hand, left_out) for left_out in _left_out(low, high)),
        doubts=_all_doubts(low if len(low.doubts) >= len(high.doubts) else high),
        set_aside=aside,
        used=len(probe) + len(hand) - len(aside),
        first_ms=first_ms,
        last_ms=last_ms,
        contested=tuple(contested.tolist()),
        grace_ms=_grace(probe if len(probe) else hand),
        decided_ms=min((at for at in (low.decided_ms, high.decided_ms) if at is not None), default=None),
        pending=low.pending if high is low else _together(low.pending, high.pending),
    )


def _all_doubts(sifted: Sifted) -> tuple[Doubt, ...]:
    return tuple(sorted((*sifted.doubts, *sifted.outs), key=lambda doubt: doubt.first_ms))


def _until(series: Series, until_ms: int) -> Series:
    if not len(series) or int(series.at_ms[-1]) <= until_ms:
        return series
    stop = int(np.searchsorted(series.at_ms, until_ms, side="right"))
    return Series(series.at_ms[:stop], series.celsius[:stop])


def _together(one: Series, other: Series) -> Series:
    at = np.concatenate((one.at_ms, other.at_ms))
    order = np.argsort(at, kind="stable")
    return Series(at[order], np.concatenate((one.celsius, other.celsius))[order])


def _extreme(series: Series, contested: NDArray[np.int64], *, warmest: bool) -> Series:
    """Return one reading an instant: the colder or the warmer where there are two."""
    if not len(contested):
        return series
    at, celsius = _one_an_instant(series.at_ms, series.celsius, warmest=warmest)
    return Series(at, celsius)


def _one_an_instant(
    at: NDArray[np.int64], celsius: NDArray[np.float64], *, warmest: bool
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    starts = np.flatnonzero(np.concatenate(([True], np.diff(at) > 0)))
    pick = np.fmax if warmest else np.fmin  # a NaN beside a number is no second value
    return at[starts], pick.reduceat(celsius, starts)


def _surroundings(record: Record, hand: Series) -> Surroundings:
    kind = DeclarationKind
    left_heat = record.instants(kind.LEFT_HEAT)
    steps = [d.at_ms for d in record.declared if d.kind in {kind.LEFT_HEAT, kind.PREPARED, kind.REMOVED, kind.RETURNED}]
    return Surroundings(
        placed=record.instants(kind.PLACED),
        moved=record.instants(kind.MOVED),
        steps=sorted(steps),
        left_heat_ms=left_heat[-1] if left_heat else None,
        hand=hand,
        air=record.air,
    )


def _sifted(probe: Series, around: Surroundings, medium: Medium, now_ms: int, *, out_of_food: bool) -> Sifted:
    if not len(probe):
        return _NO_DOUBT
    sifted = sift(probe, around, now_ms, out_of_food=out_of_food and medium is Medium.FOOD)
    if medium is Medium.FOOD or not sifted.doubts:
        return sifted
    return replace(sifted, doubt=np.zeros_like(sifted.doubt), doubts=())


def _aside(low: Sifted, high: Sifted) -> tuple[SetAside, ...]:
    """Return what was set aside or is doubtful, in order; a value is named once, and not where either way judges it."""
    ways = (low,) if high is low else (high, low)
    found = {(reading.at_ms, reading.celsius): reading for sifted in ways for reading in sifted.aside}
    for sifted in ways:
        for number, doubt in enumerate(sifted.doubts, 1):
            reason = _("perhaps out of the food: {why}").format(why=doubt.why)
            for at, celsius in _values(sifted, sifted.doubt == number):
                found.setdefault((at, celsius), SetAside(at, celsius, reason))
    if found and high is not low:
        for sifted in ways:
            for value in _values(sifted, sifted.doubt == 0):
                found.pop(value, None)
    return tuple(found[value] for value in sorted(found, key=lambda value: value[0]))


def _values(sifted: Sifted, chosen: NDArray[np.bool_]) -> Iterator[tuple[int, float]]:
    series = sifted.series
    return zip(series.at_ms[chosen].tolist(), series.celsius[chosen].tolist(), strict=True)


def _cut(sifted: Sifted, until_ms: int) -> Sifted:
    """Leave out what the sieve saw after the last instant of the food."""
    series, pending = _until(sifted.series, until_ms), _until(sifted.pending, until_ms)
    doubts = [
        replace(doubt, stop_index=stop, last_ms=int(series.at_ms[stop - 1]))
        for doubt in sifted.doubts
        if (stop := min(doubt.stop_index, len(series))) > doubt.first_index
    ]
    return Sifted(
        series,
        sifted.doubt[: len(series)],
        tuple(doubts),
        tuple(reading for reading in sifted.aside if reading.at_ms <= until_ms),
        sifted.decided_ms if len(pending) else None,
        pending,
        tuple(replace(out, last_ms=min(out.last_ms, until_ms)) for out in sifted.outs if out.first_ms <= until_ms),
    )


def _ends(low: Sifted, high: Sifted, hand: Series) -> tuple[int | None, int | None]:
    """Return the first and the last instant with a reading that is surely the food's. [ms]."""
    sure = [sifted.series.at_ms if not sifted.doubts else _sure(sifted) for sifted in (low, high)]
    ends = [int(at[end]) for at in (*sure, hand.at_ms) if len(at) for end in (0, -1)]
    return min(ends, default=None), max(ends, default=None)


def _sure(sifted: Sifted) -> NDArray[np.int64]:
    sure: NDArray[np.int64] = sifted.series.at_ms[sifted.doubt == 0]
    return sure


def _grace(series: Series) -> int:
    """Return two usual intervals: a usual one is the median of the last twenty, so that no answer flickers."""
    intervals = np.diff(np.unique(series.at_ms[-2 * USUAL_READINGS :]))[-USUAL_READINGS:]
    usual = int(np.median(intervals)) if len(intervals) else 0
    return 2 * min(max(usual, USUAL_LEAST_MS), USUAL_MOST_MS)


def _left_out(low: Sifted, high: Sifted) -> Iterator[frozenset[int]]:
    """Give every choice of doubts to leave out: all of them first, none of them last."""
    numbers = range(1, max(len(low.doubts), len(high.doubts)) + 1)
    if len(numbers) <= EVERY_CHOICE_UP_TO:
        for size in range(len(numbers), -1, -1):
            yield from map(frozenset, combinations(numbers, size))
        return
    yield frozenset(numbers)
    if len(numbers) <= EACH_ALONE_UP_TO:
        for number in numbers:
            yield frozenset({number})
            yield frozenset(numbers) - {number}
    yield frozenset()


def _seen(low: Sifted, high: Sifted, hand: Series, left_out: frozenset[int]) -> Seen:
    colder, by_hand = _merged(_believed(low, left_out), hand, warmest=False)
    if high is low and not _share_instants(low, hand):
        return Seen(colder, colder, by_hand)
    warmer, _ = _merged(_believed(high, left_out), hand, warmest=True)
    colder, warmer = _same_instants(colder, warmer)
    return Seen(colder, warmer, np.isin(colder.at_ms, hand.at_ms))


def _share_instants(low: Sifted, hand: Series) -> bool:
    """Return whether hand and probe, or two hand readings, share an instant."""
    return bool(len(hand)) and (
        len(np.unique(hand.at_ms)) < len(hand) or bool(np.isin(hand.at_ms, low.series.at_ms).any())
    )


def _believed(sifted: Sifted, left_out: frozenset[int]) -> Series:
    if not left_out:
        return sifted.series
    keep = ~np.isin(sifted.doubt, list(left_out))
    return Series(sifted.series.at_ms[keep], sifted.series.celsius[keep])


def _merged(probe: Series, hand: Series, *, warmest: bool) -> tuple[Series, NDArray[np.bool_]]:
    if not len(hand):
        return probe, np.zeros(len(probe), dtype=np.bool_)
    both = _together(probe, hand)
    at, celsius = _one_an_instant(both.at_ms, both.celsius, warmest=warmest)
    return Series(at, celsius), np.isin(at, hand.at_ms)


def _same_instants(colder: Series, warmer: Series) -> tuple[Series, Series]:
    """Give both series the instants of either: where one lost its value to the sieve, the other's stands in."""
    at = np.union1d(colder.at_ms, warmer.at_ms)
    return _filled(at, colder, warmer), _filled(at, warmer, colder)


def _filled(at: NDArray[np.int64], own: Series, other: Series) -> Series:
    celsius = np.empty(len(at))
    for series in (other, own):
        celsius[np.searchsorted(at, series.at_ms)] = series.celsius
    return Series(at, celsius)
