"""The sieve at the edges of its figures: settling, power-on values, spikes, and what is left when readings are nobody's."""

import numpy as np
import pytest

from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Series
from holdwatch.sieve import Sifted, Surroundings, sift
from tests.rules.series_words import MINUTE, T0, joined, line, points


def sifted(probe: Series, around: Surroundings | None = None, *, until: float | None = None) -> Sifted:
    """Sift; by default long after the last reading."""
    until_ms = int(probe.at_ms[-1]) + 10 * MINUTE if until is None else T0 + round(until * MINUTE)
    return sift(probe, around or Surroundings(), until_ms)


def aside(found: Sifted) -> list[float]:
    """Return the minutes of what was set aside."""
    return [(reading.at_ms - T0) / MINUTE for reading in found.aside]


@pytest.mark.parametrize(
    ("degrees", "left_out"),
    [
        ((60, 72, 65, 70.5), [0]),  # ends above 70 °F: hot food, whatever came before the warmest
        ((60, 72, 75, 69.5), []),  # ends below: cold food, and the coldest came first
        ((75, 69, 72, 69.5), [0]),
        ((75, 72, 60, 70.5), []),
    ],
)
def test_settling_is_towards_where_it_ends(degrees: tuple[float, ...], left_out: list[float]) -> None:
    """A probe comes from about room temperature: warmer food is approached from below, colder from above."""
    probe = points(*enumerate(degrees), (10, degrees[-1]))
    assert aside(sifted(probe, Surroundings(placed=[T0]))) == left_out


@pytest.mark.parametrize(("until", "pending"), [(2.999, 3), (3, 0)])
def test_settling_is_judged_when_its_three_minutes_are_over(until: float, pending: int) -> None:
    """At the very end of them it is."""
    assert len(sifted(points((0, 38), (1, 38), (2, 38)), Surroundings(placed=[T0]), until=until).pending) == pending


def test_readings_not_judged_yet_are_decided_from_the_earliest_instant_on() -> None:
    """A jump at 59.5 is decided at 61.5, a placement at 60 at 63: at 61.5 there is something to judge again."""
    probe = joined(line((0, 40), (59, 40)), points((59.5, 75), (60.25, 38)))
    found = sifted(probe, Surroundings(placed=[T0, T0 + 60 * MINUTE]), until=60.5)
    assert len(found.pending) == 2
    assert found.decided_ms == T0 + round(61.5 * MINUTE)


def test_power_on_value_at_the_start_is_held_against_the_next_reading_alone() -> None:
    """The last reading of the record is no neighbour of the first."""
    celsius = [85.0, 4.0, 4.0, 4.0, 30.0, 60.0, 90.0, 110.0, 130.0]
    probe = Series.of((T0 + n * MINUTE, value) for n, value in enumerate(celsius))
    assert aside(sifted(probe)) == [0]


@pytest.mark.parametrize(("celsius", "left_out"), [(85.0, [30]), (85.5, [])])
def test_power_on_value_is_one_value(celsius: float, left_out: list[float]) -> None:
    """85.5 °C is a temperature like any other."""
    probe = joined(line((0, 38), (29, 38)), Series.of([(T0 + 30 * MINUTE, celsius)]))
    assert aside(sifted(probe)) == left_out


def test_spike_ends_with_the_first_reading_that_is_back() -> None:
    """Readings every half minute: one is the spike, all that follow are the food's."""
    probe = joined(line((0, 38), (10, 38), every=0.5), points((10.5, 90)), line((11, 38), (20, 38), every=0.5))
    assert aside(sifted(probe)) == [10.5]


def test_doubt_after_readings_of_nobody_is_numbered_as_it_lies_in_what_is_left() -> None:
    """A fall that a hand thermometer shows to be no food's, and later one that nobody has answered."""
    probe = joined(
        line((0, 150), (20, 150)),
        line((21, 120), (40, 120)),
        line((41, 150), (79, 150)),
        line((80, 120), (90, 120)),
        line((91, 150), (100, 150)),
    )
    found = sifted(probe, Surroundings(hand=points((30, 160))))
    assert len(found.outs) == 1
    (doubt,) = found.doubts
    assert (doubt.first_ms, doubt.last_ms) == (T0 + 80 * MINUTE, T0 + 90 * MINUTE)
    assert np.flatnonzero(found.doubt).tolist() == list(range(doubt.first_index, doubt.stop_index))
    assert int(found.series.at_ms[doubt.first_index]) == doubt.first_ms
    assert int(found.series.at_ms[doubt.stop_index - 1]) == doubt.last_ms


def test_probe_that_follows_the_air_to_the_end_is_in_doubt_still() -> None:
    """It is over only with readings that do not."""
    minutes = np.arange(0.0, 61.0)
    at = (T0 + minutes * MINUTE).astype(np.int64)
    degrees = 38 + 3 * np.sin(2 * np.pi * minutes / 5)
    air = Series(at, np.array([celsius_of_f(float(value)) for value in degrees]))
    (doubt,) = sifted(air, Surroundings(air=air)).doubts
    assert (doubt.first_ms, doubt.over) == (T0, False)
    back = joined(air, line((61, 38), (120, 38)))
    longer = joined(air, points(*((m, 38 + 3 * np.sin(2 * np.pi * m / 5)) for m in np.arange(61.0, 121.0).tolist())))
    (doubt,) = sifted(back, Surroundings(air=longer)).doubts
    assert doubt.over
