"""Water activity of sugared mixtures against measured solutions and published worked figures."""

import math

import pytest

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.science.recipe import Composition, Ingredient, find_ingredient, mix
from holdwatch.science.water_activity import (
    SOLUTES,
    SUCROSE_SOLUBILITY,
    estimate_water_activity,
    money_born_water_activity,
    norrish_water_activity,
    ross_water_activity,
)
from tests.science.published import published
from tests.science.published_tables import published_rows

SOLUTIONS = published_rows("water_activity.csv")
_MEASURED = "Robinson and Stokes 1961; a table after Beuchat 1981 (see the file)"


@published(norrish_water_activity, source=_MEASURED)
@pytest.mark.parametrize("row", SOLUTIONS, ids=lambda row: f"{row['grams']} g")
def test_norrish_matches_measured_solutions(row: dict[str, str]) -> None:
    """One solute, sucrose, up to the saturated solution."""
    ours = norrish_water_activity({row["solute"]: float(row["grams"])}, 1_000)
    assert ours == pytest.approx(float(row["water_activity"]), abs=float(row["within"]))


@published(
    ross_water_activity,
    source="K. D. Ross 1975, the product of measured solutions: sucrose after Robinson and Stokes 1961, glucose after "
    "Bonner and Breazeale 1965 (both from memory)",
)
@pytest.mark.parametrize(("sucrose_g", "glucose_g"), [(100, 30), (60, 60), (150, 20)])
def test_ross_is_the_product_of_measured_solutions(sucrose_g: float, glucose_g: float) -> None:
    """Each solute measured alone in all the water, multiplied; osmotic coefficients instead of Norrish's constants."""
    m = 10 * sucrose_g / 342.2965
    sucrose = 1 + 0.07028 * m + 0.01847 * m**2 - 0.004045 * m**3 + 0.000228 * m**4
    n = 10 * glucose_g / 180.156
    glucose = 1 + 0.022 * n
    measured = math.exp(-0.01801528 * (m * sucrose + n * glucose))
    ours = ross_water_activity({"sucrose": sucrose_g, "glucose": glucose_g}, 100)
    assert ours == pytest.approx(measured, abs=0.0015)


@published(money_born_water_activity, source=_MEASURED)
@pytest.mark.parametrize("row", SOLUTIONS, ids=lambda row: f"{row['grams']} g")
def test_money_and_born_is_within_0_012_of_measured_solutions(row: dict[str, str]) -> None:
    """The rule of the jam makers is rougher: too low when thin, too high when thick."""
    ours = money_born_water_activity({row["solute"]: float(row["grams"])}, 1_000)
    assert ours == pytest.approx(float(row["water_activity"]), abs=0.012)


@published(estimate_water_activity, source=_MEASURED)
@pytest.mark.parametrize("row", SOLUTIONS, ids=lambda row: f"{row['grams']} g")
def test_estimate_holds_the_measured_value(row: dict[str, str]) -> None:
    """What is measured lies in the range that is told."""
    found = estimate_water_activity({row["solute"]: float(row["grams"])}, 1_000)
    assert found.low <= float(row["water_activity"]) <= found.high


@published(
    estimate_water_activity,
    source="a saturated sucrose solution has about 0.85: handbooks, from memory",
)
def test_estimate_of_a_fondant_is_that_of_its_saturated_syrup() -> None:
    """Crystals do not hold water back: ten times the sugar gives the same activity, that of the saturated syrup."""
    found = [estimate_water_activity({"sucrose": grams}, 100) for grams in (300, 3_000)]
    assert found[0].norrish == found[1].norrish == pytest.approx(0.85, abs=0.005)
    assert found[1].undissolved_g == pytest.approx(3_000 - 100 * SUCROSE_SOLUBILITY)


def test_methods_agree_on_pure_water_and_fall_with_every_gram() -> None:
    """Without solutes the activity is 1, and more sugar never makes it higher."""
    for method in (norrish_water_activity, ross_water_activity, money_born_water_activity):
        assert method({}, 100) == 1
        falling = [method({"sucrose": grams}, 100) for grams in range(0, 200, 10)]
        assert falling == sorted(falling, reverse=True)


def test_estimate_below_the_methods_says_only_at_most() -> None:
    """Where a method ends there is no estimate, and the range has no lower end."""
    found = estimate_water_activity({"glucose": 36, "fructose": 41}, 17)
    assert found.estimate is None
    assert found.low == 0.0
    assert found.high == pytest.approx(0.86)
    assert "end at 0.8" in found.reason


