"""How long food takes to cool, against printed examples and against what was measured in kitchens."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.errors import OutOfRangeError
from holdwatch.science.cooling_time import (
    Body,
    Interval,
    Pan,
    Pot,
    Range,
    Surroundings,
    cooling_times,
    face_temperature,
)
from holdwatch.science.properties import Makeup, Properties, thermal_properties
from tests.science.published import published

HOUR = 3600.0
# Chili: three quarters water, 1 % ash, the rest about equal shares of protein, fat and carbohydrate (USDA, from memory).
CHILI = thermal_properties(Makeup(water=0.75, protein=0.08, fat=0.06, carbohydrate=0.10, ash=0.01), 35.0)
CUSTARD = Properties(1000.0, 0.53 / (1.4e-7 * 1000.0), 0.53)
WALK_IN = Surroundings(Range(1.7, 3.3, 5.0), Range(6.0, 9.4, 20.0))
BLAST = Surroundings(Range(-20.0, -10.0, -2.0), Range(15.0, 30.0, 60.0))


def _sure(value: float) -> Range:
    return Range(value, value, value)


@published(cooling_times, source="Çengel, Heat Transfer, Example 4-8")
def test_cooling_times_matches_cengel_example_4_8() -> None:
    """A short brass cylinder, 120 °C in air of 25 °C: the book's charts have 63 °C in its middle after 15 min.

    A chart is read to 2 % of the difference, which is 5 % of the time here.
    """
    brass = Body(Pot(0.10), 0.12, Properties(8530.0, 380.0, 110.0))
    (found,) = cooling_times(brass, Surroundings(_sure(25.0), _sure(60.0)), 120.0, [63.0])
    assert found.low == found.middle == found.high == pytest.approx(15 * 60, rel=0.05)


@published(cooling_times, source="Olds and Sneed 2005, J. Child Nutrition & Management 29(1), abstract")
@pytest.mark.parametrize("depth_in", [2.5, 4.0])
def test_cooling_times_agrees_with_chili_in_a_walk_in_refrigerator(depth_in: float) -> None:
    """Chili 2½ and 4 in deep in a 12 × 10 in pan in a walk-in did not meet 135 to 70 °F in 2 h, to 41 °F in 4 h more.

    https://schoolnutrition.org/journal/spring-2005-cooling-rates-of-chili…, read 2026-11-25: three runs of each.
    """
    body = Body(Pan(12 * 0.0254, 10 * 0.0254), depth_in * 0.0254, CHILI, 0.1, 0.1, 0.1, turns_over=3.0)
    to_70, _ = cooling_times(body, WALK_IN, 57.2, [21.1, 5.0])
    assert to_70.low > 2 * HOUR


@published(cooling_times, source="Olds and Sneed 2005, J. Child Nutrition & Management 29(1), abstract")
@pytest.mark.parametrize("depth_in", [2.5, 4.0])
def test_cooling_times_agrees_with_chili_in_a_blast_chiller(depth_in: float) -> None:
    """Chili 2½ and 4 in deep in a blast chiller met both limits: the intervals, turning over allowed for, hold that."""
    body = Body(Pan(12 * 0.0254, 10 * 0.0254), depth_in * 0.0254, CHILI, 0.1, 0.1, 0.1, turns_over=3.0)
    to_70, to_41 = cooling_times(body, BLAST, 57.2, [21.1, 5.0])
    assert to_70.low < 2 * HOUR
    assert to_41.low < 6 * HOUR


@published(face_temperature, source="Geankoplis, Transport Processes, Example 5.3-2")
def test_face_temperature_matches_geankoplis_example_5_3_2() -> None:
    """Butter on an insulated bottom, 5 h: the chart's face is at 292.2 K, 4.9 K from the air (here turned round)."""
    butter = Body(Pan(1.0, 1.0), 0.0462, Properties(998.0, 2300.0, 0.197))
    air = Surroundings(_sure(4.45), _sure(8.52), both_faces=False)
    assert face_temperature(butter, air, 23.95, 5 * HOUR) == pytest.approx(4.45 + 4.9, abs=0.02 * 19.5)


@pytest.mark.parametrize(
    ("depth_m", "h", "hours"),
    [(0.0508, 10.0, (3.61, 10.46)), (0.0762, 100.0, (2.00, 5.32)), (0.0508, 500.0, (0.75, 1.99))],
)
def test_cooling_times_pinned_custard(depth_m: float, h: float, hours: tuple[float, float]) -> None:
    """Our own values of a wide slab of custard, 57.2 °C in 3 °C."""
    body = Body(Pan(1.0, 1.0), depth_m, CUSTARD)
    found = cooling_times(body, Surroundings(_sure(3.0), _sure(h)), 57.2, [21.1, 5.0])
    assert [each.middle / HOUR for each in found] == pytest.approx(hours, abs=0.01)


