"""What is told of the ways to cool a food: their order, their limits, and what is refused."""

import math
from pathlib import Path

import pytest

from holdwatch.calculators.containers import CONTAINERS, read_container
from holdwatch.calculators.cool_faster import Cooling, cool_faster_answer
from holdwatch.calculators.cooling import EDGE, INSIDE, about, asked_by, body_of, interval_told, stands
from holdwatch.calculators.cooling_places import PLACES, Shelf, Way, surroundings_of
from holdwatch.calculators.foods import FOODS, Food, properties_of, read_food, read_makeup
from holdwatch.errors import ConfigError, HoldwatchError, OutOfRangeError
from holdwatch.limits import load_limits
from holdwatch.quantities import Duration, Scale
from holdwatch.science.cooling_time import Interval, Pan, Pot, cooling_times, face_temperature
from tests.support.commands import printed, refused, succeed

CODE = load_limits("us-food-code-2022")
INCH = 0.0254


def cooling(depth_in: float, food: str = "pastry-cream", start_c: float = 82.0) -> Cooling:
    """Return a full pan of a food."""
    return Cooling(FOODS[food], depth_in * INCH, CONTAINERS["full-pan"], start_c)


def estimates(depth_in: float, food: str = "pastry-cream") -> dict[str, list[str]]:
    """Return, for each way, where the estimate stands against each limit of the Food Code."""
    ways = cool_faster_answer(cooling(depth_in, food), asked_by(CODE)).data["ways"]
    return {way["where"]: [reached["estimate"] for reached in way["reaches"]] for way in ways}


def test_answer_agrees_with_what_was_measured_in_school_kitchens() -> None:
    """Of chili and tomato sauce 5.1 and 7.6 cm deep, only the walk-in freezer at 5.1 cm met both limits.

    Roberts, Olds, Shanklin, Sauer, Sneed 2013, Food Protection Trends 33(1), 27–31, abstract read on 2026-11-24. Nothing
    that missed there is told to lie inside here.
    """
    shallow, deep = estimates(2.0), estimates(3.0)
    both = [INSIDE, INSIDE]
    assert shallow["in the freezer"] in ([EDGE, INSIDE], both)
    for missed in (shallow["in the walk-in"], deep["in the walk-in"], deep["in the freezer"]):
        assert missed != both


def test_sponge_layer_half_an_hour_out_of_the_oven_is_warm_not_hot() -> None:
    """An 8-inch layer is left in its pan half an hour, and is then warm, not hot. Common practice, no source.

    Warm to the hand: above 35 °C; hot: above 50 °C, where one lets go. Both ours.
    """
    sponge = FOODS["sponge"]
    layer = body_of(sponge, Pot(8 * INCH), 1.5 * INCH)
    assert 35 < face_temperature(layer, surroundings_of(Way.BENCH, 22.0), 97.0, 30 * 60) < 50


def test_ways_are_told_fastest_first() -> None:
    """Colder, stirred and shallower is faster; the bench comes last and never gets to 41 °F."""
    answer = cool_faster_answer(cooling(2.0), asked_by(CODE))
    where = [row[0] for row in answer.rows]
    hours = [way["reaches"][-1]["hours"] for way in answer.data["ways"]]
    assert where[0] == PLACES[Way.STIRRED].title
    assert where[-1] == PLACES[Way.BENCH].title
    assert hours[-1] is None
    assert hours[:-1] == sorted(hours[:-1])
    assert where.index("in the freezer") < where.index("in the walk-in")
    split = [n for n, name in enumerate(where) if "split into" in name]
    assert max(split) < where.index("in the walk-in")
    assert "fastest in an ice bath, stirred" in answer.says
    assert "safe" not in f"{answer.says} {answer.caution} {answer.notes}"


def test_food_that_cannot_be_stirred_is_not_told_to_be() -> None:
    """A baked custard is not stirred in its bath, and the answer says so."""
    answer = cool_faster_answer(cooling(2.0, "baked-custard"), asked_by(CODE))
    assert PLACES[Way.STIRRED].title not in [row[0] for row in answer.rows]
    assert any("not stirred" in note for note in answer.notes)


