"""A food probe that follows the air: each figure, ours all of them, tried on both its sides.

A window is the twenty minutes up to a reading. The records here last just fifteen minutes, so that they have one window;
its standard deviations and correlation are taken by NumPy, over the readings as they are.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Series
from holdwatch.sieve.following import air_followed
from tests.rules.series_words import MINUTE, T0

Floats = NDArray[np.float64]
MINUTES = np.arange(0.0, 16.0)
WAVE = np.sin(2 * np.pi * MINUTES / 5)  # a compressor that runs every five minutes
SWING = (WAVE - WAVE.mean()) / WAVE.std()  # standard deviation 1
OTHER = np.cos(2 * np.pi * MINUTES / 5) - np.cos(2 * np.pi * MINUTES / 5).mean()
OTHER = OTHER - SWING * (OTHER @ SWING) / (SWING @ SWING)  # nothing in common with it
OTHER = OTHER / OTHER.std()


def series(minutes: Floats, degrees_f: Floats) -> Series:
    """Return readings in °F."""
    at = (T0 + np.round(minutes * MINUTE)).astype(np.int64)
    return Series(at, np.array([celsius_of_f(float(degrees)) for degrees in degrees_f]))


def followed(
    food: Floats, air: Floats, minutes: Floats = MINUTES, settled: tuple[float, ...] = ()
) -> list[tuple[int, int]]:
    """Ask of food and air, both read at the same instants."""
    instants = [T0 + round(minute * MINUTE) for minute in settled]
    return air_followed(series(minutes, food), series(minutes, air), instants)


WHOLE = [(0, 16)]


def test_probe_that_swings_as_the_air_does_follows_it() -> None:
    """The whole window is in doubt, from its first reading on."""
    air = 38 + 2 * SWING
    assert followed(air, air) == WHOLE
    assert followed(np.full(16, 38.0), air) == []  # food does not swing
    assert followed(76 - air, air) == []  # nor does it swing the other way
    assert air_followed(series(MINUTES, air), Series.empty(), []) == []
    assert air_followed(series(MINUTES, air), series(MINUTES[:1], air[:1]), []) == []


@pytest.mark.parametrize(("swing", "stretches"), [(1.001, WHOLE), (0.999, [])])
def test_air_that_hardly_swings_tells_nothing(swing: float, stretches: list[tuple[int, int]]) -> None:
    """A standard deviation of 1 °F."""
    air = 38 + swing * SWING
    assert np.std(air) == pytest.approx(swing)
    assert followed(air, air) == stretches


@pytest.mark.parametrize(("share", "stretches"), [(0.801, WHOLE), (0.799, []), (1.5, WHOLE)])
def test_food_that_swings_less_than_four_fifths_of_the_air_is_food(
    share: float, stretches: list[tuple[int, int]]
) -> None:
    """Food damps what the air does."""
    air = 38 + 4 * SWING
    food = 38 + share * 4 * SWING
    assert np.std(food) / np.std(air) == pytest.approx(share)
    assert followed(food, air) == stretches


@pytest.mark.parametrize(("alike", "stretches"), [(0.951, WHOLE), (0.949, [])])
def test_food_that_swings_at_another_time_is_food(alike: float, stretches: list[tuple[int, int]]) -> None:
    """A correlation of 0.95; food lags behind the air."""
    air = 38 + 3 * SWING
    food = 38 + 3 * (alike * SWING + np.sqrt(1 - alike**2) * OTHER)
    assert np.corrcoef(food, air)[0, 1] == pytest.approx(alike)
    assert followed(food, air) == stretches


@pytest.mark.parametrize(("apart", "stretches"), [(3.99, WHOLE), (4.01, []), (-3.99, WHOLE), (-4.01, [])])
def test_food_that_is_not_as_warm_as_the_air_is_food(apart: float, stretches: list[tuple[int, int]]) -> None:
    """4 °F between their means, either way."""
    air = 38 + 2 * SWING
    assert followed(air + apart, air) == stretches


@pytest.mark.parametrize(("last", "stretches"), [(15.0, WHOLE), (14.99, [])])
def test_following_is_told_of_fifteen_minutes_at_least(last: float, stretches: list[tuple[int, int]]) -> None:
    """A window that is covered for less tells nothing."""
    minutes = np.append(MINUTES[:-1], last)
    air = 38 + 2 * SWING
    assert followed(air, air, minutes) == stretches


@pytest.mark.parametrize(("readings", "stretches"), [(8, [(0, 8)]), (7, [])])
def test_following_is_told_of_eight_readings_at_least(readings: int, stretches: list[tuple[int, int]]) -> None:
    """Seven readings in fifteen minutes are too few to tell a swing."""
    minutes = np.linspace(0, 15, readings)
    air = 38 + 3 * np.sin(minutes)
    assert followed(air, air, minutes) == stretches


@pytest.mark.parametrize(
    ("air_at", "known"),
    [
        ((0.0, 1.0, 2.0, 3.0, 4.0, 5.0), True),  # the reading at 15 is 10 min after the last of the air
        ((0.0, 1.0, 2.0, 3.0, 4.0, 4.99), False),
        ((10.0, 11.0, 12.0, 13.0, 14.0, 15.0), True),  # the one at 0 is 10 min before the first
        ((10.01, 11.0, 12.0, 13.0, 14.0, 15.0), False),
        ((-2.5, 17.5), True),  # the one at 7 or 8 is 10 min from either
        ((-3.01, 18.5), False),
    ],
)
def test_air_reading_speaks_for_ten_minutes(air_at: tuple[float, ...], *, known: bool) -> None:
    """Before and after it; a food reading with no air reading that near leaves the whole window unknown."""
    minutes = np.array(air_at)
    degrees = 38 + 4.0 * np.arange(len(air_at)) if len(air_at) == 2 else 38 + 8 * (np.arange(len(air_at)) % 2)
    degrees = np.array(degrees * 2 - 38, dtype=np.float64)
    food = np.interp(MINUTES, minutes, degrees)
    assert air_followed(series(MINUTES, food), series(minutes, degrees), []) == (WHOLE if known else [])


@pytest.mark.parametrize(
    ("settled", "stretches"),
    [
        ((), [(0, 31)]),
        ((16.0,), [(0, 16)]),  # 0 to 15 are fifteen minutes, 16 to 30 are not
        ((15.0,), [(15, 31)]),
        ((14.5,), [(15, 31)]),
        ((15.5,), [(0, 16)]),
        ((10.0, 20.0), []),
        ((20.0, 10.0), []),
        ((0.0,), [(0, 31)]),
        ((40.0,), [(0, 31)]),
    ],
)
def test_stretch_does_not_reach_across_an_instant_at_which_the_probe_was_in_the_food(
    settled: tuple[float, ...], stretches: list[tuple[int, int]]
) -> None:
    """Half an hour in the air; what was known in it cuts the windows, the reading at the instant comes after."""
    minutes = np.arange(0.0, 31.0)
    air = 38 + 3 * np.sin(2 * np.pi * minutes / 5)
    assert followed(air, air, minutes, settled) == stretches


def test_windows_that_touch_are_one_stretch_and_those_apart_are_two() -> None:
    """In the air for half an hour, in the food for an hour, in the air again."""
    minutes = np.arange(0.0, 121.0)
    air = 38 + 3 * np.sin(2 * np.pi * minutes / 5)
    food = np.where((minutes <= 30) | (minutes >= 90), air, 38.0)
    (one, other) = followed(food, air, minutes)
    assert one[0] == 0
    assert 31 <= one[1] <= 36  # some minutes of food at the end of a window do not change the picture
    assert 85 <= other[0] <= 90
    assert other[1] == 121


def test_window_is_twenty_minutes_long() -> None:
    """Of a probe that was in the food for an hour, the first window in the air begins at most twenty minutes before."""
    minutes = np.arange(0.0, 121.0)
    air = 38 + 3 * np.sin(2 * np.pi * minutes / 5)
    food = np.where(minutes >= 60, air, 38.0)
    ((first, stop),) = followed(food, air, minutes)
    windows = [
        n
        for n in range(20, 121)
        if np.std(food[n - 20 : n + 1]) >= 0.8 * np.std(air[n - 20 : n + 1])
        and np.corrcoef(food[n - 20 : n + 1], air[n - 20 : n + 1])[0, 1] >= 0.95
    ]
    assert first == windows[0] - 20
    assert stop == 121


def test_two_stretches_that_touch_at_such_an_instant_stay_two() -> None:
    """In the air for forty-five minutes, at 20 surely in the food: each stretch ends or begins there."""
    minutes = np.arange(0.0, 46.0)
    air = 38 + 3 * np.sin(2 * np.pi * minutes / 5)
    assert followed(air, air, minutes, (20.0,)) == [(0, 20), (20, 46)]


def test_window_takes_in_the_reading_twenty_minutes_before_and_none_earlier() -> None:
    """The first reading is far from the air: as long as it is in every window, nothing is told."""
    for last, stretches in ((20, []), (21, [(1, 22)])):
        minutes = np.arange(0.0, last + 1)
        air = 38 + 3 * np.sin(2 * np.pi * minutes / 5)
        food = np.where(minutes == 0, 90.0, air)
        assert followed(food, air, minutes) == stretches


@pytest.mark.parametrize(("every", "told"), [(2.8, True), (3.1, False)])
def test_window_has_eight_readings_at_least(every: float, *, told: bool) -> None:
    """In a long record: every 2.8 min there are eight in twenty minutes, every 3.1 min seven."""
    minutes = np.arange(0.0, 120.0, every)
    air = 38 + 3 * np.sin(minutes)
    assert bool(followed(air, air, minutes)) is told


def test_air_reading_before_and_after_each_speak_for_ten_minutes() -> None:
    """At 10 the one at 0 is near enough, at 11 the one at 20.5."""
    minutes = np.array([-10.0, 0.0, 20.5])
    degrees = np.array([38.0, 42.0, 50.0])
    food = np.interp(MINUTES, minutes, degrees)
    assert air_followed(series(MINUTES, food), series(minutes, degrees), []) == WHOLE


def test_following_does_not_depend_on_how_warm_it_was_before() -> None:
    """An hour at 90 °F, then in air of 38 °F: it follows or it does not as it would without that hour."""
    minutes = np.arange(0.0, 121.0)
    wave = 3 * np.sin(2 * np.pi * minutes / 5)
    for before in (90.0, 10.0):
        air = 38 + wave
        food = np.where(minutes < 60, before, air)
        (stretch,) = followed(food, air, minutes)
        assert 60 <= stretch[0] <= 61
        assert stretch[1] == 121
        assert followed(np.where(minutes < 60, before, 76 - air), air, minutes) == []
        assert followed(np.where(minutes < 60, before, 38.0), air, minutes) == []
        assert followed(np.where(minutes < 60, before, air + 4.5), air, minutes) == []
