"""Growth against what its sources print; our own figures apart."""

import math

import numpy as np
import pytest
from scipy import integrate  # type: ignore[import-untyped]  # the library has no types

from holdwatch.errors import OutOfRangeError
from holdwatch.readings import Series
from holdwatch.science.growth import MODELS, growth_over, s_aureus_rate, salmonella_egg_rate, salmonella_yolk_rate
from tests.science.published import published

HOUR = 3_600_000
MODEL = {model.name: model for model in MODELS}


def _held(celsius: float, hours: float) -> Series:
    at = np.linspace(0, hours * HOUR, 41).astype(np.int64)
    return Series(at, np.full(len(at), celsius))


@published(salmonella_egg_rate, source="Oh et al. 2023, J Anim Sci Technol 65(5):1024, Table 2, formula of GR")
@pytest.mark.parametrize("celsius", [2.12, 5.30841, 12.54, 15.0, 25.0, 37.0])
def test_salmonella_egg_rate_is_the_formula_of_oh_table_2(celsius: float) -> None:
    """The table prints IF(T > 5.30841, (0.0214 × (T − 5.30841))², 0)."""
    printed = (0.0214 * (celsius - 5.30841)) ** 2 if celsius > 5.30841 else 0.0
    assert float(salmonella_egg_rate(celsius)) == pytest.approx(printed, abs=1e-12)


@published(salmonella_yolk_rate, source="McWhorter et al. 2015, BioMed Res Int 914987, Table 1, egg yolk, all isolates")
@pytest.mark.parametrize(("celsius", "printed"), [(15, 0.114), (22, 0.325), (37, 0.842)])
def test_salmonella_yolk_rate_is_what_mcwhorter_observed(celsius: float, printed: float) -> None:
    """At the observed temperatures the observed rates, read as decimal steps."""
    assert float(salmonella_yolk_rate(celsius)) == pytest.approx(printed, abs=0.0005)


@published(s_aureus_rate, source="Medveďová et al. 2019, Ital J Food Saf 8:8287, abstract: cardinal values")
def test_s_aureus_rate_has_the_cardinal_values_of_medvedova() -> None:
    """It begins at 7.7 °C, is 1.97 per hour at 40.6 °C and nowhere faster, and ends at 46.7 °C."""
    at = np.arange(5.0, 50.0, 0.1)
    per_h = s_aureus_rate(at) * math.log(10)
    assert float(s_aureus_rate(40.6)) * math.log(10) == pytest.approx(1.97, abs=0.005)
    assert float(at[per_h.argmax()]) == pytest.approx(40.6, abs=0.05)
    assert float(np.abs(per_h[(at <= 7.7) | (at >= 46.7)]).max()) == pytest.approx(0.0, abs=1e-12)
    assert float(per_h[(at > 7.8) & (at < 46.6)].min()) > 0


@published(growth_over, source="McWhorter et al. 2015, Table 1; SciPy, scipy.integrate.quad over straight lines")
def test_growth_over_is_the_integral_of_the_rate() -> None:
    """Held at an observed temperature it is rate times hours; along a cooling it is what the library integrates."""
    assert growth_over(_held(22, 4), MODEL["salmonella-yolk"]).steps == pytest.approx(4 * 0.325, abs=0.002)
    at = np.arange(0, 6.01, 0.25)
    celsius = 3 + 30 * np.exp(-at / 2)
    series = Series((at * HOUR).astype(np.int64), celsius)
    for name in ("salmonella-egg", "s-aureus"):
        found, _ = integrate.quad(
            lambda t, rate=MODEL[name].rate: float(rate(np.interp(t, at, celsius))), 0, 6, points=at[1:-1], limit=400
        )
        assert growth_over(series, MODEL[name]).steps == pytest.approx(found, rel=2e-3)


def test_growth_pinned() -> None:
    """Our own figures, in decimal steps an hour: they prove only that nothing moved."""
    assert float(salmonella_egg_rate(20.0)) == pytest.approx(0.09885, abs=5e-6)
    assert float(salmonella_egg_rate(30.0)) == pytest.approx(0.27921, abs=5e-6)
    assert float(s_aureus_rate(20.0)) == pytest.approx(0.1675, abs=5e-5)
    assert float(s_aureus_rate(37.0)) == pytest.approx(0.7869, abs=5e-5)


def test_faster_reading_of_the_yolk_is_faster_than_the_egg() -> None:
    """Between 15 and 37 °C the table read as decimal steps is the faster of the two for Salmonella."""
    at = np.arange(15.0, 37.1, 0.5)
    assert bool((salmonella_yolk_rate(at) > salmonella_egg_rate(at)).all())


def test_what_the_source_does_not_cover_counts_nothing_and_is_told() -> None:
    """At 60 °C no model here holds; at 10 °C that of the yolk does not; a hole is told."""
    assert growth_over(_held(60, 1), MODEL["s-aureus"]).uncovered_min == pytest.approx(60)
    cold = growth_over(_held(10, 1), MODEL["salmonella-yolk"])
    assert (cold.steps, cold.uncovered_min) == (0.0, pytest.approx(60))
    hole = growth_over(Series(np.array([0, 2 * HOUR]), np.array([22.0, 22.0])), MODEL["salmonella-yolk"])
    assert hole.unseen_min == 120
    assert growth_over(Series.empty(), MODEL["s-aureus"]).steps == 0.0


def test_temperature_outside_a_source_is_refused() -> None:
    """Nothing is carried on beyond what was measured."""
    with pytest.raises(OutOfRangeError, match="covers 15 to 37"):
        salmonella_yolk_rate(14.9)
    with pytest.raises(OutOfRangeError, match="covers -60 to 37"):
        salmonella_egg_rate(38.0)
    with pytest.raises(OutOfRangeError, match="covers -60 to 50"):
        s_aureus_rate(51.0)