def test_time_is_counted_as_the_code_counts_it() -> None:
    """Cream of 82 °C is on its way for longer than the code counts, which begins at 135 °F."""
    answer = cool_faster_answer(cooling(2.0), asked_by(CODE))
    assert answer.heads[1] == "135 °F to 70 °F, within 2 h"
    reached = answer.data["ways"][1]["reaches"][0]
    assert reached["counted_hours"] < reached["hours"]


def test_further_stage_is_counted_from_the_stage_before() -> None:
    """Australia's second stage runs from 21 °C to 5 °C within 4 h more (Standard 3.2.2)."""
    code = load_limits("australia")
    answer = cool_faster_answer(cooling(1.0), asked_by(code), Scale.C, code.title)
    assert answer.heads[2] == "21 °C to 5 °C, within 4 h"
    reached = {way["where"]: way["reaches"] for way in answer.data["ways"]}["in the walk-in"]
    assert reached[1]["counted_hours"] == pytest.approx(reached[1]["hours"] - reached[0]["hours"], abs=0.02)


def test_solid_shelf_is_slower_than_a_rack() -> None:
    """Without air underneath, heat leaves through the top alone."""
    body = body_of(FOODS["curd"], CONTAINERS["full-pan"], 2 * INCH)
    rack, solid = (
        cooling_times(body, surroundings_of(Way.WALK_IN, shelf=shelf), 57.0, [21.0])[0]
        for shelf in (Shelf.RACK, Shelf.SOLID)
    )
    assert solid.middle > 1.8 * rack.middle


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(20, "1 min"), (700, "12 min"), (3300, "55 min"), (7350, "2 h"), (20_000, "5 h 30 min"), (math.inf, "never")],
)
def test_about_is_no_finer_than_an_estimate(seconds: float, told: str) -> None:
    """Minutes at first, then five, then a quarter of an hour."""
    assert about(seconds) == told


def test_interval_without_an_end_says_perhaps_never() -> None:
    """An estimate that may never come true is told as that."""
    assert interval_told(Interval(3600, 7200, math.inf)) == "2 h (1 h, or perhaps never)"
    assert interval_told(Interval(3600, math.inf, math.inf)) == "perhaps never; 1 h at the earliest"
    assert interval_told(Interval(math.inf, math.inf, math.inf)) == "never: too warm there"
    assert stands(Interval(3600, 7000, 7200), Duration.parse("2 h")) == INSIDE
    assert stands(Interval(3600, 7000, 7201), Duration.parse("2 h")) == EDGE


@pytest.mark.parametrize(
    ("text", "container"),
    [
        ("full-pan", CONTAINERS["full-pan"]),
        ("round 8in", Pot(8 * INCH)),
        ("20x12in", Pan(20 * INCH, 12 * INCH)),
        ("50cm x 300 mm", Pan(0.5, 0.3)),
    ],
)
def test_container_is_read_by_name_or_size(text: str, container: Pan | Pot) -> None:
    """Names of the trade, and sizes."""
    read = read_container(text)
    assert type(read) is type(container)
    assert list(vars(read).values()) == pytest.approx(list(vars(container).values()))


def test_food_is_read_by_name_or_by_what_it_is_made_of() -> None:
    """A food described is one with the same properties."""
    made = read_makeup("water 66, protein 4.5 %, fat=6.5, carbohydrate 22.2, ash 0.8")
    assert made == FOODS["pastry-cream"].makeup
    assert read_food("Pastry cream") is FOODS["pastry-cream"]
    assert read_food("water 100").makeup.water == 1.0


@pytest.mark.parametrize("text", ["jam", "water 50", "water 50, water 50", "gold 100", "water 66 fat 34", "water 1e2"])
def test_food_that_is_none_is_refused(text: str) -> None:
    """An unknown name or part, a part twice, or parts that are not 100 %."""
    with pytest.raises(ConfigError):
        read_food(text)


