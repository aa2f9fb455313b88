"""Water activity from a recipe: how it is written, and what is told of it."""

from decimal import Decimal
from pathlib import Path

import pytest

from holdwatch.calculators.recipe_lines import read_lines
from holdwatch.calculators.tcs import Measured, tables_answer
from holdwatch.calculators.water import water_answer
from holdwatch.errors import HoldwatchError
from holdwatch.rules.tcs import Heated
from tests.support.commands import printed, refused, succeed

SYRUP = "syrup = 1000 g; water {water}%; sucrose {sugar}%"


def told(line: str, ph: str | None = None, heated: Heated = Heated.NOT_HEATED) -> dict[str, object]:
    """Return what table B says of a recipe of one line."""
    acid = None if ph is None else Measured(Decimal(ph), Decimal("0.05"))
    (row,) = water_answer(read_lines([line]), ph=acid, heated=heated).data["tables"]
    return dict(row)


def test_measured_buttercream_has_to_be_refrigerated() -> None:
    """University of Minnesota Extension, 2019: a buttercream of 0.90 and pH 7.43 has to be refrigerated."""
    answer = tables_answer(Measured(Decimal("7.43")), Measured(Decimal("0.90")), Heated.NOT_HEATED)
    assert "product assessment needed" in answer.says


@pytest.mark.parametrize(
    ("water", "sugar", "low", "high"),
    [
        # a table after L. R. Beuchat, 1981: foods with 55 % sucrose have about 0.91, with 65 % about 0.87
        (45, 55, 0.91, 0.91),
        (35, 65, 0.87, 0.87),
    ],
)
def test_answer_holds_what_is_printed_of_sugared_foods(water: float, sugar: float, low: float, high: float) -> None:
    """The printed figure lies in the range that is told."""
    found = water_answer(read_lines([SYRUP.format(water=water, sugar=sugar)])).data
    assert found["low"] <= low <= high <= found["high"]


def test_estimate_within_its_uncertainty_of_a_boundary_needs_an_assessment() -> None:
    """A syrup of 65 % is about 0.868, but may be 0.888: table B's 0.88 lies within, so it clears nothing."""
    row = told(SYRUP.format(water=35, sugar=65))
    assert (row["control"], row["sure"]) == ("assess", False)
    answer = water_answer(read_lines([SYRUP.format(water=35, sugar=65)]), heated=Heated.NOT_HEATED)
    assert answer.rows[0][2] == "within its uncertainty of a boundary: product assessment needed"


def test_estimate_far_below_still_asks_for_a_measurement() -> None:
    """No estimate clears a food by itself."""
    answer = water_answer(read_lines(["honey = 100 g"]), heated=Heated.NOT_HEATED)
    assert answer.data["water_activity"] is None
    assert answer.says.startswith("Water activity at most 0.86")
    assert "if measurements confirm" in answer.rows[0][2]
    assert answer.caution.startswith("An estimate clears no food")


def test_frosting_of_little_sugar_is_told_to_be_no_candidate() -> None:
    """Kansas State University Extension, MF3544: 65 % sugar by weight or more, of about fifty frostings measured."""
    cream_cheese = ["cream cheese = 227 g", "butter = 113 g", "powdered sugar = 454 g"]
    buttercream = ["powdered sugar = 454 g", "butter = 180 g", "heavy cream = 30 g"]
    few, many = (" ".join(water_answer(read_lines(lines)).notes) for lines in (cream_cheese, buttercream))
    assert "56 % sugar by weight" in few
    assert "Kansas State" not in many


def test_custard_needs_an_assessment_for_certain() -> None:
    """A pastry cream is wet: measured custards have 0.94 to 0.96 at pH 6.3 to 6.5 (Park and others, Toronto)."""
    custard = ["whole milk = 500 g", "egg yolk = 100 g", "granulated sugar = 110 g", "cornstarch = 40 g"]
    (row,) = water_answer(read_lines(custard), heated=Heated.NOT_PACKAGED).data["tables"]
    assert (row["control"], row["sure"]) == ("assess", True)


def test_ph_moves_the_column_with_its_own_uncertainty() -> None:
    """At 0.93 table B asks for nothing below pH 4.2; 4.18 ± 0.05 is not surely below."""
    line = SYRUP.format(water=50, sugar=50)
    assert told(line, "4.0")["control"] == "not-tcs"
    assert told(line, "4.18")["control"] == "assess"
    assert told(line, "4.3")["control"] == "assess"


