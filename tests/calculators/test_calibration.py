"""Checks of probes at known temperatures, held against the codes and against arithmetic by hand."""

import pytest

from holdwatch.calculators.calibration import (
    Line,
    Method,
    Outcome,
    Point,
    asked_c,
    boiling,
    line_through,
    melting_ice,
    outcome_of,
    reference,
)
from holdwatch.calculators.place import place
from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.quantities import Scale
from holdwatch.readings import Medium

AS_IT_IS = Line()


def _exact(shows_c: float, true_c: float = 0.0) -> Point:
    return Point(Method.REFERENCE, true_c, 0.0, shows_c)


@pytest.mark.parametrize(
    ("medium", "scale", "degrees"),
    [
        (Medium.FOOD, Scale.C, 1.0),  # FDA Food Code 4-203.11(A): ±1 °C
        (Medium.FOOD, Scale.F, 2.0),  # 4-203.11(B): ±2 °F
        (Medium.AIR, Scale.C, 1.5),  # 4-203.12(A): ±1.5 °C
        (Medium.AIR, Scale.F, 3.0),  # 4-203.12(B): ±3 °F
        (Medium.PRODUCT, Scale.F, 3.0),  # a device that stands in the unit, not in food that is served
    ],
)
def test_what_is_asked_is_what_the_code_asks(medium: Medium, scale: Scale, degrees: float) -> None:
    """In the scale in which the code has it."""
    assert asked_c(medium, scale) * (1.8 if scale is Scale.F else 1.0) == pytest.approx(degrees)


@pytest.mark.parametrize(
    ("shows_f", "outcome"),
    [(32.0, "within"), (34.0, "within"), (34.1, "beyond"), (30.0, "within"), (29.9, "beyond")],
)
def test_ice_point_ends_are_those_of_the_practice(shows_f: float, outcome: str) -> None:
    """Ice point 32 °F ± 2 °F, both ends within: sample operating procedure of the Institute of Child Nutrition."""
    assert outcome_of([_exact((shows_f - 32) / 1.8)], asked_c(Medium.FOOD, Scale.F), AS_IT_IS) == outcome


def test_what_the_bath_hides_is_not_told() -> None:
    """Between "within" and "beyond" lies what the uncertainty of the true temperature leaves open."""
    point = Point(Method.ICE, 0.0, 0.1, 1.05)
    assert outcome_of([point], 1.0, AS_IT_IS) is Outcome.UNCLEAR
    assert outcome_of([Point(Method.ICE, 0.0, 0.1, 0.89)], 1.0, AS_IT_IS) is Outcome.WITHIN
    assert outcome_of([Point(Method.ICE, 0.0, 0.1, 1.11)], 1.0, AS_IT_IS) is Outcome.BEYOND


def test_one_point_beyond_is_enough() -> None:
    """And one that cannot be told leaves it untold."""
    good, bad, hidden = _exact(0.0), _exact(102.0, 100.0), Point(Method.BOILING, 95.0, 0.5, 95.8)
    assert outcome_of([good, bad, hidden], 1.0, AS_IT_IS) is Outcome.BEYOND
    assert outcome_of([good, hidden], 1.0, AS_IT_IS) is Outcome.UNCLEAR
    assert outcome_of([good], 1.0, AS_IT_IS) is Outcome.WITHIN


def test_what_counts_is_the_corrected_value() -> None:
    """A probe whose correction is in force is held against it."""
    assert outcome_of([_exact(2.0)], 1.0, Line(1.0, -2.0)) is Outcome.WITHIN
    assert outcome_of([_exact(0.0)], 1.0, Line(1.0, -2.0)) is Outcome.BEYOND


def test_water_boils_lower_in_denver() -> None:
    """About 203 °F a mile up (common practice, no source; the science has its own tests): there 212 °F is not right."""
    here = place(altitude_m=1609.3)
    right, wrong = boiling((203 - 32) / 1.8, here), boiling(100.0, here)
    assert right.true_c * 1.8 + 32 == pytest.approx(203, abs=1)
    asked = asked_c(Medium.FOOD, Scale.F)
    assert outcome_of([wrong], asked, AS_IT_IS) is Outcome.BEYOND
    assert outcome_of([right], asked, AS_IT_IS) is not Outcome.BEYOND


def test_one_point_gives_an_offset_and_two_give_a_line() -> None:
    """By hand: 0 shows 1, 100 shows 98, so true = (shown − 1) · 100 / 97."""
    assert line_through([_exact(1.5)]) == Line(1.0, -1.5)
    line = line_through([_exact(98.0, 100.0), _exact(1.0)])
    assert line.of(1.0) == pytest.approx(0.0)
    assert line.of(98.0) == pytest.approx(100.0)
    assert line.of(49.5) == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("points", "says"),
    [
        ([], "from one point or two, not from 0"),
        ([_exact(0.0), _exact(50.0, 50.0), _exact(99.0, 100.0)], "not from 3"),
        ([_exact(0.0), _exact(9.0, 9.9)], "too near to each other"),
        ([_exact(5.0), _exact(5.0, 50.0)], "too near to each other"),
        ([_exact(0.0), _exact(89.0, 100.0)], "more than a tenth off"),
    ],
)
def test_what_gives_no_line_says_why(points: list[Point], says: str) -> None:
    """In words that say what to do."""
    with pytest.raises(ConfigError, match=says):
        line_through(points)


def test_what_is_no_check_is_refused() -> None:
    """No point at all, what no probe shows, a reference that proves nothing."""
    with pytest.raises(ConfigError, match="needs a point"):
        outcome_of([], 1.0, AS_IT_IS)
    with pytest.raises(OutOfRangeError):
        melting_ice(301.0)
    with pytest.raises(ConfigError, match="proves nothing"):
        reference(4.0, 4.1, 1.0)
    assert reference(4.0, 4.1, 0.99).true_c == 4.1
