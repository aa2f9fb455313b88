"""How well food gives off heat in each place, against the correlations of another library.

A pan half a metre by thirty centimetres. Natural convection after McAdams and after Churchill and Chu, a flat plate in a
stream, all as `ht` computes them; air and water from CoolProp; radiation after Stefan and Boltzmann with the emissivity
of food (0.9) above and of a used steel pan (0.3) below.
"""

import ht  # type: ignore[import-untyped]  # the library has no types
import pytest
from CoolProp.CoolProp import PropsSI  # type: ignore[import-untyped]  # the library has no types

from holdwatch.calculators.cooling_places import PLACES, Way
from holdwatch.science.cooling_time import Range

GRAVITY, STEFAN_BOLTZMANN = 9.80665, 5.670374e-8
LENGTH_M = 0.5
AREA_OVER_PERIMETER_M = 0.5 * 0.3 / (2 * (0.5 + 0.3))


def fluid(name: str, celsius: float) -> tuple[float, float, float]:
    """Return conductivity, kinematic viscosity and Prandtl number at 1 atm."""
    k, mu, rho, cp = (float(PropsSI(key, "T", celsius + 273.15, "P", 101325, name)) for key in "LVDC")
    return k, mu / rho, mu * cp / k


def radiated(surface_c: float, around_c: float, emissivity: float) -> float:
    """Return what radiation adds to a surface coefficient."""
    hot, cold = surface_c + 273.15, around_c + 273.15
    return emissivity * STEFAN_BOLTZMANN * (hot**2 + cold**2) * (hot + cold)


def in_still_air(surface_c: float, around_c: float) -> float:
    """Return the mean of the top and the bottom of a pan on a rack."""
    k, nu, prandtl = fluid("Air", (surface_c + around_c) / 2)
    expansion = 1 / ((surface_c + around_c) / 2 + 273.15)
    grashof = GRAVITY * expansion * (surface_c - around_c) * AREA_OVER_PERIMETER_M**3 / nu**2
    top, bottom = (
        ht.Nu_horizontal_plate_McAdams(prandtl, grashof, up) * k / AREA_OVER_PERIMETER_M for up in (True, False)
    )
    return float(top + radiated(surface_c, around_c, 0.9) + bottom + radiated(surface_c, around_c, 0.3)) / 2


def in_a_stream(surface_c: float, around_c: float, metres_a_second: float, *, turbulent: bool = False) -> float:
    """Return the surface coefficient of a flat plate in moving air."""
    k, nu, prandtl = fluid("Air", (surface_c + around_c) / 2)
    reynolds = metres_a_second * LENGTH_M / nu
    nusselt = ht.Nu_external_horizontal_plate(reynolds, prandtl, Re_transition=1.0 if turbulent else 5e5)
    return float(nusselt * k / LENGTH_M + radiated(surface_c, around_c, 0.6))


def in_a_bath(wall_c: float, around_c: float) -> float:
    """Return the surface coefficient of an upright wall of 5 cm in water."""
    middle_c = (wall_c + around_c) / 2
    k, nu, prandtl = fluid("Water", middle_c)
    key = "isobaric_expansion_coefficient"
    expansion = abs(float(PropsSI(key, "T", middle_c + 273.15, "P", 101325, "Water")))
    grashof = GRAVITY * expansion * (wall_c - around_c) * 0.05**3 / nu**2
    return float(ht.Nu_vertical_plate_Churchill(prandtl, grashof) * k / 0.05)


def holds(found: Range, value: float) -> bool:
    """Return whether a range holds a value."""
    return found.low <= value <= found.high


@pytest.mark.parametrize("surface_c", [30.0, 45.0, 60.0, 70.0])
def test_bench_holds_natural_convection_and_radiation(surface_c: float) -> None:
    """From hot to lukewarm the range holds what the correlations give, and its middle is near their mean."""
    found = in_still_air(surface_c, 21.0)
    assert holds(PLACES[Way.BENCH].h_w_m2k, found)
    assert found == pytest.approx(PLACES[Way.BENCH].h_w_m2k.middle, rel=0.2)


@pytest.mark.parametrize(("way", "air_c"), [(Way.WALK_IN, 3.3), (Way.FREEZER, -18.0)])
def test_walk_in_and_freezer_hold_still_and_moving_air(way: Way, air_c: float) -> None:
    """From still air to a fan's 1.5 m/s, and a rough stream of 2 m/s, the range holds what the correlations give."""
    h = PLACES[way].h_w_m2k
    for found in (
        in_still_air(40.0, air_c),
        in_still_air(12.0, air_c),
        in_a_stream(20.0, air_c, 1.0),
        in_a_stream(20.0, air_c, 1.5),
        in_a_stream(20.0, air_c, 2.0, turbulent=True),
    ):
        assert holds(h, found), found


def test_blast_chiller_holds_fast_air() -> None:
    """From a smooth 3 m/s to a rough 10 m/s; its middle is a rough 5 m/s."""
    h = PLACES[Way.BLAST].h_w_m2k
    assert holds(h, in_a_stream(15.0, -10.0, 3.0))
    assert holds(h, in_a_stream(15.0, -10.0, 10.0, turbulent=True))
    assert in_a_stream(15.0, -10.0, 5.0, turbulent=True) == pytest.approx(h.middle, rel=0.15)


@pytest.mark.parametrize("wall_c", [8.0, 12.0, 15.0])
def test_ice_bath_holds_natural_convection_in_water(wall_c: float) -> None:
    """A pan's wall in water of melting ice, with nobody stirring."""
    assert holds(PLACES[Way.ICE].h_w_m2k, in_a_bath(wall_c, 1.0))


def test_stirred_food_is_held_back_by_the_bath() -> None:
    """Heat goes through the food's film and the bath's one after the other, so stirred is no better than the bath alone."""
    stirred, bath = PLACES[Way.STIRRED].h_w_m2k, PLACES[Way.ICE].h_w_m2k
    assert (stirred.low, stirred.middle, stirred.high) < (bath.low, bath.middle, bath.high)
