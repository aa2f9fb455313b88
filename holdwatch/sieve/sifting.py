"""Taking out of a probe's series what is not the food's temperature.

Nothing is thrown away. A reading is either judged, or set aside with its reason, or doubtful: perhaps the probe
was out of the food. Doubtful readings stay in the series, numbered by the doubt they belong to, so that a rule can
be asked with and without them. A hand thermometer is held by somebody who looks; it is not sieved.

All figures here are ours, from no code of practice.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from holdwatch.blocks import places
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import N_, _
from holdwatch.quantities import celsius_of_f, span_c
from holdwatch.readings import Series
from holdwatch.sieve.doubts import Doubt, Surroundings, doubts_of

__all__ = ["SetAside", "Sifted", "sift"]

COLDEST_C, WARMEST_C = -60.0, 300.0
POWER_ON_C = 85.0  # what one common chip answers before its first conversion
POWER_ON_WIDTH_C = 0.01
SETTLING_MS = 3 * MS_PER_MINUTE
WARM_FOOD_C = celsius_of_f(70)  # a probe comes from about room temperature: warmer food is approached from below
SPIKE_C = span_c(20)
SPIKE_BACK_C = span_c(5)
SPIKE_MS = 2 * MS_PER_MINUTE
SLACK_C = 1e-6  # absorbs conversion between scales

NOT_A_TEMPERATURE = N_("not a temperature of food: outside −60 to 300 °C")
POWER_ON = N_("a power-on value: 85 °C standing alone among others")
UNPLACED = N_("before the probe was placed")
SETTLING = N_("settling: the probe had just been placed")
SETTLING_NOW = N_("settling: not judged until 3 min after the probe was placed")
SPIKE = N_("a spike: more than 20 °F from its neighbours and back inside 2 min")
OUT = N_("out of the food: {why}, and a hand thermometer read otherwise")
UNDECIDED = N_(
    "not judged yet: more than 20 °F from the reading before; the next readings, or 2 min, tell whether it is a spike"
)


@dataclass(frozen=True)
class SetAside:
    """A reading that was kept and shown but not judged, and why."""

    at_ms: int
    celsius: float
    reason: str


@dataclass(frozen=True, eq=False)
class Sifted:
    """What is left of a probe's series to judge."""

    series: Series
    """The readings to judge, the doubtful ones among them."""
    doubt: NDArray[np.int16]
    """For each of them the number of its doubt, from 1; 0 where there is none."""
    doubts: tuple[Doubt, ...]
    aside: tuple[SetAside, ...]
    decided_ms: int | None = None
    """When time alone decides about readings that are not judged yet. [ms]"""
    pending: Series = field(default_factory=Series.empty)
    """The readings that are not judged yet; they are among those set aside."""
    outs: tuple[Doubt, ...] = ()
    """Stretches in which the probe was out of the food, as a hand thermometer showed; they are set aside, and their
    indices are of no use any more."""


@dataclass(eq=False)
class _Sieve:
    """The series on its way through the sieve: which readings are still in."""

    at: NDArray[np.int64]
    celsius: NDArray[np.float64]
    until_ms: int
    inside: NDArray[np.bool_] = field(init=False)
    aside: list[SetAside] = field(default_factory=list)
    decided_ms: int | None = None
    pending: NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        self.inside = np.ones(len(self.at), dtype=np.bool_)
        self.pending = np.zeros(len(self.at), dtype=np.bool_)

    def left(self) -> NDArray[np.intp]:
        """Return the indices of the readings that are in."""
        return np.flatnonzero(self.inside)

    def rest(self) -> Series:
        """Return the readings that are in."""
        if self.inside.all():  # no copy of a long record of which nothing was taken out
            return Series(self.at, self.celsius)
        return Series(self.at[self.inside], self.celsius[self.inside])

    def take_out(self, indices: NDArray[np.intp], reason: str, why: str = "") -> None:
        """Set readings aside, for a reason that is looked up here."""
        reason = _(reason).format(why=why)
        for index in indices.tolist():
            self.aside.append(SetAside(int(self.at[index]), float(self.celsius[index]), reason))
        self.inside[indices] = False

    def put_off(self, indices: NDArray[np.intp], reason: str, at_ms: int) -> None:
        """Set readings aside that are not judged before an instant."""
        self.take_out(indices, reason)
        self.pending[indices] = True
        self.decided_ms = at_ms if self.decided_ms is None else min(self.decided_ms, at_ms)


