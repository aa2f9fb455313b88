"""The Calculators page: each answer with its formula, range, error, source and caution, and mistakes told in words."""

import json
from datetime import UTC, datetime
from typing import Any

import pytest
from pyarrow import ipc
from streamlit.testing.v1 import AppTest

from dashboards.parts.calculators import PANELS
from dashboards.parts.calculators.schedule import ahead
from holdwatch.clock import to_iso
from holdwatch.storage.engine import Store
from tests.dashboards.conftest import Opener, shown


def fill(at: AppTest, **typed: str) -> str:
    """Type into the fields of a calculator, and return what the page then shows."""
    for key, text in typed.items():
        at.text_input(key=key.replace("_", "-")).input(text)
    at.run()
    assert not at.exception
    return shown(at)


def pictured(at: AppTest, mark: str, number: int = 0) -> list[dict[str, Any]]:
    """Return the rows that a layer of a kind draws in the picture of an answer."""
    sent = at.get("vega_lite_chart")[0].proto
    drawn = json.loads(sent.spec)
    assert drawn["description"]
    rows = {one.name: ipc.open_stream(one.data.data).read_all().to_pylist() for one in sent.datasets}
    layers = [layer for layer in drawn["layer"] if layer["mark"]["type"] == mark]
    return rows[layers[number].get("data", drawn.get("data"))["name"]]  # one that all layers share stands outside


@pytest.mark.parametrize("name", PANELS)
def test_calculator_opens_by_its_address(empty: Store, open_page: Opener, name: str) -> None:
    """Each calculator can be linked to, and says nothing before it was asked."""
    assert empty
    at = open_page("calculators", calculator=name)
    assert not at.exception
    assert f">{PANELS[name]}</h2>" in shown(at)
    assert "none of them is a verdict" in shown(at)


def test_what_a_field_begins_with_is_part_of_the_field(empty: Store, open_page: Opener) -> None:
    """Sent in every run: were it sent in the first alone, a hand that is faster than the page would lose it."""
    assert empty
    at = open_page("calculators", calculator="recipe")
    for _ in range(2):
        assert at.text_input(key="recipe-ph-error").proto.default == "0.1"
        assert list(at.get("button_group")[0].proto.default) == [list(PANELS).index("recipe")]
        at.run()


def test_unknown_calculator_in_the_address_opens_the_first(empty: Store, open_page: Opener) -> None:
    """An old link never leads to a broken page."""
    assert empty
    assert f">{next(iter(PANELS.values()))}</h2>" in shown(open_page("calculators", calculator="no-such"))


def test_control_tells_both_tables_until_the_food_is_known(empty: Store, open_page: Opener) -> None:
    """At pH 5.2 and 0.91, table A asks for nothing, table B for an assessment (FDA Food Code, 1-201.10(B))."""
    assert empty
    at = open_page("calculators", calculator="control")
    text = fill(at, control_ph="5.2", control_aw="0.91")
    assert "what was done with the food decides" in text
    assert "not TCS food by the table" in text
    assert "product assessment needed" in text
    assert "1-201.10(B)" in text


def test_control_near_a_boundary_asks_for_an_assessment(empty: Store, open_page: Opener) -> None:
    """A pH of 4.95 ± 0.1 at 0.895 lies on both sides of table B's 5.0."""
    assert empty
    at = open_page("calculators", calculator="control")
    at.radio(key="control-heated").set_value("not-heated")
    assert "within its uncertainty of a boundary" in fill(at, control_ph="4.95", control_aw="0.895")
    (food,) = pictured(at, "rect", 1)
    assert (food["x"], food["x2"], food["y"], food["y2"]) == (4.85, 5.05, 0.89, 0.9)
    assert sum(cell["words"] == "assess" for cell in pictured(at, "rect")) == 6  # table B, as printed


@pytest.mark.parametrize(("typed", "told"), [("sour", "is not a number"), ("15", "covers 0 to 14")])
def test_control_refuses_what_is_no_ph(empty: Store, open_page: Opener, typed: str, told: str) -> None:
    """What cannot be is told in words, and no answer is shown."""
    assert empty
    text = fill(open_page("calculators", calculator="control"), control_ph=typed, control_aw="0.9")
    assert told in text
    assert "1-201.10(B)" not in text


def test_cook_shows_gates_and_estimate(empty: Store, open_page: Opener) -> None:
    """A typed course is held against the rows of the code, with the estimate beside them."""
    assert empty
    at = open_page("calculators", calculator="cook")
    at.selectbox(key="cook-egg").set_value("sugared-yolk")
    at.text_area(key="cook-course").input("155F for 17 s")
    text = fill(at, cook_tolerance="1C")
    assert "Row of the code" in text
    assert "decimal steps" in text
    assert "Garibaldi" in text
    assert [level["degrees"] for level in pictured(at, "rule")] == pytest.approx([145, 150, 155, 158])  # 3-401.11(A)
    assert {point["name"] for point in pictured(at, "line")} == {"as read", "less 1.8\u202f°F"}