@pytest.mark.parametrize("food", FOODS.values(), ids=FOODS)
def test_foods_add_up_and_name_their_source(food: Food) -> None:
    """Each food of the table has properties of food, and says where they are from."""
    found = properties_of(food)
    assert 200 < found.density_kg_m3 < 1400
    assert 2000 < found.heat_capacity_j_kgk < 4200
    assert 0.09 < found.conductivity_w_mk < 0.65
    assert len(food.source.split()) > 3


def test_nothing_to_cool_and_impossible_starts_are_refused() -> None:
    """Food that is already below every level, hotter than water boils, too deep, or in a bath of ice below 0 °C."""
    with pytest.raises(ConfigError, match="nothing to cool"):
        cool_faster_answer(cooling(2.0, start_c=4.0), asked_by(CODE))
    with pytest.raises(OutOfRangeError, match="start"):
        cool_faster_answer(cooling(2.0, start_c=150.0), asked_by(CODE))
    with pytest.raises(OutOfRangeError, match="depth"):
        cool_faster_answer(cooling(20.0), asked_by(CODE))
    with pytest.raises(HoldwatchError, match="ice"):
        surroundings_of(Way.ICE, -5.0)


def test_command_compares_and_names_the_code() -> None:
    """The command without a site holds to the Food Code, and says so."""
    asked = ("cool-faster", "--food", "pastry-cream", "--depth", "2in", "--from", "180F")
    text = succeed(*asked)
    assert "in the walk-in, split into 2 such containers (1.0 in deep)" in text
    assert "FDA Food Code 2022" in text
    assert "shows no limit kept" in text
    told = printed(*asked, "--to", "41F", "--json")
    assert [each["level"] for each in told["ways"][0]["reaches"]] == ["41 °F"]
    assert told["caution"]


def test_command_without_a_figure_for_cooling_asks_for_a_level() -> None:
    """Scots law has no figure for cooling; a level of one's own is compared without a limit."""
    asked = ("cool-faster", "--food", "curd", "--depth", "5cm", "--limits", "scotland")
    assert "--to 41F" in refused(*asked)
    assert "within" not in succeed(*asked, "--to", "8C").split("Formula")[0].replace("within its ends", "")


@pytest.mark.parametrize(
    ("option", "value", "named"),
    [
        ("--food", "jam", "pastry-cream"),
        ("--depth", "2", "2in"),
        ("--depth", "9 km", "2in"),
        ("--container", "wok", "full-pan"),
        ("--from", "hot", "68F"),
        ("--shelf", "air", "rack"),
        ("--walk-in", "cold", "68F"),
        ("--limits", "mars", "us-food-code-2022"),
    ],
)
def test_command_with_a_mistake_says_what_to_write(option: str, value: str, named: str) -> None:
    """One line: what is wrong, and what would be right."""
    options = {"--food": "curd", "--depth": "2in", option: value}
    assert named in refused("cool-faster", *(word for pair in options.items() for word in pair))


def test_command_holds_to_the_code_of_the_site(tmp_path: Path) -> None:
    """With a site, its code and its scale are taken; an option counts more; a directory without one is refused."""
    data = tmp_path / "kitchen"
    site = ("--site", "Linden Street Patisserie", "--timezone", "Australia/Adelaide", "--limits", "australia")
    succeed("init", "--data", data, *site)
    asked = ("cool-faster", "--food", "curd", "--depth", "5cm", "--from", "60C")
    assert "21 °C to 5 °C, within 4 h" in succeed(*asked, "--data", data)
    assert "135 °F to 41 °F, within 6 h" in succeed(*asked, "--data", data, "--limits", "us-food-code-2022")
    assert "holdwatch init" in refused(*asked, "--data", tmp_path / "none")
    text = succeed("schedule", "--serve", "2199-11-28T18:00", "--data", data)
    assert "served Thu 28 Nov 18:00" in text