def test_one_face_is_twice_the_depth() -> None:
    """A wide pan cooled through its top alone is half of one twice as deep."""
    around = Surroundings(_sure(3.0), _sure(10.0))
    one = cooling_times(Body(Pan(1.0, 1.0), 0.04, CUSTARD), replace(around, both_faces=False), 60.0, [21.0])[0]
    two = cooling_times(Body(Pan(1.0, 1.0), 0.08, CUSTARD), around, 60.0, [21.0])[0]
    assert one.middle == pytest.approx(two.middle, rel=1e-6)


def test_stirred_food_follows_the_exponential() -> None:
    """Half the difference is gone after ln 2 · m c/(h A)."""
    body = Body(Pot(0.2), 0.1, CUSTARD)
    area = math.pi * 0.1**2 + math.pi * 0.2 * 0.1
    (found,) = cooling_times(body, Surroundings(_sure(0.0), _sure(200.0), mixed=True), 80.0, [40.0])
    capacity = math.pi * 0.1**2 * 0.1 * CUSTARD.density_kg_m3 * CUSTARD.heat_capacity_j_kgk
    assert found.middle == pytest.approx(math.log(2) * capacity / (200.0 * area))


def test_time_counts_from_where_it_is_told() -> None:
    """From 82 °C, counted from 57.2 °C on: the first part is left out."""
    body, around = Body(Pan(0.5, 0.3), 0.05, CUSTARD), Surroundings(_sure(3.0), _sure(10.0))
    whole, part = cooling_times(body, around, 82.0, [57.2, 21.1])
    assert cooling_times(body, around, 82.0, [21.1], 57.2)[0].middle == pytest.approx(part.middle - whole.middle)


def test_level_that_the_surroundings_may_not_reach_has_no_end() -> None:
    """Where the surroundings may be as warm as the level it may never be reached; where they are, it never is."""
    body = Body(Pan(0.5, 0.3), 0.05, CUSTARD)
    maybe = cooling_times(body, Surroundings(Range(2.0, 4.0, 5.5), _sure(10.0)), 57.2, [5.0])[0]
    assert math.isfinite(maybe.middle)
    assert math.isinf(maybe.high)
    never = cooling_times(body, Surroundings(Range(19.0, 21.0, 23.0), _sure(10.0)), 57.2, [5.0])[0]
    assert never == Interval(math.inf, math.inf, math.inf)


def test_outside_that_may_freeze_puts_the_slow_end_at_melting_ice() -> None:
    """Freezing takes heat that is not counted; food in surroundings of 0 °C is slower than any that freezes."""
    body = Body(Pan(0.5, 0.3), 0.05, CUSTARD)
    cold = cooling_times(body, Surroundings(_sure(-18.0), _sure(30.0)), 57.2, [5.0])[0]
    melting = cooling_times(body, Surroundings(_sure(0.0), _sure(30.0)), 57.2, [5.0])[0]
    assert cold.high == pytest.approx(melting.middle)
    assert cold.middle < melting.middle


def test_level_just_below_the_start_is_reached_soon() -> None:
    """A hair below the start, in a freezer: soon, and no complaint of times too short to reckon with."""
    body = Body(Pan(0.5, 0.3), 0.3, CUSTARD)
    (found,) = cooling_times(body, Surroundings(_sure(-18.0), _sure(9.4)), 57.2, [57.2 - 1e-6])
    assert 0 <= found.low <= found.middle <= found.high < 10 * HOUR
    assert cooling_times(body, Surroundings(_sure(-18.0), _sure(9.4)), 57.2, [57.2])[0] == Interval(0.0, 0.0, 0.0)


def test_doubts_add_as_squares() -> None:
    """Two equal doubts are √2 of one, in logarithms; each side by itself."""
    body, around = Body(Pan(0.5, 0.3), 0.05, CUSTARD), Surroundings(_sure(3.0), _sure(10.0))
    heat = cooling_times(replace(body, capacity_off=0.1), around, 57.2, [21.1])[0]
    air = cooling_times(body, replace(around, h_w_m2k=Range(8.0, 10.0, 12.5)), 57.2, [21.1])[0]
    both = cooling_times(replace(body, capacity_off=0.1), replace(around, h_w_m2k=Range(8.0, 10.0, 12.5)), 57.2, [21.1])
    ups = [math.log(each.high / each.middle) for each in (heat, air, both[0])]
    assert heat.high / heat.middle == pytest.approx(1.1)
    assert ups[2] == pytest.approx(math.hypot(ups[0], ups[1]))


