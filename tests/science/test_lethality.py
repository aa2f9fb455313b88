"""Lethality against the worked examples of a textbook, the measurements of other authors, and a numerical integral."""

import math

import numpy as np
import pytest
from scipy import integrate  # type: ignore[import-untyped]  # the library has no types

from holdwatch.errors import OutOfRangeError
from holdwatch.readings import Series
from holdwatch.science.lethality import (
    MEDIA,
    Z_C,
    decimal_reduction_min,
    equivalent_minutes,
    estimate_cook,
    lethal_rate,
    log_reductions,
)
from tests.science.published import published


def _celsius(*fahrenheit: float) -> np.ndarray:
    return (np.array(fahrenheit) - 32) / 1.8


STEPS = ([0, 20, 20, 40, 40, 73], _celsius(160, 160, 210, 210, 230, 230))
RETORT = ([0, 15, 25, 30, 40, 50, 64], _celsius(80, 165, 201, 212.5, 225, 230.5, 235))
EGG = ([0, 4, 8, 9, 10, 12], np.array([20.0, 60.0, 70.0, 71.0, 65.0, 40.0]))
AT_250_F = {"reference_c": (250 - 32) / 1.8, "z_c": 10.0}


def _held(celsius: float, minutes: float) -> Series:
    at = np.arange(0, minutes * 60_000 + 1, 1_000, dtype=np.int64)
    return Series(at, np.full(len(at), celsius))


@published(lethal_rate, source="dairyscience.info, Exploring the F0 concept: lethal rate 0.077 at 110 °C")
def test_lethal_rate_matches_the_printed_value() -> None:
    """At 110 °C, z 10 °C and 121.11 °C the source prints 0.077."""
    assert float(lethal_rate(110.0, reference_c=121.11, z_c=10.0)) == pytest.approx(0.077, abs=0.0005)


@published(equivalent_minutes, source="Geankoplis, Transport Processes and Unit Operations, Example 9.12-1")
def test_equivalent_minutes_matches_geankoplis_example_9_12_1() -> None:
    """20 min at 160 °F, 20 at 210 and 33 at 230 are 2.68 min at 250 °F."""
    assert equivalent_minutes(*STEPS, **AT_250_F) == pytest.approx(2.68, abs=0.005)


@published(equivalent_minutes, source="Geankoplis, Transport Processes and Unit Operations, Example 9.12-2")
def test_equivalent_minutes_is_below_the_graph_of_geankoplis_example_9_12_2() -> None:
    """The book plots the rates and finds 2.50 min: the trapezoid's figure, which the straight lines do not reach.

    The example needs 2.45 min: by the graph it is enough, by the temperatures as they were read it is not shown.
    """
    trapezoid = float(np.trapezoid(lethal_rate(RETORT[1], **AT_250_F), RETORT[0]))
    exact = equivalent_minutes(*RETORT, **AT_250_F)
    assert trapezoid == pytest.approx(2.50, abs=0.005)
    assert exact < 2.45 < trapezoid


@pytest.mark.parametrize(
    ("record", "reference_c", "z_c"),
    [(RETORT, 250 / 1.8, 10.0), (EGG, 60.0, 4.6), (EGG, (155 - 32) / 1.8, 9.758 / 1.8)],
)
def test_equivalent_minutes_is_the_integral(
    record: tuple[list[float], np.ndarray], reference_c: float, z_c: float
) -> None:
    """The closed form is what SciPy finds by adaptive quadrature over the straight lines."""
    at, celsius = record
    found, _ = integrate.quad(
        lambda t: 10 ** ((np.interp(t, at, celsius) - reference_c) / z_c), at[0], at[-1], points=at[1:-1], limit=400
    )
    assert equivalent_minutes(at, celsius, reference_c=reference_c, z_c=z_c) == pytest.approx(found, rel=1e-7)


def test_equivalent_minutes_pinned_egg_cook() -> None:
    """Our own figures: an egg cook, at 60 °C and at 155 °F; the trapezoid on its six readings says 641.7 and 8.66."""
    assert equivalent_minutes(*EGG, reference_c=60.0, z_c=4.6) == pytest.approx(392.23033, abs=1e-5)
    at_155 = equivalent_minutes(*EGG, reference_c=(155 - 32) / 1.8, z_c=5.42111)
    assert at_155 == pytest.approx(5.588302, abs=2e-6)
    assert equivalent_minutes(*RETORT, **AT_250_F) == pytest.approx(2.384517, abs=1e-6)


