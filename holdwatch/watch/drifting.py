"""A unit that fails, told from its air before its food is warm; a defrost or an open door calls nobody.

Air breaks no food limit, so what is told is *soon*. What counts is the food that the air leads to, by the unit's own lag.
While the air is beyond the level, somebody is told when

* the food is estimated beyond it too, for a quarter of an hour on end; or, where the lag was set or learned, as soon as it is
  beyond it or would be even if the air came back from now on; or
* the air has been beyond it for 35 minutes on end and is not coming back, and the food would be beyond it within two
  hours if the air stays: a timed defrost has turned by then, a stopped compressor has not.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.readings import Medium, Series
from holdwatch.rules.verdicts import Judgement, Process, Verdict
from holdwatch.science.foodlag import COLDEST_C, LONGEST_GAP_MIN, WARMEST_C, lagged_c
from holdwatch.storage.out_of_use import rests
from holdwatch.storage.readings import load_series
from holdwatch.storage.unit_lag import UnitLag, food_lag
from holdwatch.watch.resting import in_use_only
from holdwatch.watch.site import InForce
from holdwatch.watch.spells import Group, group_spells
from holdwatch.watch.unitdays import Post

__all__ = ["Drift", "drifting", "drifts_of", "told_of"]

FOOD_BEYOND_MS = 15 * MS_PER_MINUTE
"""Ours: so long on end where nobody knows how slowly the food there follows."""
COMES_BACK_MIN = 6.0
"""Ours: the time constant with which a machine that runs brings its air back to the level, at best."""
AIR_BEYOND_MS = 35 * MS_PER_MINUTE
"""Ours; a timed defrost lasts 20 to 30 min (common practice, no source)."""
AHEAD_MS = 2 * MS_PER_HOUR
SEEN_BEYOND_MS = 5 * MS_PER_MINUTE
"""Ours: shorter is a door."""
BEFORE_MS = 12 * MS_PER_HOUR
"""Ours: so much of the air before a spell the food is followed through."""
TURNING_MS = 10 * MS_PER_MINUTE
TURNING_C = 0.3

Array = NDArray[np.float64]
Instants = NDArray[np.int64]


@dataclass(frozen=True)
class Drift:
    """What the air of a unit leads to."""

    told_ms: int
    """From which reading on it is worth telling."""
    food_c: float
    """The food estimated at the last reading of the spell."""
    beyond_ms: int | None
    """When the food is estimated to cross the level if the air stays as it is; ``None`` if it is beyond or will not."""
    is_beyond: bool
    lag_min: float


def drifts_of(session: Session, post: Post, whole: Judgement | None) -> dict[tuple[str, int], Drift]:
    """Return the spells of air that are worth telling, each by its clause and its first reading. [ms].

    Of a limit that is written for air itself nothing is to be estimated.
    """
    if whole is None or post.probe.medium != Medium.AIR:
        return {}
    found: dict[tuple[str, int], Drift] = {}
    for clause in whole.clauses:
        if clause.verdict is not Verdict.NONE:
            continue
        level_c = clause.level_c or 0.0
        groups = [
            group for group in group_spells(clause.spells, whole.last_ms, level_c) if group.longest_ms >= SEEN_BEYOND_MS
        ]
        if not groups:
            continue
        first_ms, last_ms = groups[0].first_ms - BEFORE_MS, max(group.last_ms for group in groups)
        aside = {(reading.at_ms, reading.celsius) for reading in whole.set_aside}
        out_of_use = rests(session, post.unit.id, first_ms, last_ms)
        air = in_use_only(load_series(session, post.probe.id or 0, first_ms, last_ms), out_of_use)
        air = _real(air, aside)
        rising = post.process is not Process.HOT_HOLDING
        led: dict[UnitLag, _Led] = {}
        for group in groups:
            lag = food_lag(session, post.unit.id or 0, group.last_ms)
            if lag not in led:
                led[lag] = _Led.by(air, level_c, rising=rising, lag=lag)
            drift = led[lag].drift(group)
            if drift is not None:
                found[clause.clause, group.first_ms] = drift
    return found


def drifting(air: Series, group: Group, *, level_c: float, rising: bool, lag: UnitLag) -> Drift | None:
    """Return what a spell of air leads to, or ``None`` while it is not worth telling.

    Parameters
    ----------
    air : the air from some hours before the spell to its last reading.
    group : the spell, or spells told as one.
    level_c : the level of the food's limit. [°C]
    rising : whether food is to stay below it; else above.
    lag : how slowly the food follows.
    """
    return _Led.by(air, level_c, rising=rising, lag=lag).drift(group)


@dataclass(frozen=True, eq=False)
class _Led:
    """Air, and the food that it leads to: how far each is beyond the level, and since when."""

    at: Instants
    beyond: Array
    food: Array
    level_c: float
    sign: float
    lag: UnitLag

    @classmethod
    def by(cls, air: Series, level_c: float, *, rising: bool, lag: UnitLag) -> "_Led":
        """Follow the food through a series of air."""
        sign = 1.0 if rising else -1.0
        beyond = sign * (air.celsius - level_c)
        return cls(air.at_ms, beyond, _food(air.at_ms, beyond, lag.lag_min), level_c, sign, lag)

    def drift(self, group: Group) -> Drift | None:
        """Return what one spell leads to."""
        told_ms = self._told_ms(group)
        if told_ms is None:
            return None
        last = int(np.searchsorted(self.at, group.last_ms, side="right")) - 1
        food, to_level_ms = float(self.food[last]), float(self._to_level_ms[last])
        soon = food <= 0 and to_level_ms <= AHEAD_MS
        return Drift(
            told_ms=told_ms,
            food_c=self.level_c + self.sign * food,
            beyond_ms=int(self.at[last] + to_level_ms) if soon else None,
            is_beyond=food > 0,
            lag_min=self.lag.lag_min,
        )

    def _told_ms(self, group: Group) -> int | None:
        """Return the first reading of a spell that is worth telling."""
        begin = int(np.searchsorted(self.at, group.first_ms, side="left"))
        end = int(np.searchsorted(self.at, group.last_ms, side="right"))
        leads, stays = self._leads, self._stays
        for n in (begin + np.flatnonzero(leads[begin:end] | stays[begin:end])).tolist():
            if (leads[n] and (not self._known or self._comes_anyway(n))) or (stays[n] and not self._turns(n)):
                return int(self.at[n])
        return None

    @property
    def _known(self) -> bool:
        """Whether somebody set or learned the lag."""
        return self.lag.since_ms is not None

    @cached_property
    def _leads(self) -> NDArray[np.bool_]:
        """At which readings the food is beyond the level, or may come to be anyway."""
        if not self._known:
            warm = self.at - _runs_since(self.at, (self.food > 0) & (self.beyond > 0)) >= FOOD_BEYOND_MS
            return (self.beyond > 0) & (self.food > 0) & warm
        heard = self.at - _runs_since(self.at, np.ones_like(self.at, dtype=np.bool_)) >= self._lag_ms
        return (self.beyond > 0) & heard & (self.food + self._still_share * self.beyond > 0)

    @cached_property
    def _stays(self) -> NDArray[np.bool_]:
        """At which readings the air has been beyond the level for long, and the food is not far from it."""
        away = self.at - _runs_since(self.at, self.beyond > 0) >= AIR_BEYOND_MS
        return (self.beyond > 0) & away & (self._to_level_ms <= AHEAD_MS)

    @property
    def _lag_ms(self) -> float:
        return self.lag.lag_min * MS_PER_MINUTE

    @cached_property
    def _to_level_ms(self) -> Array:
        """How long the food needs to the level if the air stays; infinite if it never gets there. [ms]."""
        ratio = np.where(
            self.beyond > 0, (self.beyond - self.food) / np.where(self.beyond > 0, self.beyond, 1.0), np.inf
        )
        return np.where(self.food > 0, 0.0, self._lag_ms * np.log(np.maximum(ratio, 1.0)))

    @property
    def _still_share(self) -> float:
        """From how far below the level food still gets there while the air comes back, as a share of the air's way.

        With air x·e^(−t/r) and food that follows it with τ > r, food at −y reaches the level if y < x·r/(τ − r).
        """
        lag_min = self.lag.lag_min
        return COMES_BACK_MIN / (lag_min - COMES_BACK_MIN) if lag_min > 2 * COMES_BACK_MIN else 1.0

    def _comes_anyway(self, n: int) -> bool:
        """Tell whether the food gets there by the least air of the last ten minutes, so that a door counts nothing."""
        least = self.beyond[int(np.searchsorted(self.at, self.at[n] - TURNING_MS)) : n + 1].min()
        return bool(self.food[n] + self._still_share * max(float(least), 0.0) > 0)

    def _turns(self, n: int) -> bool:
        """Tell whether the air is on its way back."""
        at_ms = self.at[n]
        middle, begin = np.searchsorted(self.at, [at_ms - TURNING_MS, at_ms - 2 * TURNING_MS], side="right")
        before, lately = self.beyond[begin:middle], self.beyond[middle : n + 1]
        return len(before) > 0 and bool(before.mean() - lately.mean() > TURNING_C)


def told_of(drift: Drift, here: InForce, level: str, what: str) -> str:
    """Say what the air was, what that leads to, and what to do."""
    if drift.is_beyond:
        food = _("food in it is estimated at {degrees}, beyond {level}")
    elif drift.beyond_ms is not None:
        food = _("food in it is estimated at {degrees}, beyond {level} about {time} if the air stays so")
    else:
        food = _("food in it is estimated at {degrees}")
    time = "" if drift.beyond_ms is None else here.when(drift.beyond_ms)
    return _(
        "the air was {what}; {food} (an estimate, lag {minutes} min). Look at the unit, and check the food with a probe."
    ).format(
        what=what,
        food=food.format(degrees=here.degrees(drift.food_c), level=level, time=time),
        minutes=f"{drift.lag_min:.0f}",
    )


def _real(series: Series, aside: set[tuple[int, float]]) -> Series:
    """Leave out what the sieve set aside, and what is no temperature."""
    keep = (series.celsius >= COLDEST_C) & (series.celsius <= WARMEST_C)
    if aside:
        pairs = zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True)
        keep &= np.array([pair not in aside for pair in pairs], dtype=np.bool_)
    return Series(series.at_ms[keep], series.celsius[keep])


def _food(at: Instants, beyond: Array, lag_min: float) -> Array:
    """Follow the air from each beginning of it; nobody knows the food there, and it is not taken to be beyond the level."""
    breaks = np.flatnonzero(np.diff(at) > LONGEST_GAP_MIN * MS_PER_MINUTE) + 1
    parts = zip(np.split(at, breaks), np.split(beyond, breaks), strict=True)
    followed = [
        lagged_c((when - when[0]) / MS_PER_MINUTE, values, lag_min=lag_min, start_c=min(float(values[0]), 0.0))
        for when, values in parts
        if len(when)
    ]
    return np.concatenate(followed) if followed else np.empty(0)


def _runs_since(at: Instants, holds: NDArray[np.bool_]) -> Instants:
    """Return for each reading when the run of readings that hold began: with the one before, which it left.

    A hole begins a run anew.
    """
    place = np.arange(len(at))
    near = np.diff(at, prepend=at[:1]) <= LONGEST_GAP_MIN * MS_PER_MINUTE
    held_before = np.concatenate([[False], holds[:-1]])
    begins = holds & ~(held_before & near)
    first = np.maximum.accumulate(np.where(begins, place, 0))
    left = np.where(near & (place > 0), np.maximum(place - 1, 0), place)
    return np.where(holds, at[left[first]], at)
