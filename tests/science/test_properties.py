"""Properties from composition against printed values of foods, and against water's own standard."""

import math

import pytest
from CoolProp.CoolProp import PropsSI  # type: ignore[import-untyped]  # the library has no types

from holdwatch.errors import OutOfRangeError
from holdwatch.science.properties import Makeup, thermal_properties
from tests.science.published import published
from tests.science.published_tables import published_rows

FOODS = published_rows("food_heat_capacity.csv")
PARTS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")


@published(thermal_properties, source="Geankoplis, Transport Processes, table A.4-1")
@pytest.mark.parametrize("row", FOODS, ids=lambda row: row["food"])
def test_thermal_properties_matches_geankoplis_table_a_4_1(row: dict[str, str]) -> None:
    """The heat capacity of dairy foods and bread is the printed one within 3 %: the table rounds water to a per cent."""
    makeup = Makeup(**{part: float(row[part]) for part in PARTS})
    capacity = thermal_properties(makeup, 40.0).heat_capacity_j_kgk / 1000
    assert float(row["low"]) * 0.97 <= capacity <= float(row["high"]) * 1.03


@published(thermal_properties, source="an engineering department's toolbox of Choi and Okos, its density example")
def test_thermal_properties_matches_the_example_of_a_toolbox() -> None:
    """12 % protein and 5 % carbohydrate in water at 22 °C: 1.0458e3 kg/m³ is printed.

    https://github.com/class-archives/ABE-557, Dryer/rhonew.m, read 2026-11-25: the help text's example. Its sentence
    swaps the two solids; the numbers of the call are these.
    """
    found = thermal_properties(Makeup(water=0.83, protein=0.12, carbohydrate=0.05), 22.0)
    assert found.density_kg_m3 == pytest.approx(1045.8, abs=0.05)


@published(thermal_properties, source="IAPWS-95 for water, as CoolProp computes it")
@pytest.mark.parametrize("celsius", [5.0, 25.0, 60.0, 90.0])
def test_thermal_properties_of_water_agrees_with_coolprop(celsius: float) -> None:
    """Pure water has the density, heat capacity and conductivity of the standard, within 0.3, 0.7 and 2.2 %."""
    water = thermal_properties(Makeup(water=1.0), celsius)
    density, capacity, conductivity = (PropsSI(key, "T", celsius + 273.15, "P", 101325, "Water") for key in "DCL")
    assert water.density_kg_m3 == pytest.approx(density, rel=0.003)
    assert water.heat_capacity_j_kgk == pytest.approx(capacity, rel=0.007)
    assert water.conductivity_w_mk == pytest.approx(conductivity, rel=0.022)


def test_diffusivity_is_what_the_three_make() -> None:
    """α = k/(ρ c): of water at 25 °C, 0.1455e-6 m²/s from IAPWS values, within 1.1 %."""
    assert thermal_properties(Makeup(water=1.0), 25.0).diffusivity_m2_s == pytest.approx(1.4548e-7, rel=0.011)


def test_thermal_properties_pinned_pastry_cream() -> None:
    """Our own value, so that a changed coefficient is noticed."""
    cream = thermal_properties(Makeup(water=0.66, protein=0.045, fat=0.065, carbohydrate=0.222, ash=0.008), 20.0)
    assert cream.density_kg_m3 == pytest.approx(1098.3, abs=0.05)
    assert cream.heat_capacity_j_kgk == pytest.approx(3339.8, abs=0.05)
    assert cream.conductivity_w_mk == pytest.approx(0.4968, abs=0.00005)


@pytest.mark.parametrize("celsius", [-0.1, 150.1, math.nan])
def test_thermal_properties_outside_its_range_refuses(celsius: float) -> None:
    """Below freezing, above the source's range and no number at all are refused."""
    with pytest.raises(OutOfRangeError, match="temperature"):
        thermal_properties(Makeup(water=1.0), celsius)


@pytest.mark.parametrize(
    ("shares", "named"),
    [({"water": 0.9}, "sum"), ({"water": 1.2, "fat": -0.2}, "water"), ({"water": math.nan}, "water"), ({}, "sum")],
)
def test_makeup_that_is_none_is_refused(shares: dict[str, float], named: str) -> None:
    """Shares that do not add up, or are none, are refused and named."""
    with pytest.raises(OutOfRangeError, match=named):
        Makeup(**shares)