def test_interval_holds_nine_of_ten_draws_of_what_it_rests_on() -> None:
    """Figures drawn at random, each within its ends nine times of ten, fall into the interval about as often.

    Drawn as two half normal distributions around the middle, so that a twentieth lies beyond each end.
    """
    random = np.random.default_rng(20261125)

    def drawn(low: float, middle: float, high: float) -> float:
        step = float(random.standard_normal()) / 1.645
        return middle + step * ((high - middle) if step > 0 else (middle - low))

    body = Body(Pan(0.5, 0.3), 0.05, CUSTARD, 0.1, 0.1, 0.1)
    told = cooling_times(body, WALK_IN, 57.2, [21.1])[0]
    held = 0
    for _ in range(400):
        made = replace(
            CUSTARD,
            conductivity_w_mk=drawn(*(CUSTARD.conductivity_w_mk * share for share in (0.9, 1.0, 1.1))),
            heat_capacity_j_kgk=drawn(*(CUSTARD.heat_capacity_j_kgk * share for share in (0.9, 1.0, 1.1))),
        )
        around = Surroundings(_sure(drawn(1.7, 3.3, 5.0)), _sure(max(drawn(6.0, 9.4, 20.0), 1.0)))
        one = cooling_times(Body(Pan(0.5, 0.3), drawn(0.045, 0.05, 0.055), made), around, 57.2, [21.1])[0].middle
        held += told.low <= one <= told.high
    assert 0.85 <= held / 400 <= 0.97


@pytest.mark.parametrize(
    ("depth_m", "start_c", "level_c", "air_c", "named"),
    [
        (0.004, 60.0, 21.0, 3.0, "depth"),
        (0.31, 60.0, 21.0, 3.0, "depth"),
        (math.nan, 60.0, 21.0, 3.0, "depth"),
        (0.05, 160.0, 21.0, 3.0, "start"),
        (0.05, 60.0, -1.0, 3.0, "level"),
        (0.05, 60.0, 61.0, 3.0, "level"),
        (0.05, 60.0, 21.0, 120.0, "surroundings"),
    ],
)
def test_cooling_times_outside_its_range_refuses(
    depth_m: float, start_c: float, level_c: float, air_c: float, named: str
) -> None:
    """Too shallow, too deep, too hot, frozen, or warming up: an error that names it."""
    with pytest.raises(OutOfRangeError, match=named):
        cooling_times(Body(Pan(0.5, 0.3), depth_m, CUSTARD), Surroundings(_sure(air_c), _sure(9.0)), start_c, [level_c])


def test_liquid_that_turns_over_widens_the_fast_end_alone() -> None:
    """What rises by itself may be faster; the middle and the slow end stay."""
    around = Surroundings(_sure(3.0), _sure(30.0))
    set_, thin = (
        cooling_times(Body(Pan(0.5, 0.3), 0.1, CUSTARD, 0.1, 0.1, 0.1, turns_over=by), around, 57.2, [21.1])[0]
        for by in (1.0, 5.0)
    )
    assert thin.low < 0.8 * set_.low
    assert (thin.middle, thin.high) == (set_.middle, set_.high)


def test_container_that_is_none_is_refused() -> None:
    """A container of a centimetre, or of three metres, is refused."""
    with pytest.raises(OutOfRangeError, match="diameter"):
        Body(Pot(0.01), 0.05, CUSTARD)
    with pytest.raises(OutOfRangeError, match="width"):
        Body(Pan(0.5, 3.0), 0.05, CUSTARD)


@settings(max_examples=60)
@given(
    depth_m=st.floats(0.005, 0.30),
    container=st.one_of(
        st.builds(Pan, st.floats(0.02, 1.0), st.floats(0.02, 1.0)), st.builds(Pot, st.floats(0.02, 1.0))
    ),
    air_c=st.floats(-40.0, 60.0),
    h=st.floats(3.0, 500.0),
    start_c=st.floats(1.0, 110.0),
    share=st.floats(0.0, 1.0),
    both_faces=st.booleans(),
    mixed=st.booleans(),
)
def test_cooling_times_anywhere_in_range_are_in_order(
    depth_m: float,
    container: Pan | Pot,
    air_c: float,
    h: float,
    start_c: float,
    share: float,
    both_faces: bool,
    mixed: bool,
) -> None:
    """Everywhere in the range there is an interval whose ends are in order, and a colder level is later."""
    body = Body(container, depth_m, CUSTARD, 0.1, 0.1, 0.1)
    around = Surroundings(Range(air_c - 1, air_c, air_c + 1), Range(h * 0.7, h, h * 1.5), both_faces, mixed)
    level = share * start_c
    warm, cold = cooling_times(body, around, start_c, [(level + start_c) / 2, level])
    for each in (warm, cold):
        assert 0 <= each.low <= each.middle <= each.high
    assert warm.middle <= cold.middle
    assert warm.low <= cold.low * (1 + 1e-9)
