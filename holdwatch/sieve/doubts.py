"""Perhaps out of the food: stretches of readings that may be of air, of ice, of the bench.

A doubt begins with a change that food does not make by itself, and ends when the readings are back where they
were, when somebody places the probe or moves the food, or when a hand thermometer agrees.

A hand thermometer answers the question that a doubt asks. One that reads otherwise within it shows that the probe was
out: these readings are nobody's. One that agrees soon after the change shows that it never was: the food itself changed
so fast. One that agrees late only ends the doubt, since by then the food may have come down to the air by itself. One
that reads otherwise with no such change to explain it begins a doubt, back to the last time the two agreed.

All figures here are ours, from no code of practice.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.quantities import Scale, format_difference, span_c
from holdwatch.readings import Series
from holdwatch.sieve.following import air_followed

__all__ = ["Doubt", "Surroundings", "doubts_of"]

RATE_OVER_MS = MS_PER_MINUTE
FAST_FALL_C = span_c(10)  # in a minute
SLOW_FALL_C = span_c(3)  # in a minute, if also five times the mean before
SLOW_FALL_TIMES = 5.0
MEAN_OVER_MS = 10 * MS_PER_MINUTE
RISE_C = span_c(30)
RISE_MS = 10 * MS_PER_MINUTE
MOVED_MS = 5 * MS_PER_MINUTE
BACK_C = span_c(5)
HAND_MS = 5 * MS_PER_MINUTE
HAND_C = span_c(4)  # 2 °F for each of the two thermometers
AGREED_SOON_MS = 15 * MS_PER_MINUTE
SLACK_C = 1e-6

_Floats = NDArray[np.float64]
_Instants = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Surroundings:
    """What was declared and measured beside a probe; instants in ms, in order of time."""

    placed: Sequence[int] = ()
    moved: Sequence[int] = ()
    steps: Sequence[int] = ()
    """Any other declared step that may warm the food or move the probe."""
    left_heat_ms: int | None = None
    hand: Series = field(default_factory=Series.empty)
    air: Series = field(default_factory=Series.empty)


@dataclass(frozen=True)
class Doubt:
    """A stretch of readings that may not be the food's."""

    first_index: int
    stop_index: int
    """One past the last."""
    first_ms: int
    last_ms: int
    why: str
    over: bool
    """Whether it ended; if not, the probe may be out of the food still."""
    out: bool = False
    """Whether a hand thermometer showed that the probe was out of the food: the readings are not judged at all."""


@dataclass(frozen=True, eq=False)
class _Probe:
    """A probe's judged readings with what each is compared with."""

    at: _Instants
    celsius: _Floats
    around: Surroundings
    agreed: tuple[int, ...]
    """Instants of hand readings that agree with the probe. [ms]"""

    def __len__(self) -> int:
        return len(self.at)


def doubts_of(series: Series, around: Surroundings, *, out_of_food: bool = True) -> tuple[Doubt, ...]:
    """Return the stretches that may not be the food's in order, none touching another's readings; then those of nobody.

    Without `out_of_food` only a hand thermometer that reads otherwise makes a doubt.
    """
    if not len(series):
        return ()
    agreed, differing = _hand_checks(series, around.hand)
    probe = _Probe(series.at_ms, series.celsius, around, agreed)
    if not out_of_food:
        return _merged(_disagreements(probe, differing))
    ends = sorted((*around.placed, *agreed))
    changes = [
        *_changes(probe),
        *(
            _doubt(probe, first, stop, "the probe followed the air", over=stop < len(probe))
            for first, stop in air_followed(series, around.air, ends)
        ),
    ]
    doubts, outs = _settled(probe, _merged(changes), differing)
    unexplained = [at for at in differing if not any(_within(probe, out, at) for out in outs)]
    return *_merged([*doubts, *_disagreements(probe, unexplained)]), *outs


def _settled(probe: _Probe, changes: Iterable[Doubt], differing: Sequence[int]) -> tuple[list[Doubt], list[Doubt]]:
    """Return the doubts that no hand reading has answered, and the stretches in which the probe was out."""
    doubts: list[Doubt] = []
    outs: list[Doubt] = []
    for doubt in changes:
        if any(_within(probe, doubt, at) for at in differing):
            outs.append(replace(doubt, out=True))
        elif not any(doubt.first_ms < at <= doubt.first_ms + AGREED_SOON_MS for at in probe.agreed):
            doubts.append(doubt)
    return doubts, outs


def _within(probe: _Probe, doubt: Doubt, at_ms: int) -> bool:
    """Tell whether an instant lies in a doubt."""
    return doubt.first_ms <= at_ms and (doubt.stop_index == len(probe) or at_ms < int(probe.at[doubt.stop_index]))