def test_equivalent_minutes_of_steady_temperature_is_the_time() -> None:
    """At the reference temperature a minute is a minute, also where the readings differ by less than can be told."""
    assert equivalent_minutes([0, 3.5], [60.0, 60.0], reference_c=60.0, z_c=4.6) == pytest.approx(3.5, rel=1e-12)
    assert equivalent_minutes([0, 3.5], [60.0, 60.0 + 1e-12], reference_c=60.0, z_c=4.6) == pytest.approx(3.5)
    assert equivalent_minutes([0], [60.0], reference_c=60.0, z_c=4.6) == 0.0


@published(decimal_reduction_min, source="Schuman, Sheldon 1997, Journal of Food Protection 60(6), abstract")
@pytest.mark.parametrize(
    ("d_min", "at_c", "other_min", "other_c", "z_range"),
    [(0.28, 60.0, 0.087, 62.2, (3.54, 4.335)), (7.99, 55.1, 1.00, 58.3, (3.54, 4.335))],
    ids=["yolk", "white"],
)
def test_decimal_reduction_min_joins_the_pairs_of_schuman(
    d_min: float, at_c: float, other_min: float, other_c: float, z_range: tuple[float, float]
) -> None:
    """With the z that the two D of a medium give, which lies in the printed range, the one leads to the other."""
    z_c = (other_c - at_c) / math.log10(d_min / other_min)
    assert z_range[0] <= z_c <= z_range[1]
    made = decimal_reduction_min(other_c, d_min=d_min, at_c=at_c, z_c=z_c)
    assert made == pytest.approx(other_min, rel=1e-9)


@published(log_reductions, source="Geankoplis, Transport Processes and Unit Operations, Example 9.12-3")
def test_log_reductions_matches_geankoplis_example_9_12_3() -> None:
    """9 min at 150 °F with D 0.6 min are 15 decimal reductions."""
    assert log_reductions(9.0, d_min=0.6) == pytest.approx(15.0, abs=1e-9)


def test_media_are_those_of_garibaldi() -> None:
    """The D of each medium, in minutes, as the abstract prints them."""
    printed = {
        "whole-egg": (0.27, 60), "sugared-whole-egg": (0.60, 60), "fortified-whole-egg": (1.0, 60),
        "scrambled-egg-mix": (1.0, 60), "yolk": (0.40, 60), "sugared-yolk": (4.0, 60), "salted-yolk": (5.1, 60),
        "white": (0.55, 55), "sugared-white": (1.2, 55),
    }  # fmt: skip
    assert {name: (medium.d_min, medium.at_c) for name, medium in MEDIA.items()} == printed
    assert pytest.approx(8.3 / 1.8, abs=0.05) == Z_C


@published(estimate_cook, source="Palumbo, Beers, Bhaduri, Palumbo 1995, Journal of Food Protection 58(9), abstract")
def test_estimate_cook_holds_what_palumbo_measured_in_yolk() -> None:
    """Another laboratory found seven reductions in plain yolk at 61.1 °C after 1.4 to 2.4 min."""
    short, long = (estimate_cook(_held(61.1, t), MEDIA["yolk"], tolerance_c=0.0) for t in (1.4, 2.4))
    assert short.logs < 7 < long.logs
    assert short.low < 7 < long.high


@published(estimate_cook, source="Gurtler, Juneja, Jones, Purohit 2019, doi:10.4315/0362-028X.JFP-18-438, abstract")
@pytest.mark.parametrize(("celsius", "minutes"), [(60.0, 3.1), (64.0, 0.34)])
def test_estimate_cook_holds_what_gurtler_measured_in_whole_egg(celsius: float, minutes: float) -> None:
    """Five reductions of a heat-resistant mixture in whole egg took 3.1 min at 60 °C and 0.34 min at 64 °C.

    At 60 °C the lower end is the source's own figure, for the allowance for resistant strains was taken from it; at
    64 °C nothing was.
    """
    at = np.linspace(0, minutes * 60_000, 20).astype(np.int64)
    made = estimate_cook(Series(at, np.full(20, celsius)), MEDIA["whole-egg"], tolerance_c=0.0)
    assert 3.0 < made.low <= 5.0 <= made.high