def test_more_water_never_makes_the_answer_laxer() -> None:
    """Every gram of water moves both ends of the range up."""
    ends = [
        (found["low"], found["high"])
        for water in range(30, 90, 5)
        for found in (water_answer(read_lines([SYRUP.format(water=water, sugar=100 - water)])).data,)
    ]
    assert ends == sorted(ends)


def test_lines_take_comments_labels_and_units() -> None:
    """A recipe as a cook writes it."""
    recipe = read_lines(
        ["# frosting", "", "Powdered  Sugar = 1 lb  # sifted", "jam = 80 g; Water 30 %; sucrose 35%; glucose 12.5%;"]
    )
    assert [round(each.grams, 1) for each in recipe] == [453.6, 80.0]
    assert recipe[1].composition.solutes() == {"sucrose": 35, "glucose": 12.5, "fructose": 0, "glycerol": 0}


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("butter", "no ingredient with a weight"),
        ("= 20 g", "no ingredient with a weight"),
        ("butter = 20", "not a weight"),
        ("buter = 20 g", "did you mean 'butter'"),
        ("jam = 80 g; sucrose 35%", "how much water"),
        ("jam = 80 g; water 30%; fat 3%", "no part of jam"),
        ("jam = 80 g; water 30%; water 31%", "stated twice"),
        ("jam = 80 g; water lots", "not a share"),
        ("jam = 80 g; water 60%; sucrose -5%", "write 0% to 100%"),
        ("jam = 80 g; water 160%", "write 0% to 100%"),
    ],
)
def test_line_that_cannot_be_read_is_told_with_its_number(line: str, what: str) -> None:
    """The line, and what to write instead."""
    with pytest.raises(HoldwatchError, match="line 2 of the recipe") as caught:
        read_lines(["butter = 20 g", line])
    assert what in str(caught.value)


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("shortening = 20 g", "no water in the recipe"),
        ("jam = 80 g; water 60%; sucrose 50%", "covers 0 to 100 %"),
        ("butter = 0 g", "weight of butter"),
    ],
)
def test_recipe_that_cannot_be_is_refused(line: str, what: str) -> None:
    """Nothing is made to fit."""
    with pytest.raises(HoldwatchError, match=what):
        water_answer(read_lines([line]))


def test_command_reads_a_file_and_tells_what_it_does_not_know(tmp_path: Path) -> None:
    """A recipe in a file, beside ingredients on the line."""
    (tmp_path / "cream.txt").write_text("powdered sugar = 454 g\nbutter = 227 g\n", encoding="utf-8")
    text = succeed("aw", tmp_path / "cream.txt", "mascarpone=30g", "--made", "not-heated")
    assert "Norrish 0.850, Ross 0.850, Money and Born 0.861" in text
    assert "undissolved" in text
    assert "Not read from a table: mascarpone. State what the label says" in text


def test_command_tells_a_program_the_range() -> None:
    """Every method by itself, and the range."""
    answer = printed("aw", "jam=100g; water 40%; sucrose 40%; glucose 20%", "--ph", "3.4")
    assert answer["low"] < answer["money_born"] < answer["ross"] < answer["high"]
    assert [row["made"] for row in answer["tables"]] == list(Heated)


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("no-such.txt",), "nor a file"),
        (("",), "an ingredient is empty"),
        (("butter=227",), "not a weight"),
        (("water=100g", "granulated sugar=100g", "--final", "50g"), "only 100 g of water"),
        (("water=100g", "--ph", "sour"), "--ph is 'sour'"),
        (("water=100g", "--made", "fried"), "not-heated"),
    ],
)
def test_command_refuses_in_one_line(words: tuple[str, ...], what: str) -> None:
    """A mistake is one line that says what to write."""
    assert what in refused("aw", *words)


def test_command_refuses_what_is_no_text(tmp_path: Path) -> None:
    """A directory and a picture are no recipes."""
    (tmp_path / "picture.jpg").write_bytes(b"\xff\xd8\xff\xe0")
    assert "directory" in refused("aw", tmp_path)
    assert "no text" in refused("aw", tmp_path / "picture.jpg")
