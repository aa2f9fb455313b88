"""Pressure, altitude and boiling water against the standard atmosphere, IAPWS and two other libraries."""

import iapws  # type: ignore[import-untyped]  # the library has no types
import pytest
from CoolProp.CoolProp import PropsSI  # type: ignore[import-untyped]  # the library has no types

from holdwatch.errors import OutOfRangeError
from holdwatch.science.atmosphere import geopotential_altitude_m, standard_pressure_pa, station_pressure_pa
from holdwatch.science.boiling import boiling_point_c, saturation_pressure_pa
from tests.science.published import published

FEET = 0.3048
KITCHENS_PA = [50_000.0, 61_640.24, 70_000.0, 83_427.59, 95_000.0, 101_325.0, 110_000.0]


@published(standard_pressure_pa, source="U.S. Standard Atmosphere 1976, table I, by geopotential altitude")
@pytest.mark.parametrize(
    ("altitude_m", "pressure_pa"),
    [(-1_000, 113_929.0), (0, 101_325.0), (500, 95_461.0), (1_000, 89_874.6), (2_000, 79_495.2), (11_000, 22_632.0)],
)
def test_standard_pressure_matches_the_standard_atmosphere(altitude_m: float, pressure_pa: float) -> None:
    """The printed figures have five or six digits."""
    assert standard_pressure_pa(altitude_m) == pytest.approx(pressure_pa, rel=1e-5)


@published(geopotential_altitude_m, source="U.S. Standard Atmosphere 1976, table I: Z 5000 m is H 4996 m")
@pytest.mark.parametrize(("geometric_m", "geopotential_m"), [(0, 0), (1_000, 1_000), (5_000, 4_996), (10_000, 9_984)])
def test_geopotential_altitude_matches_the_standard_atmosphere(geometric_m: float, geopotential_m: float) -> None:
    """The table prints whole metres."""
    assert geopotential_altitude_m(geometric_m) == pytest.approx(geopotential_m, abs=0.5)


@published(station_pressure_pa, source="U.S. National Weather Service, station pressure from altimeter setting (form)")
@pytest.mark.parametrize(("altimeter_inhg", "altitude_m"), [(29.92, 0), (29.92, 1_609), (30.50, 1_609), (29.40, 3_000)])
def test_station_pressure_matches_the_weather_services_form(altimeter_inhg: float, altitude_m: float) -> None:
    """The service multiplies, p = A [(288 − 0.0065 h)/288]^5.2561; ours differs by 0.16 % at worst, 0.04 °C of boiling."""
    inhg_pa = 3_386.389
    by_service = altimeter_inhg * inhg_pa * ((288 - 0.0065 * altitude_m) / 288) ** 5.2561
    assert station_pressure_pa(altimeter_inhg * inhg_pa, altitude_m) == pytest.approx(by_service, rel=1.6e-3)


def test_station_pressure_of_the_standard_is_the_standard() -> None:
    """A report of 1013.25 hPa is the standard atmosphere, whose pressure 1609.344 m up is 834.28 hPa."""
    assert station_pressure_pa(101_325.0, 1_609.344) == pytest.approx(standard_pressure_pa(1_609.344), rel=1e-12)


@published(boiling_point_c, source="IAPWS R7-97(2012), table 36")
@pytest.mark.parametrize(("pressure_mpa", "kelvin"), [(0.1, 372.755919), (1, 453.035632), (10, 584.149488)])
def test_boiling_point_matches_iapws_table_36(pressure_mpa: float, kelvin: float) -> None:
    """The values by which the release says that a program is to be verified."""
    assert boiling_point_c(pressure_mpa * 1e6) + 273.15 == pytest.approx(kelvin, abs=1e-6)


@published(saturation_pressure_pa, source="IAPWS R7-97(2012), table 35")
@pytest.mark.parametrize(("kelvin", "pressure_mpa"), [(300, 3.53658941e-3), (500, 2.63889776), (600, 12.3443146)])
def test_saturation_pressure_matches_iapws_table_35(kelvin: float, pressure_mpa: float) -> None:
    """The values by which the release says that a program is to be verified."""
    assert saturation_pressure_pa(kelvin - 273.15) == pytest.approx(pressure_mpa * 1e6, rel=1e-8)


@published(boiling_point_c, saturation_pressure_pa, source="CoolProp (IAPWS-95) and iapws (IAPWS-97)")
@pytest.mark.parametrize("pressure_pa", KITCHENS_PA)
def test_boiling_point_matches_two_libraries_at_every_kitchens_pressure(pressure_pa: float) -> None:
    """From 50 to 110 kPa within 0.0003 °C of IAPWS-95, and exactly that of another program of the same equation."""
    celsius = boiling_point_c(pressure_pa)
    assert celsius == pytest.approx(PropsSI("T", "P", pressure_pa, "Q", 0, "Water") - 273.15, abs=3e-4)
    assert celsius == pytest.approx(iapws.iapws97._TSat_P(pressure_pa / 1e6) - 273.15, abs=1e-8)
    assert saturation_pressure_pa(celsius) == pytest.approx(pressure_pa, rel=1e-9)


@published(boiling_point_c, source="Colorado State University Extension: water boils at 202 °F at 5000 ft")
def test_boiling_point_matches_the_rule_of_the_kitchen() -> None:
    """The rule takes 1 °F off for each 500 ft, which is right within 1 °F up to 5000 ft."""
    for feet in range(0, 5_001, 500):
        degrees_f = boiling_point_c(standard_pressure_pa(feet * FEET)) * 1.8 + 32
        assert degrees_f == pytest.approx(212 - feet / 500, abs=1.0)


def test_report_taken_for_the_room_would_be_five_degrees_wrong() -> None:
    """What a weather report says at 1609 m is no pressure of the room."""
    room = station_pressure_pa(101_325.0, 1_609.344)
    assert boiling_point_c(101_325.0) - boiling_point_c(room) == pytest.approx(5.36, abs=0.01)


@pytest.mark.parametrize("altitude_m", [-2_000.1, 11_000.1, float("nan")])
def test_altitude_outside_the_lowest_layer_is_refused(altitude_m: float) -> None:
    """Nothing is extrapolated."""
    for formula in (standard_pressure_pa, geopotential_altitude_m):
        with pytest.raises(OutOfRangeError, match="altitude"):
            formula(altitude_m)
    with pytest.raises(OutOfRangeError, match="reduced to sea level"):
        station_pressure_pa(84_999.0, 0.0)


@pytest.mark.parametrize("value", [float("nan"), -1.0, 1e9])
def test_water_outside_the_equation_is_refused(value: float) -> None:
    """Nothing is extrapolated."""
    with pytest.raises(OutOfRangeError):
        boiling_point_c(value)
    with pytest.raises(OutOfRangeError):
        saturation_pressure_pa(value)