def test_sugared_yolk_is_ten_times_more_resistant() -> None:
    """The same cook does a tenth in sugared yolk."""
    plain, sugared = (estimate_cook(_held(62, 3), MEDIA[name], tolerance_c=0.5) for name in ("yolk", "sugared-yolk"))
    assert plain.logs == pytest.approx(10 * sugared.logs)


def test_tolerance_is_subtracted() -> None:
    """Half a degree less makes 1.2844 times less at z = 4.6 °C, one degree 1.6496 times less."""
    as_read = estimate_cook(_held(62, 3), MEDIA["yolk"], tolerance_c=0.0).logs
    assert as_read / estimate_cook(_held(62, 3), MEDIA["yolk"], tolerance_c=0.5).logs == pytest.approx(1.2844, abs=5e-5)
    assert as_read / estimate_cook(_held(62, 3), MEDIA["yolk"], tolerance_c=1.0).logs == pytest.approx(1.6496, abs=5e-5)


def test_heat_beyond_what_was_measured_counts_as_at_its_end() -> None:
    """155 °F for 17 s: drawn on, the line gives 4.6 reductions in sugared yolk; what was measured shows far fewer."""
    at = np.array([0, 17_000], dtype=np.int64)
    made = estimate_cook(Series(at, _celsius(155, 155)), MEDIA["sugared-yolk"], tolerance_c=0.0)
    assert made.warmer_min == pytest.approx(17 / 60)
    assert made.logs == pytest.approx(17 / 60 * 10 ** (4.4 / 4.6) / 4.0)
    assert made.high > 4.59 > made.logs


def test_what_nobody_saw_counts_nothing() -> None:
    """Two readings a quarter of an hour apart show no cooking between them."""
    made = estimate_cook(Series(np.array([0, 900_000]), np.array([63.0, 63.0])), MEDIA["yolk"], tolerance_c=0.0)
    assert (made.logs, made.unseen_min) == (0.0, 15.0)


def test_cold_counts_nothing() -> None:
    """An hour at 54.9 °C counts nothing, and crossing 55 °C counts from there."""
    assert estimate_cook(_held(54.9, 60), MEDIA["yolk"], tolerance_c=0.0).logs == 0.0
    ramp = Series(np.array([0, 60_000]), np.array([54.0, 56.0]))
    half = equivalent_minutes([0, 0.5], [55.0, 56.0], reference_c=60.0, z_c=Z_C)
    assert estimate_cook(ramp, MEDIA["yolk"], tolerance_c=0.0).minutes == pytest.approx(half)


def test_record_of_one_reading_shows_nothing() -> None:
    """One reading has no length, none has nothing."""
    assert estimate_cook(Series.of([(0, 80.0)]), MEDIA["yolk"], tolerance_c=0.0).high == 0.0
    assert estimate_cook(Series.empty(), MEDIA["yolk"], tolerance_c=0.0).high == 0.0


def test_what_is_none_is_refused() -> None:
    """A z, a temperature, a tolerance, a D or a time that cannot be is refused with its range."""
    with pytest.raises(OutOfRangeError, match="z is 0 "):
        lethal_rate(60.0, reference_c=60.0, z_c=0.0)
    with pytest.raises(OutOfRangeError, match="temperature is 400"):
        equivalent_minutes([0, 1], [60.0, 400.0], reference_c=60.0, z_c=4.6)
    with pytest.raises(OutOfRangeError, match="tolerance"):
        estimate_cook(_held(60, 1), MEDIA["yolk"], tolerance_c=-0.1)
    with pytest.raises(OutOfRangeError, match="D is 0"):
        log_reductions(1.0, d_min=0.0)
    with pytest.raises(OutOfRangeError, match="D is 0"):
        decimal_reduction_min(60.0, d_min=0.0, at_c=60.0, z_c=4.6)
    with pytest.raises(OutOfRangeError, match="time is -1"):
        log_reductions(-1.0, d_min=1.0)
    with pytest.raises(ValueError, match="in order of time"):
        equivalent_minutes([1, 0], [60.0, 60.0], reference_c=60.0, z_c=4.6)