def _doubt(probe: _Probe, first: int, stop: int, why: str, *, over: bool) -> Doubt:
    return Doubt(first, stop, int(probe.at[first]), int(probe.at[stop - 1]), why, over)


def _merged(found: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """Join doubts that share readings; the one that began first gives its reason."""
    merged: list[Doubt] = []
    for doubt in sorted(found, key=lambda d: (d.first_index, -d.stop_index)):
        if merged and doubt.first_index < merged[-1].stop_index:
            last = merged[-1]
            longer = doubt if doubt.stop_index > last.stop_index else last
            merged[-1] = Doubt(
                last.first_index, longer.stop_index, last.first_ms, longer.last_ms, last.why, longer.over
            )
        else:
            merged.append(doubt)
    return tuple(merged)


# ---------------------------------------------------------------- changes that food does not make by itself


def _changes(probe: _Probe) -> list[Doubt]:
    """Return the doubts that a fast fall or a rise begins."""
    if len(probe) < 2 or float(np.ptp(probe.celsius)) < SLOW_FALL_C:  # noqa: PLR2004 - a change needs two readings
        return []
    before, falling = _falls(probe)
    low = np.searchsorted(probe.at, probe.at - RISE_MS, side="left")
    rising = probe.celsius - _lowest_before(probe.celsius, low) > RISE_C + SLACK_C
    suspected = (falling | rising) & ~_just_moved(probe.at, probe.around.moved)
    found: list[Doubt] = []
    clean_from = 0
    for index in np.flatnonzero(suspected).tolist():
        if index <= clean_from and found:
            continue
        base = _base_of_fall(probe, int(before[index]), clean_from, index) if falling[index] else None
        fell = base is not None
        if base is None and rising[index]:
            base = _base_of_rise(probe, max(int(low[index]), clean_from), index)
        if base is None:
            continue
        stop = _end(probe, base, index, fell=fell)
        found.append(_doubt(probe, base + 1, stop, _why(probe, base, index), over=stop < len(probe)))
        clean_from = stop
        if stop == len(probe):
            break
    return found


def _falls(probe: _Probe) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return for each reading the one that a fall is measured from, and whether the fall is too fast for food.

    Where no reading is just a minute older, a minute lies between two: the fall is measured from either, so that an
    interval of 50 s does not halve the rate of a sudden fall.
    """
    at = probe.at
    outside = np.maximum(np.searchsorted(at, at - RATE_OVER_MS, side="right") - 1, 0)
    inside = np.searchsorted(at, at - RATE_OVER_MS, side="left")
    falling = _falling(probe, outside)
    sudden = _falling(probe, inside) & ~falling
    return np.where(sudden, inside, outside), falling | sudden


def _falling(probe: _Probe, before: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return which readings end a fall that is too fast for food."""
    at, celsius = probe.at, probe.celsius
    minutes = np.maximum(at - at[before], RATE_OVER_MS) / RATE_OVER_MS
    rate = (celsius[before] - celsius) / minutes
    fast: NDArray[np.bool_] = rate >= FAST_FALL_C - SLACK_C
    if not (rate >= SLOW_FALL_C - SLACK_C).any():
        return fast
    earlier = np.searchsorted(at, at[before] - MEAN_OVER_MS, side="right") - 1
    known = earlier >= 0
    earlier = np.maximum(earlier, 0)
    span = np.maximum(at[before] - at[earlier], 1) / RATE_OVER_MS
    mean = np.maximum((celsius[earlier] - celsius[before]) / span, 0.0)
    slow: NDArray[np.bool_] = known & (rate >= SLOW_FALL_C - SLACK_C) & (rate >= SLOW_FALL_TIMES * mean - SLACK_C)
    return fast | slow


def _lowest_before(celsius: _Floats, low: NDArray[np.intp]) -> _Floats:
    """Return for each reading the lowest from index `low` up to itself, by tables of doubling width."""
    n = len(celsius)
    width = np.arange(n) - low + 1
    level = np.frexp(width.astype(np.float64))[1] - 1
    lowest = np.empty(n)
    table, reach = celsius, 1
    for power in range(int(level.max()) + 1):
        here = np.flatnonzero(level == power)
        lowest[here] = np.minimum(table[low[here]], table[here - reach + 1])
        if len(table) > reach:
            table = np.minimum(table[:-reach], table[reach:])
        reach *= 2
    return lowest


def _just_moved(at: _Instants, moved: Sequence[int]) -> NDArray[np.bool_]:
    """Return which readings lie within five minutes of a declared move."""
    near = np.zeros(len(at), dtype=np.bool_)
    for instant in moved:
        near |= np.abs(at - instant) <= MOVED_MS
    return near


def _base_of_fall(probe: _Probe, before: int, clean_from: int, index: int) -> int | None:
    """Return the reading before a fall; one that reaches into an earlier doubt must be fast without it."""
    celsius = probe.celsius
    if clean_from > before:
        minutes = max(int(probe.at[index] - probe.at[clean_from]), RATE_OVER_MS) / RATE_OVER_MS
        if (celsius[clean_from] - celsius[index]) / minutes < FAST_FALL_C - SLACK_C:
            return None
    return _onset(-celsius, max(before, clean_from), index)


def _base_of_rise(probe: _Probe, start: int, index: int) -> int | None:
    """Return the reading before a rise, unless a declared step explains it or it began before `start`."""
    if start >= index:
        return None
    celsius, around = probe.celsius, probe.around
    low = start + int(celsius[start:index].argmin())
    if celsius[index] - celsius[low] <= RISE_C + SLACK_C:
        return None
    rise_ends = int(probe.at[index])
    if around.left_heat_ms is not None and rise_ends <= around.left_heat_ms:
        return None
    declared = (*around.placed, *around.moved, *around.steps)
    if any(int(probe.at[low]) - MOVED_MS <= step <= rise_ends for step in declared):
        return None
    return _onset(celsius, low, index)


def _onset(celsius: _Floats, start: int, index: int) -> int:
    """Return the reading before the first large step of a rise between two readings."""
    steps = np.diff(celsius[start : index + 1])
    return start + int((steps >= steps.max() / 2).argmax())


def _end(probe: _Probe, base: int, index: int, *, fell: bool) -> int:
    """Return the first reading that is the food's again, or one past the last."""
    celsius = probe.celsius
    sign = 1.0 if fell else -1.0
    stop = _first_at_least(sign * celsius[base] - BACK_C - SLACK_C, celsius, sign, index + 1)
    began = int(probe.at[base + 1])
    for instant in (*probe.around.placed, *probe.around.moved, *probe.agreed):
        if instant > began:
            stop = min(stop, int(np.searchsorted(probe.at, instant, side="left")))
    return max(stop, base + 2)


def _first_at_least(level_c: float, celsius: _Floats, sign: float, start: int) -> int:
    """Return the first index from `start` on whose value times `sign` is at least a level, or one past the last.

    It looks in pieces of growing length: many doubts in a long record do not each look through all of it.
    """
    length = 64
    while start < len(celsius):
        found = np.flatnonzero(sign * celsius[start : start + length] >= level_c)
        if len(found):
            return start + int(found[0])
        start += length
        length *= 2
    return len(celsius)


def _why(probe: _Probe, base: int, index: int) -> str:
    change = float(probe.celsius[index] - probe.celsius[base])
    word = "fell" if change < 0 else "rose"
    minutes = max(round(int(probe.at[index] - probe.at[base]) / MS_PER_MINUTE), 1)
    amount = f"{format_difference(change, Scale.F)} ({format_difference(change, Scale.C)})".replace("\u202f", " ")
    return f"the probe {word} {amount} within {minutes} min"


# ---------------------------------------------------------------- the hand thermometer beside it


def _hand_checks(series: Series, hand: Series) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the instants (ms) of hand readings that agree with the probe, and of those that differ."""
    agreed: list[int] = []
    differing: list[int] = []
    for at, celsius in zip(hand.at_ms.tolist(), hand.celsius.tolist(), strict=True):
        after = int(np.searchsorted(series.at_ms, at, side="left"))
        beside = [
            float(series.celsius[n])
            for n in (after - 1, after)
            if 0 <= n < len(series) and abs(int(series.at_ms[n]) - at) <= HAND_MS
        ]
        if not beside:
            continue
        fits = min(beside) - HAND_C - SLACK_C <= celsius <= max(beside) + HAND_C + SLACK_C
        (agreed if fits else differing).append(at)
    return tuple(agreed), tuple(differing)


def _disagreements(probe: _Probe, differing: Iterable[int]) -> list[Doubt]:
    """Return the doubts that hand readings begin: from the last agreement to the next."""
    known = sorted((*probe.agreed, *probe.around.placed))
    found = []
    for at in differing:
        since = max((instant for instant in known if instant < at), default=None)
        ends = min((instant for instant in known if instant > at), default=None)
        first = 0 if since is None else int(np.searchsorted(probe.at, since, side="right"))
        stop = len(probe) if ends is None else int(np.searchsorted(probe.at, ends, side="left"))
        if first < stop:
            found.append(_doubt(probe, first, stop, "a hand thermometer read otherwise", over=ends is not None))
    return found
