"""A failing unit is told by what its air leads to; a defrost, a door and a new probe are not.

The walk-ins are simulated: air with a compressor's cycle, defrosts, doors and a stopped compressor, food that follows it
with its own lag, and probes with noise and steps. Food and air are those of the simulator, not of the formula.
"""

from dataclasses import replace

import numpy as np
import pytest

from devices.simulator.rooms import Fault, Room, air, lagged
from holdwatch.crossings import runs
from holdwatch.readings import Series
from holdwatch.rules.verdicts import Spell
from holdwatch.storage.unit_lag import UnitLag, set_food_lag
from holdwatch.watch.drifting import Drift, drifting
from holdwatch.watch.spells import Group, group_spells
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen

LEVEL_C = 5.0
WALK_INS = 16
START = T0 - T0 % DAY
USUAL = UnitLag(45.0, "usual")


def _walk_in(seed: int) -> tuple[Room, float]:
    """Make a walk-in that breathes hard, and the lag of its food. [min]."""
    random = np.random.default_rng(seed)
    room = Room(
        f"walk-in {seed}",
        set_c=random.uniform(1.0, 2.8),
        swing_c=random.uniform(0.4, 1.2),
        period_min=random.uniform(8, 20),
        defrost_hours=(3, 9, 15, 21),
        defrost_min=random.uniform(15, 30),
        defrost_rise_c=random.uniform(3, 8),
        doors_per_hour=random.uniform(2, 8),
        busy_hours=(12, 28),
        door_rise_c=random.uniform(2, 6),
        door_tau_min=random.uniform(2, 5),
    )
    return room, float(random.choice([45.0, 60.0, 90.0, 130.0]))


def _read(room: Room, seed: int, days: int = 2) -> Series:
    """Read a room's air as a probe does: every two minutes, with noise, in sixteenths of a degree."""
    at = START + np.arange(0, days * 24 * 60, 2, dtype=np.int64) * MIN
    random = np.random.default_rng(seed)
    return Series(at, np.round((air(room, at, seed) + random.normal(0, 0.1, len(at))) * 16) / 16)


def _groups(series: Series, level_c: float = LEVEL_C) -> list[Group]:
    spells = [
        Spell(
            (run.before_ms, run.first_ms),
            (run.last_ms, run.after_ms),
            float(series.celsius[run.first_index : run.last_index + 1].max()),
            run.readings,
        )
        for run in runs(series.at_ms, series.celsius > level_c)
    ]
    return group_spells(spells, int(series.at_ms[-1]), level_c)


def _told(series: Series, lag: UnitLag) -> list[tuple[Group, Drift]]:
    found = []
    for group in _groups(series):
        before = series.between(group.first_ms - 12 * HOUR, group.last_ms)
        drift = drifting(before, group, level_c=LEVEL_C, rising=True, lag=lag)
        if drift is not None:
            found.append((group, drift))
    return found


def _cold(room: Room, seed: int, lag_min: float, group: Group) -> bool:
    """Tell whether the food stayed cold around a spell of air."""
    at = np.arange(group.first_ms - HOUR, group.last_ms + HOUR, MIN, dtype=np.int64)
    return float(lagged(room, at, seed, lag_min * 60).max()) < LEVEL_C


def test_defrosts_and_doors_call_nobody() -> None:
    """On 32 days of walk-ins that breathe hard nobody is called where the food stayed 0.2 °C below the level."""
    called = 0
    for seed in range(WALK_INS):
        room, lag_min = _walk_in(seed)
        told = _told(_read(room, seed), UnitLag(lag_min, "set", since_ms=START))
        called += sum(_cold(replace(room, set_c=room.set_c + 0.2), seed, lag_min, group) for group, _ in told)
    assert called == 0


def test_stopped_compressor_is_told_before_the_food_is_warm() -> None:
    """At each walk-in somebody is told no later than two readings after its food is beyond the level, at most before it."""
    leads = []
    for seed in range(WALK_INS):
        room, lag_min = _walk_in(seed)
        random = np.random.default_rng(100 + seed)
        stops = START + DAY + int(random.uniform(0, 16) * HOUR)
        fault = Fault(stops, stops + 7 * HOUR, random.uniform(18, 26), random.uniform(60, 300))
        failing = replace(room, faults=(fault,))
        at = stops + np.arange(0, 7 * 60, dtype=np.int64) * MIN
        food = lagged(failing, at, seed, lag_min * 60)
        beyond = at[food > LEVEL_C][0]
        told = [drift.told_ms for _, drift in _told(_read(failing, seed), UnitLag(lag_min, "set", since_ms=START))]
        first = min((at_ms for at_ms in told if at_ms >= stops), default=None)
        assert first is not None, seed
        leads.append((int(beyond) - first) / MIN)
    assert min(leads) >= -4, leads
    assert float(np.median(leads)) >= 1, leads
    assert max(leads) >= 15, leads


