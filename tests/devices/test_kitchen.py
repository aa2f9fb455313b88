"""The simulated kitchen: reproducible by seed, at any instant, and made like the real one."""

from dataclasses import replace

import numpy as np
import pytest

from devices.simulator.chance import happenings, normals, uniforms
from devices.simulator.foods import PASTRY_CREAM
from devices.simulator.kitchen import Pan, Stay, pan_true, simulate_pan, simulate_unit
from devices.simulator.linden_street import DEVICES, ROOMS, STANDING, Standing, standing_readings
from devices.simulator.probes import DIGITAL, lost, read
from devices.simulator.rooms import Fault, Room, air, lagged

MINUTE, HOUR, DAY = 60_000, 3_600_000, 86_400_000
START = 1_764_000_000_000 // DAY * DAY


def every(step_ms: int, span_ms: int, first_ms: int = START) -> np.ndarray:
    """Return instants `step_ms` apart."""
    return np.arange(first_ms, first_ms + span_ms, step_ms, dtype=np.int64)


def test_chance_asked_again_gives_the_same() -> None:
    """A number belongs to its seed, name and second, whatever else is asked with it."""
    at = every(7_000, 3 * HOUR)
    for drawn in (normals, uniforms):
        whole = drawn(7, "wi-air", at)
        assert (drawn(7, "wi-air", at[500:900]) == whole[500:900]).all()
        assert (drawn(8, "wi-air", at) != whole).mean() > 0.99
        assert (drawn(7, "ri-air", at) != whole).mean() > 0.99
    first = list(happenings(7, "door", 10, 20, np.full(24, 6.0)))
    assert list(happenings(7, "door", 15, 20, np.full(24, 6.0))) == [h for h in first if h[0] >= 15 * HOUR]
    assert 30 < len(first) < 110


def test_chance_has_the_spread_it_should() -> None:
    """Normal numbers have mean 0 and spread 1, uniform ones lie in 0 to 1."""
    at = every(1_000, 10 * HOUR)
    drawn = normals(3, "x", at)
    assert abs(drawn.mean()) < 0.02
    assert drawn.std() == pytest.approx(1.0, abs=0.02)
    assert 0 <= uniforms(3, "x", at).min() < uniforms(3, "x", at).max() < 1


@pytest.mark.parametrize("name", list(ROOMS))
def test_air_asked_in_parts_is_the_air_asked_at_once(name: str) -> None:
    """The air is a function of the instant: doors, defrost and cycle do not depend on what span is asked."""
    at = every(MINUTE, DAY)
    whole = air(ROOMS[name], at, 7)
    assert air(ROOMS[name], at[700:760], 7) == pytest.approx(whole[700:760], abs=2e-3)


def test_air_of_the_walk_in_cycles_defrosts_and_feels_the_door() -> None:
    """The compressor moves it, a defrost warms it for a while, doors warm it while people work."""
    room = ROOMS["Walk-in 1"]
    at = every(MINUTE, DAY)
    quiet = replace(room, doors_per_hour=0.0, defrost_rise_c=0.0)
    cycle = air(quiet, at, 7)
    assert cycle.max() - cycle.min() == pytest.approx(2 * room.swing_c, abs=0.4)
    defrost = air(replace(room, doors_per_hour=0.0), at, 7) - cycle
    hour = at // HOUR % 24
    assert defrost[hour == room.defrost_hours[0]].max() > 0.7 * room.defrost_rise_c
    doors = air(replace(room, defrost_rise_c=0.0), at, 7) - cycle
    working = (hour >= 13) | (hour < 4)
    assert doors[working].max() > 1.0
    assert doors[(hour >= 6) & (hour < 12)].max() < 0.05


def test_air_in_a_fault_warms_and_recovers() -> None:
    """A machine that does not cool lets the air drift, and brings it back."""
    room = replace(ROOMS["Reach-in"], faults=(Fault(START + 6 * HOUR, START + 9 * HOUR, 14.0),))
    change = air(room, every(MINUTE, DAY), 7) - air(ROOMS["Reach-in"], every(MINUTE, DAY), 7)
    assert change[: 6 * 60].max() == 0
    assert change[9 * 60 - 1] > 10
    assert change[13 * 60 :].max() < 0.2


def test_lagged_food_moves_less_than_its_air() -> None:
    """What stands in a unit feels the air's mean, not its cycle."""
    at = every(MINUTE, DAY)
    around, food = air(ROOMS["Walk-in 1"], at, 7), lagged(ROOMS["Walk-in 1"], at, 7, 4200)
    assert food.std() < 0.5 * around.std()
    assert food.mean() == pytest.approx(around.mean(), abs=0.2)
    assert lagged(ROOMS["Walk-in 1"], at[900:901], 7, 4200)[0] == pytest.approx(food[900], abs=0.01)


