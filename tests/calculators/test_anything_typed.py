"""Whatever is typed, a calculator answers or refuses in words."""

import json
from contextlib import suppress

from hypothesis import given
from hypothesis import strategies as st

from holdwatch.calculators.boil import boiling_answer
from holdwatch.calculators.place import place
from holdwatch.calculators.recipe_lines import read_lines
from holdwatch.calculators.syrup import syrup_answer
from holdwatch.calculators.tcs import Measured, read_number, tables_answer
from holdwatch.calculators.water import water_answer
from holdwatch.errors import HoldwatchError
from holdwatch.science.recipe import INGREDIENTS

FIGURES = st.one_of(st.none(), st.floats(), st.floats(min_value=-100, max_value=200_000))
TYPED = st.one_of(st.text(max_size=12), st.from_regex(r"-?\d{1,3}([.,]\d{1,3})?(e-?\d{1,6})?", fullmatch=True))
NAMES = st.one_of(st.sampled_from(sorted(INGREDIENTS)), st.text(max_size=8))
PARTS = st.lists(st.from_regex(r"(water|sucrose|glucose|fat) -?\d{1,3}(\.\d)?%?", fullmatch=True), max_size=3)
LINES = st.one_of(
    st.text(max_size=40),
    st.builds(
        lambda name, grams, unit, parts: "; ".join([f"{name} = {grams} {unit}", *parts]),
        NAMES,
        st.integers(-1, 10_000),
        st.sampled_from(["g", "kg", "oz", ""]),
        PARTS,
    ),
)


def sound(answer: dict[str, object]) -> None:
    """Every answer can be handed to a program: no infinity and nothing that is no number is in it."""
    json.dumps(answer, allow_nan=False)


@given(FIGURES, FIGURES, FIGURES, FIGURES)
def test_boiling_and_syrup(
    pressure_pa: float | None, altitude_m: float | None, reported_pa: float | None, celsius: float | None
) -> None:
    """Pressures, altitudes and temperatures of any size, or none."""
    with suppress(HoldwatchError):
        here = place(pressure_pa=pressure_pa, altitude_m=altitude_m, reported_pa=reported_pa)
        sound(boiling_answer(here, shows_c=celsius, in_ice_c=celsius).for_programs())
        sound(syrup_answer(here, at_c=celsius).for_programs())


@given(TYPED, TYPED, TYPED, TYPED)
def test_ph_and_water_activity(ph: str, ph_error: str, water: str, water_error: str) -> None:
    """Figures as people mistype them."""
    with suppress(HoldwatchError):
        acid = Measured(read_number(ph), read_number(ph_error))
        sound(tables_answer(acid, Measured(read_number(water), read_number(water_error))).for_programs())


@given(st.lists(LINES, max_size=5), st.one_of(st.none(), st.floats()))
def test_recipe(lines: list[str], final_g: float | None) -> None:
    """Lines that are ingredients, lines that are nearly so, and anything else."""
    with suppress(HoldwatchError):
        sound(water_answer(read_lines(lines), final_g=final_g).for_programs())