def test_lag_that_nobody_set_is_not_trusted_at_once() -> None:
    """With the usual lag the food has to be estimated warm for a quarter of an hour; with a set one, as soon as it would be anyway."""
    at = START + np.arange(0, 18 * 60, dtype=np.int64) * MIN
    celsius = np.where(at >= START + 16 * HOUR, 9.0, 2.0)
    series = Series(at, celsius)
    short_c = (9.0 - LEVEL_C) * 6 / (45 - 6)  # what still comes while the air comes back with a time constant of 6 min
    crosses = 45 * np.log((9.0 - 2.0) / (9.0 - LEVEL_C + short_c))
    ((_, unsure),) = _told(series, USUAL)
    ((_, sure),) = _told(series, UnitLag(45.0, "set", since_ms=START))
    assert (sure.told_ms - START - 16 * HOUR) / MIN == pytest.approx(crosses, abs=1.5)
    assert unsure.told_ms == START + 16 * HOUR + 34 * MIN  # the air itself was beyond for 35 min first
    assert unsure.is_beyond


def test_air_that_stays_away_is_told_before_its_food_is_estimated_warm() -> None:
    """Food with a lag of two hours is still cold after 35 min of 45 °F: it is told, with when it will not be."""
    at = START + np.arange(0, 17 * 60, dtype=np.int64) * MIN
    series = Series(at, np.where(at >= START + 16 * HOUR, 9.0, 2.0))
    ((_, drift),) = _told(series, UnitLag(120.0, "set", since_ms=START))
    assert drift.told_ms == START + 16 * HOUR + 34 * MIN
    assert not drift.is_beyond
    assert drift.beyond_ms is not None
    assert (drift.beyond_ms - START - 16 * HOUR) / MIN == pytest.approx(120 * np.log(7 / 4), abs=1.5)


def test_air_that_comes_back_is_not_told() -> None:
    """After a long defrost the air is on its way back at 35 min."""
    minutes = np.arange(0, 18 * 60)
    celsius = np.interp(minutes, [0, 960, 975, 990, 1020], [2.0, 2.0, 8.0, 8.0, 2.0])
    assert _told(Series(START + minutes.astype(np.int64) * MIN, celsius), UnitLag(120.0, "set", since_ms=START)) == []


def test_probe_that_settles_in_the_cold_is_not_told() -> None:
    """A probe that comes from the counter reads warm for ten minutes; nobody knows that the food was."""
    minutes = np.arange(0, 120)
    celsius = 2.0 + 20.0 * np.exp(-minutes / 4)
    assert _told(Series(START + minutes.astype(np.int64) * MIN, celsius), USUAL) == []


def _send(kitchen: Kitchen, series: Series) -> None:
    for begin in range(int(series.at_ms[0]), int(series.at_ms[-1]) + 1, 2 * HOUR):
        part = series.between(begin, begin + 2 * HOUR - 1)
        kitchen.arrive("a1", zip(part.at_ms.tolist(), part.celsius.tolist(), strict=True), int(part.at_ms[-1]))
        kitchen.rounds(int(part.at_ms[-1]))


def test_failing_unit_is_one_warning_until_it_is_cold_again(kitchen: Kitchen) -> None:
    """The whole way: the finding says what the air leads to, stays one, and is over when the air is cold."""
    kitchen.probe("a1", "air")
    unit = kitchen.unit("Walk-in 1", "walk-in", "a1", at_ms=T0)
    with kitchen.store.write() as session:
        set_food_lag(session, unit, 70, how="set", now_ms=T0, by="Ana")
    minutes = np.arange(0, 12 * 60, 2)
    celsius = np.interp(minutes, [0, 120, 130, 150, 300, 480, 500, 720], [2, 2, 8, 2.2, 2, 12, 3, 2])
    series = Series(T0 + minutes.astype(np.int64) * MIN, celsius)
    _send(kitchen, series.between(T0, T0 + 290 * MIN))
    assert kitchen.found() == []
    _send(kitchen, series.between(T0 + 290 * MIN + 1, T0 + 470 * MIN))
    (running,) = kitchen.found()
    assert (running.kind, running.verdict, running.closed_ms) == ("soon", "none", None)
    assert "food in it is estimated at" in running.reason
    assert "an estimate, lag 70 min" in running.reason
    assert "check the food with a probe" in running.reason
    _send(kitchen, series.between(T0 + 470 * MIN + 1, T0 + 720 * MIN))
    (over,) = kitchen.found()
    assert over.id == running.id
    assert over.close_reason.startswith("within 41 °F again")


def test_hot_cabinet_that_cools_is_told_as_well(kitchen: Kitchen) -> None:
    """Where food is to stay hot, air that falls leads below the level."""
    kitchen.probe("a1", "air")
    kitchen.unit("Hot cabinet", "hot-cabinet", "a1", at_ms=T0)
    minutes = np.arange(0, 4 * 60, 2)
    celsius = np.interp(minutes, [0, 120, 180, 240], [66, 66, 50, 45])
    _send(kitchen, Series(T0 + minutes.astype(np.int64) * MIN, celsius))
    (found,) = kitchen.found()
    assert found.kind == "soon"
    assert "the air was below 135 °F" in found.reason
    assert ", beyond 135 °F" in found.reason