def test_read_tells_only_whole_steps() -> None:
    """A 12-bit chip tells sixteenths of a degree (DS18B20 data sheet)."""
    at = every(MINUTE, HOUR)
    told = read(DIGITAL, "p", at, np.linspace(2, 5, len(at)), 7)
    assert (told * 16 == np.round(told * 16)).all()
    assert np.abs(told - np.linspace(2, 5, len(at))).max() < 0.2


def test_lost_readings_come_singly_and_in_outages() -> None:
    """A few readings are lost one by one, now and then ten minutes of them."""
    at = every(30_000, 10 * DAY)
    gone = lost(DIGITAL, "p", at, 7)
    assert 0.002 < gone.mean() < 0.02
    kept = at[~gone]
    assert 9 * MINUTE < np.diff(kept).max() < 20 * MINUTE


def test_simulate_unit_is_reproducible_by_seed() -> None:
    """The same seed gives the same readings, another seed others."""
    at = every(MINUTE, 6 * HOUR)
    first, again = (simulate_unit(ROOMS["Freezer"], DIGITAL, "fz", at, 7) for _ in range(2))
    assert (first[0] == again[0]).all()
    assert (first[1] == again[1]).all()
    other = simulate_unit(ROOMS["Freezer"], DIGITAL, "fz", at, 8)
    assert len(other[0]) != len(first[0]) or (other[1] != first[1]).any()


@pytest.mark.parametrize("standing", STANDING, ids=lambda standing: standing.device.code)
def test_standing_food_of_the_kitchen_keeps_its_limit(standing: Standing) -> None:
    """On undisturbed days cold food stays at 5 °C or less, hot food at 57.2 °C or more, without a hole over 20 min."""
    at, celsius = standing_readings(standing, ROOMS, every(120_000, 14 * DAY), 7)
    assert np.diff(at).max() <= 20 * MINUTE
    if standing.device.medium == "food":
        assert celsius.min() >= 57.3 if standing.room == "Hot cabinet" else celsius.max() <= 4.9


def _pan(*stays: Stay) -> Pan:
    return Pan(PASTRY_CREAM, 0.04, 80.0, stays)


def test_simulate_pan_cools_faster_where_it_is_moved_to() -> None:
    """An ice bath takes the heat out many times faster than a bench."""
    pan = _pan(Stay(START, "Kitchen", 10.0), Stay(START + HOUR, "Ice bath", 150.0))
    grid, celsius = pan_true(pan, ROOMS, START + 2 * HOUR, 7)
    assert (grid[0], celsius[0]) == (START, 80.0)
    moved = int(np.searchsorted(grid, START + HOUR))
    assert celsius[moved] > 40
    assert celsius[moved] - celsius[moved + 90] > 2 * (celsius[moved - 90] - celsius[moved])


def test_simulate_pan_probe_settles_from_the_hand() -> None:
    """Before it is placed the probe tells nothing, then it climbs to the food."""
    pan = _pan(Stay(START, "Kitchen", 10.0))
    at, celsius = simulate_pan(pan, ROOMS, DIGITAL, "p", every(5_000, HOUR), 7, placed_ms=START + 10 * MINUTE)
    assert at[0] >= START + 10 * MINUTE
    assert celsius[0] < 40
    assert celsius[at > START + 13 * MINUTE].max() > 70


def test_simulate_pan_one_instant_is_that_of_the_whole_curve() -> None:
    """A live probe asks for one instant at a time, and tells the same as if all had been asked."""
    pan = _pan(Stay(START, "Kitchen", 10.0), Stay(START + HOUR, "Walk-in 1", 20.0))
    whole = simulate_pan(pan, ROOMS, DIGITAL, "p", every(MINUTE, 2 * HOUR), 7, placed_ms=START)
    for n in (5, 61, 100):
        at, celsius = simulate_pan(pan, ROOMS, DIGITAL, "p", whole[0][n : n + 1], 7, placed_ms=START)
        assert at[0] == whole[0][n]
        assert celsius[0] == pytest.approx(whole[1][n], abs=1 / 16)


def test_devices_of_the_kitchen_speak_all_three_formats() -> None:
    """The kitchen shows every payload, each probe on a topic of its own."""
    assert {device.format for device in DEVICES.values()} == {"senml", "json", "number"}
    assert len({device.topic for device in DEVICES.values()}) == len(DEVICES)


def test_room_without_anything_going_on_stays_at_its_setting() -> None:
    """No cycle, no doors, no defrost: only the day's own slow turn is left."""
    assert air(Room("x", 4.0), every(MINUTE, DAY), 1) == pytest.approx(4.0, abs=0.16)