def sift(probe: Series, around: Surroundings, until_ms: int, *, out_of_food: bool = True) -> Sifted:
    """Return what of a probe's readings up to `until_ms` is to be judged.

    Parameters
    ----------
    probe : one reading an instant, at most.
    around : what was declared and measured beside the probe.
    until_ms : the instant of judging. [ms]
    out_of_food : whether the process asks if the probe is perhaps out of the food.
    """
    sieve = _Sieve(probe.at_ms, probe.celsius, until_ms)
    _not_temperatures(sieve)
    _unplaced(sieve, around.placed)
    for placed in around.placed:
        _settling(sieve, placed)
    _spikes(sieve)
    rest = sieve.rest()
    every = doubts_of(rest, around, out_of_food=out_of_food)
    number, doubts, outs = (
        np.zeros(len(rest), dtype=np.int16),
        [d for d in every if not d.out],
        [d for d in every if d.out],
    )
    left = sieve.left() if outs else np.empty(0, dtype=np.intp)
    for n, doubt in enumerate(doubts, 1):
        number[doubt.first_index : doubt.stop_index] = n
    for out in outs:
        sieve.take_out(left[out.first_index : out.stop_index], OUT, out.why)
    if outs:
        number, rest = number[sieve.inside[left]], sieve.rest()
        doubts = _numbered_anew(doubts, number, rest)
    aside = sorted(sieve.aside, key=lambda reading: reading.at_ms)
    pending = Series(sieve.at[sieve.pending], sieve.celsius[sieve.pending])
    return Sifted(rest, number, tuple(doubts), tuple(aside), sieve.decided_ms, pending, tuple(outs))


def _numbered_anew(doubts: Sequence[Doubt], number: NDArray[np.int16], rest: Series) -> list[Doubt]:
    """Return the doubts as they lie in what is left; one of which nothing is left is none any more."""
    kept: list[Doubt] = []
    for n, doubt in enumerate(doubts, 1):
        own = np.flatnonzero(number == n)
        if len(own):
            first, last = int(own[0]), int(own[-1])
            first_ms, last_ms = int(rest.at_ms[first]), int(rest.at_ms[last])
            kept.append(replace(doubt, first_index=first, stop_index=last + 1, first_ms=first_ms, last_ms=last_ms))
            number[own] = len(kept)
    return kept


def _not_temperatures(sieve: _Sieve) -> None:
    celsius = sieve.celsius
    impossible = places(  # NaN as well
        len(celsius), lambda part: ~((celsius[part] >= COLDEST_C) & (celsius[part] <= WARMEST_C))
    )
    sieve.take_out(impossible, NOT_A_TEMPERATURE)
    rest = sieve.rest().celsius
    power_on = places(len(rest), lambda part: np.abs(rest[part] - POWER_ON_C) < POWER_ON_WIDTH_C)
    if not len(power_on):
        return
    left = sieve.left()
    alone = [left[n] for n in power_on.tolist() if _stands_alone(rest, n)]
    sieve.take_out(np.array(alone, dtype=np.intp), POWER_ON)


def _stands_alone(celsius: NDArray[np.float64], index: int) -> bool:
    """Return whether a reading stands out from its neighbours, and from both to the same side."""
    beside = [float(celsius[n]) - float(celsius[index]) for n in (index - 1, index + 1) if 0 <= n < len(celsius)]
    return bool(beside) and (min(beside) > SPIKE_C or max(beside) < -SPIKE_C)


def _unplaced(sieve: _Sieve, placed: Sequence[int]) -> None:
    if placed:
        early = sieve.inside & (sieve.at < placed[0])
        sieve.take_out(np.flatnonzero(early), UNPLACED)


def _settling(sieve: _Sieve, placed_ms: int) -> None:
    """Set aside what a probe read on its way to the food's temperature."""
    ends = placed_ms + SETTLING_MS
    first, stop = np.searchsorted(sieve.at, placed_ms, "left"), np.searchsorted(sieve.at, ends, "right")
    window = first + np.flatnonzero(sieve.inside[first:stop])
    if not len(window):
        return
    if sieve.until_ms < ends:
        sieve.put_off(window, SETTLING_NOW, ends)
        return
    readings = sieve.celsius[window]
    settled = int(readings.argmax() if readings[-1] > WARM_FOOD_C else readings.argmin())
    sieve.take_out(window[:settled], SETTLING)


def _spikes(sieve: _Sieve) -> None:
    """Set aside spikes, and the last readings where they may still turn out to be one."""
    rest = sieve.rest()
    at, celsius = rest.at_ms, rest.celsius
    earlier, later = celsius[:-1], celsius[1:]
    jumps = places(len(later), lambda part: np.abs(later[part] - earlier[part]) > SPIKE_C + SLACK_C) + 1
    if not len(jumps):
        return
    left, clean_from = sieve.left(), 0
    for jump in jumps.tolist():
        if jump <= clean_from:
            continue
        last = int(np.searchsorted(at, at[jump] + SPIKE_MS, side="right"))
        back = np.flatnonzero(np.abs(celsius[jump + 1 : last] - celsius[jump - 1]) <= SPIKE_BACK_C + SLACK_C)
        if len(back):
            clean_from = jump + 1 + int(back[0])
            sieve.take_out(left[jump:clean_from], SPIKE)
        elif sieve.until_ms < at[jump] + SPIKE_MS:
            sieve.put_off(left[jump:], UNDECIDED, int(at[jump]) + SPIKE_MS)
            return