def test_cook_refuses_what_is_no_course(empty: Store, open_page: Opener) -> None:
    """What cannot be read is told in words."""
    assert empty
    at = open_page("calculators", calculator="cook")
    at.text_area(key="cook-course").input("hot")
    assert "is no course" in fill(at)


def test_lag_shows_the_food_and_what_the_mean_kinetic_temperature_is_not(empty: Store, open_page: Opener) -> None:
    """Air that jumps is followed by food; the comparison figure says that it is no criterion."""
    assert empty
    at = open_page("calculators", calculator="lag")
    at.text_area(key="lag-air").input("38F at 0\n38F at 60\n52F at 75\n38F at 120")
    text = fill(at, lag_lag="60 min")
    assert "Food with a lag of 60" in text
    assert "no food-safety criterion" in text
    assert {point["name"] for point in pictured(at, "line")} == {"food, estimated", "air"}


def test_cool_faster_compares_and_takes_what_is_known(empty: Store, open_page: Opener) -> None:
    """The ways stand side by side against the site's limits; a colder walk-in, once told, is reckoned with."""
    assert empty
    at = open_page("calculators", calculator="cool_faster")
    at.selectbox(key="cool-faster-food").set_value("pastry-cream")
    text = fill(at, cool_faster_depth="2in", cool_faster_start="180")
    assert "135\N{NO-BREAK SPACE}°F to 70\N{NO-BREAK SPACE}°F, within 2 h" in text
    assert "split into 4 such containers" in text
    ways = pictured(at, "bar")
    assert [way["name"] for way in ways][:1] == ["in an ice bath, stirred all the while"]
    assert all(way["low"] < way["middle"] < way["high"] for way in ways)
    assert "shows no limit kept" in text
    at.text_input(key="place-walk-in").input("34").run()
    assert "in the walk-in 34" in shown(at)
    at.text_input(key="place-walk-in").input("cold").run()
    assert "is not a temperature" in shown(at)
    assert "split into" not in shown(at)


def test_schedule_tells_when_to_start_the_filling(empty: Store, open_page: Opener) -> None:
    """A cake served tomorrow has its steps; one served in a minute cannot be done, with the soonest instead."""
    assert empty
    at = open_page("calculators", calculator="schedule")
    at.selectbox(key="schedule-cake").set_value("cream-cake")
    text = fill(at, schedule_serve="2099-11-28 18:00")
    assert "start the filling at" in text
    assert "cool the layers" in text
    serve = pictured(at, "bar")[-1]
    assert serve["name"] == "serve"
    assert datetime.fromtimestamp(serve["low"] / 1000, UTC).hour == 18  # on the kitchen's wall, wherever it is
    assert "shows no limit kept" in text
    text = fill(at, schedule_serve="2020-11-28 18:00")
    assert "cannot be done like this" in text
    assert "at the soonest" in text


def test_schedule_goes_on_from_layers_that_are_out(empty: Store, open_page: Opener) -> None:
    """Layers out of the oven tell when they can be filled."""
    assert empty
    at = open_page("calculators", calculator="schedule")
    at.selectbox(key="schedule-cake").set_value("buttercream-cake")
    assert "the layers can be filled from" in fill(at, schedule_out="00:00")
    assert "is not a time" in fill(at, schedule_out="at noon")


@pytest.mark.parametrize(
    ("text", "utc"),
    [
        ("15:00", "2026-11-24T22:00:00Z"),
        ("14:00", "2026-11-25T21:00:00Z"),
        ("2026-11-30 18:00", "2026-12-01T01:00:00Z"),
    ],
)
def test_time_of_day_ahead_is_the_next_one(text: str, utc: str) -> None:
    """At half past two in Denver, 15:00 is today and 14:00 tomorrow."""
    assert to_iso(ahead(text, "America/Denver", 1_795_555_800_000)) == utc


@pytest.mark.parametrize("name", ["boiling", "sugar"])
def test_room_is_asked_once_for_boiling_and_sugar(empty: Store, open_page: Opener, name: str) -> None:
    """What was typed of the kitchen stays while another calculator is looked at."""
    assert empty
    at = open_page("calculators", calculator=name)
    assert "boils" in fill(at, room_altitude="5280ft")
    other = {"boiling": "sugar", "sugar": "boiling"}[name]
    at.button_group(key="calculator").set_value(other).run()
    assert at.text_input(key="room-altitude").value == "5280ft"
    assert "boils" in shown(at)


def test_address_may_carry_the_figures(empty: Store, open_page: Opener) -> None:
    """A link at the stove opens the answer; what is typed afterwards counts more, and markup stays letters."""
    assert empty
    query = {"calculator": "sugar", "room-pressure": "834hPa", "sugar-shows": "229"}
    at = open_page("calculators", **query)
    assert "is at soft ball" in shown(at)
    assert "past soft ball, before firm ball" in fill(at, sugar_shows="232")
    text = shown(open_page("calculators", **{**query, "sugar-shows": "<b>hot</b>"}))
    assert "&lt;b&gt;hot" in text
    assert "<b>hot" not in text


