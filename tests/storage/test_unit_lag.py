"""How slowly the food in a unit follows its air, kept with the unit."""

import numpy as np
import pytest

from devices.simulator.rooms import Room, lagged
from devices.simulator.rooms import air as room_air
from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.science.foodlag import USUAL_LAG_MIN
from holdwatch.storage.events import events
from holdwatch.storage.records import record_of_unit
from holdwatch.storage.tables import EventKind
from holdwatch.storage.unit_lag import food_lag, learned_lag, set_food_lag
from tests.watch.conftest import kitchen
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen

__all__ = ["kitchen"]

ROOM = Room("Walk-in 1", 2.0, 0.8, 14, (3, 9, 15, 21), 25, 6.0, 6, (12, 28), 3.0, 4)


def _stock(kitchen: Kitchen, lag_min: float = 80.0, hours: int = 24) -> None:
    """Let a walk-in with a probe in its air and one in food tell of a day."""
    kitchen.probe("a1", "air")
    kitchen.probe("f1", "food")
    kitchen.unit("Walk-in 1", "walk-in", "a1", "f1")
    at = T0 + np.arange(0, hours * 60, 2, dtype=np.int64) * MIN
    for code, celsius in (("a1", room_air(ROOM, at, 1)), ("f1", lagged(ROOM, at, 1, lag_min * 60))):
        kitchen.arrive(code, zip(at.tolist(), celsius.tolist(), strict=True), T0 + hours * HOUR)


def test_lag_is_the_usual_until_somebody_sets_it(kitchen: Kitchen) -> None:
    """Each instant has the lag that was in force then, with where it is from, and the record goes with it."""
    _stock(kitchen, hours=1)
    unit = kitchen.units["Walk-in 1"]
    with kitchen.store.write() as session:
        set_food_lag(session, unit, 90, how="set by hand", now_ms=T0 + HOUR, by="Ana")
        set_food_lag(session, unit, None, how="the usual again", now_ms=T0 + DAY, by="Ana")
    with kitchen.store.read() as session:
        before, then, after = (food_lag(session, unit.id or 0, at) for at in (T0, T0 + 2 * HOUR, T0 + 2 * DAY))
        record = record_of_unit(session, unit, kitchen.probes["a1"], T0, T0 + 2 * HOUR)
        noted = events(session, unit_id=unit.id, kinds=[EventKind.UNIT_LAG])
    assert (before.lag_min, then.lag_min, after.lag_min) == (USUAL_LAG_MIN, 90, USUAL_LAG_MIN)
    assert (then.how, then.by, then.since_ms) == ("set by hand", "Ana", T0 + HOUR)
    assert record.food_lag_min == 90
    assert len(noted) == 2


def test_lag_is_learned_from_the_probes_in_air_and_food(kitchen: Kitchen) -> None:
    """A day of both is enough, and the food of the simulated walk-in is known to follow with 80 min."""
    _stock(kitchen)
    with kitchen.store.read() as session:
        learned = learned_lag(session, kitchen.units["Walk-in 1"], T0, T0 + DAY)
    assert (learned.air, learned.food) == ("a1", "f1")
    assert learned.made.lag_min == pytest.approx(80, rel=0.05)


def test_unit_without_a_pair_teaches_nothing(kitchen: Kitchen) -> None:
    """It needs a probe in the air and one in food, and says so."""
    kitchen.probe("a1", "air")
    kitchen.unit("Walk-in 1", "walk-in", "a1")
    with kitchen.store.read() as session, pytest.raises(ConfigError, match="had no food probe"):
        learned_lag(session, kitchen.units["Walk-in 1"], T0, T0 + DAY)


def test_impossible_lag_is_refused(kitchen: Kitchen) -> None:
    """A lag of no time, or of more than a day, is none."""
    kitchen.unit("Walk-in 1", "walk-in")
    with kitchen.store.write() as session, pytest.raises(OutOfRangeError, match="the lag is 0 min"):
        set_food_lag(session, kitchen.units["Walk-in 1"], 0, how="set", now_ms=T0, by="Ana")