def test_pinned_spread_of_the_methods() -> None:
    """Our own figures: 100 g sucrose and 30 g glucose in 100 g of water."""
    grams = {"sucrose": 100.0, "glucose": 30.0}
    found = estimate_water_activity(grams, 100)
    assert (found.norrish, found.ross, found.money_born) == pytest.approx((0.908090, 0.905803, 0.889806), abs=1e-6)
    assert found.high - found.low > 0.018


def test_what_the_methods_do_not_know_is_refused() -> None:
    """An unknown solute, a negative weight, no water: nothing is left out silently."""
    with pytest.raises(ConfigError, match="sucrose, glucose"):
        norrish_water_activity({"salt": 1}, 100)
    for method in (norrish_water_activity, ross_water_activity, money_born_water_activity, estimate_water_activity):
        with pytest.raises(OutOfRangeError, match="water"):
            method({"sucrose": 10}, 0)
        with pytest.raises(OutOfRangeError, match="weight of sucrose"):
            method({"sucrose": -1}, 100)
    with pytest.raises(OutOfRangeError, match="Norrish"):
        norrish_water_activity({"sucrose": 400}, 100)


@published(find_ingredient, source="USDA Standard Reference, abbreviated file, by NDB number (see the file)")
@pytest.mark.parametrize("row", published_rows("ingredients.csv"), ids=lambda row: row["name"])
def test_find_ingredient_has_the_water_of_the_table_and_no_more_sugar(row: dict[str, str]) -> None:
    """Water as printed; never more sugar than is printed, which would make the activity come out too low."""
    found = find_ingredient(row["name"])
    assert row["number"] in found.source
    assert found.water == float(row["water_g"])
    assert sum(found.solutes().values()) <= float(row["sugars_g"])


@published(
    mix, source="F. A. Mohos, Confectionery and Chocolate Engineering, 2010, table A2.3: 203.859 g to 100 g is 67.09 %"
)
def test_mix_of_a_saturated_syrup_has_the_printed_share() -> None:
    """The weights of sugar and water in a syrup that is saturated at 20 °C."""
    pure = Composition("sucrose", 0.0, "by definition", sucrose=100.0)
    made = mix([Ingredient(pure, 203.859), Ingredient(find_ingredient("water"), 100.0)])
    assert 100 * made.solutes_g["sucrose"] / made.total_g == pytest.approx(67.09, abs=0.005)


def test_mix_takes_only_water_away_when_it_is_boiled_down() -> None:
    """What is missing at the end has evaporated."""
    recipe = [Ingredient(find_ingredient("granulated sugar"), 200), Ingredient(find_ingredient("water"), 100)]
    made = mix(recipe, final_g=250)
    assert (made.water_g, made.solutes_g["sucrose"], made.total_g) == pytest.approx((50.04, 199.6, 250))


def test_mix_refuses_what_cannot_be() -> None:
    """More gone than there was, more at the end than at the start, nothing at all."""
    water = [Ingredient(find_ingredient("water"), 100)]
    with pytest.raises(ConfigError, match="no ingredient"):
        mix([])
    with pytest.raises(ConfigError, match="cannot be 120 g"):
        mix(water, final_g=120)
    with pytest.raises(ConfigError, match="only 100 g of water"):
        mix(water, final_g=0)
    with pytest.raises(OutOfRangeError, match="weight of water"):
        mix([Ingredient(find_ingredient("water"), 0)])
    with pytest.raises(OutOfRangeError, match="water and sugars of syrup"):
        mix([Ingredient(Composition("syrup", 60, "label", sucrose=50), 100)])


def test_unknown_ingredient_is_told_with_the_nearest_and_the_way_out() -> None:
    """A cook learns how to state what the label says."""
    with pytest.raises(ConfigError, match="did you mean 'butter'"):
        find_ingredient("buter")
    with pytest.raises(ConfigError, match="water 30%"):
        find_ingredient("zzz")


def test_every_ingredient_adds_up_and_names_its_source() -> None:
    """No row holds more than a hundred grams in a hundred, and none is without source."""
    from holdwatch.science.recipe import INGREDIENTS

    for each in INGREDIENTS.values():
        assert each.water + sum(each.solutes().values()) <= 100
        assert len(each.source.split()) > 1
        assert set(each.solutes()) == set(SOLUTES)