def test_boiling_check_reads_the_sites_scale(empty: Store, open_page: Opener) -> None:
    """On a site that reads °F, 203 is 203 °F; ice and boiling water stand in one table."""
    assert empty
    at = open_page("calculators", calculator="boiling")
    text = fill(at, room_pressure="834hPa", boiling_shows="203", boiling_ice="0.2C")
    assert "Water boils at 202.3" in text
    assert text.count("within it") == 2
    assert [mark["at"] for mark in pictured(at, "rule")] == pytest.approx([-2, 2])  # FDA Food Code 4-203.11
    assert [row["middle"] for row in pictured(at, "bar")] == pytest.approx([0.7, 0.36], abs=0.05)
    assert "IAPWS R7-97(2012)" in text


def test_sugar_shows_the_stage_and_the_burn_caution(empty: Store, open_page: Opener) -> None:
    """The stage here, what it would be at sea level, and how syrup burns."""
    assert empty
    at = open_page("calculators", calculator="sugar")
    text = fill(at, room_pressure="834hPa", sugar_shows="229")
    assert "is at soft ball" in text
    assert "Burnt skin" in text
    assert [mark["at"] for mark in pictured(at, "rule")] == pytest.approx([229])
    stages = {row["name"]: row for row in pictured(at, "bar")}
    assert stages["soft ball"]["low"] <= 229 <= stages["soft ball"]["high"]


def test_recipe_is_reckoned_line_by_line(empty: Store, open_page: Opener) -> None:
    """A recipe typed in, its three methods, and what the tables say of the range."""
    assert empty
    at = open_page("calculators", calculator="recipe")
    at.text_area(key="recipe-lines").input("powdered sugar = 454 g\nbutter = 227 g\nheavy cream = 30 g").run()
    text = shown(at)
    assert "Norrish 0.850" in text
    assert "if measurements confirm the estimate" in text
    assert "An estimate clears no food" in text
    assert pictured(at, "bar")[0]["middle"] == pytest.approx(0.850, abs=0.0005)
    assert [mark["at"] for mark in pictured(at, "rule")] == [0.88, 0.9, 0.92, 0.95]  # 1-201.10(B), tables A and B


@pytest.mark.parametrize(
    ("name", "typed", "told"),
    [
        ("boiling", {"room_altitude": "high"}, "is not an altitude"),
        ("boiling", {"room_report": "1013hPa"}, "give the altitude"),
        ("boiling", {"room_pressure": "834hPa", "boiling_shows": "hot"}, "is not a temperature"),
        ("sugar", {"room_pressure": "83hPa"}, "500 to 1100 hPa"),
        ("sugar", {"room_pressure": "834hPa", "sugar_shows": "400"}, "no syrup boils at"),
        ("recipe", {"recipe_final": "light"}, "is not a weight"),
    ],
)
def test_mistake_is_told_beside_its_field(
    empty: Store, open_page: Opener, name: str, typed: dict[str, str], told: str
) -> None:
    """What cannot be reckoned with is told in words, and no answer stands below it."""
    assert empty
    text = fill(open_page("calculators", calculator=name), **typed)
    assert told in text.replace("No syrup", "no syrup")
    assert ">Source</td>" not in text


def test_line_of_a_recipe_that_cannot_be_read_is_told(empty: Store, open_page: Opener) -> None:
    """The number of the line, and what may have been meant."""
    assert empty
    at = open_page("calculators", calculator="recipe")
    at.text_area(key="recipe-lines").input("powdered sugar = 454 g\nbuter = 227 g").run()
    assert "Line 2 of the recipe" in shown(at)
    assert "did you mean &#x27;butter&#x27;" in shown(at)


def test_answer_says_whose_word_counts(empty: Store, open_page: Opener) -> None:
    """No calculator is a verdict, and none says that food is safe."""
    assert empty
    for name in PANELS:
        text = shown(open_page("calculators", calculator=name))
        assert "your local code and inspector decide" in text
        assert "safe" not in text.lower()


def test_ahead_of_readings_on_paper_names_the_minute(empty: Store, open_page: Opener) -> None:
    """135 °F, and 100 °F after an hour in 38 °F: 70 °F after 149 min (two-point formula, PMC9380651)."""
    assert empty
    at = open_page("calculators", calculator="ahead")
    written = "\n".join(f"{38 + 97 * 10 ** (-0.194380 * n / 60):.1f}F at {n}" for n in range(0, 61, 10))
    at.text_area(key="ahead-readings").input(written)
    text = fill(at, ahead_target="70F", ahead_around="38F")
    assert "At 70.0\u202f°F about minute 14" in text
    fan = pictured(at, "area")
    assert fan[0]["minute"] == 60
    assert fan[-1]["middle"] < 70 < fan[0]["middle"]
