"""Raw egg and highly susceptible people: what the code asks beside the readings, through ``holdwatch assess``."""

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holdwatch.cli.main import app as holdwatch
from holdwatch.clock import to_iso
from holdwatch.limits import EggLimits, EggWay, load_limits
from holdwatch.readings import Record
from holdwatch.rules.judge import judge
from holdwatch.rules.raw_egg import Food, of_this_food
from holdwatch.rules.verdicts import Process
from tests.rules.series_words import LIMITS, T0, points

TABLE = Path(__file__).parents[1] / "published" / "raw_egg.csv"
LINES = TABLE.read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))


def _assess(path: Path, row: dict[str, str]) -> dict[str, object]:
    seconds = [*range(0, int(row["seconds"]), 5), int(row["seconds"])]
    readings = [f"{to_iso(T0 + s * 1000)},{row['degrees_f']}" for s in seconds]
    path.write_text("\n".join(["time,temperature_f", *readings]), encoding="utf-8")
    words = ["assess", str(path), "--process", row["process"], "--limits", row["code"], "--json"]
    if row["process"].startswith("time-control"):
        words += ["--declare", f"removed={to_iso(T0)}", "--declare", f"ended={to_iso(T0 + 60_000)}"]
    if row["process"] == "time-control-6h":
        words += ["--until", to_iso(T0 + 60_000)]
    for fact in row["food"].split():
        words += ["--food", fact]
    done = CliRunner().invoke(holdwatch, words)
    answer: dict[str, object] = json.loads(done.stdout)
    return answer


@pytest.mark.parametrize(
    "row", ROWS, ids=lambda row: f"{row['code']} {row['process']} {row['food']} {row['degrees_f']}"
)
def test_raw_egg_matches_food_code_3_302_13_and_3_801_11(row: dict[str, str], tmp_path: Path) -> None:
    """What follows from the egg and from whom it is for is what the clause's own words give."""
    answer = _assess(tmp_path / "r.csv", row)
    clauses = answer["clauses"]
    assert isinstance(clauses, list)
    found = [clause["verdict"] for clause in clauses if clause["clause"] == row["clause"]]
    assert found == ([row["verdict"]] if row["verdict"] else []), clauses
    assert answer["verdict"] == row["whole"], clauses


def test_assess_without_a_word_of_the_food_asks_nothing_of_raw_egg(tmp_path: Path) -> None:
    """The answer to a file alone has the clauses of its process alone."""
    row = {"process": "cook-eggs", "code": "us-food-code-2022", "food": "", "degrees_f": "155", "seconds": "20"}
    clauses = _assess(tmp_path / "r.csv", row)["clauses"]
    assert isinstance(clauses, list)
    assert [clause["clause"] for clause in clauses] == ["3-401.11(A)(2)"]


def test_assess_refuses_food_that_cannot_be(tmp_path: Path) -> None:
    """Raw egg and no egg at once, or a word that is none, end with one line and status 2."""
    (tmp_path / "r.csv").write_text("time,temperature_f\n2026-03-01T10:00:00Z,155\n", encoding="utf-8")
    words = ["assess", str(tmp_path / "r.csv"), "--process", "cook-eggs", "--limits", "us-food-code-2022"]
    for more, said in (
        (["--food", "raw-egg", "--food", "no-egg"], "raw-egg and no-egg at once"),
        (["--food", "duck"], "--food 'duck' is none of raw-egg"),
    ):
        done = CliRunner().invoke(holdwatch, [*words, *more])
        assert done.exit_code == 2
        assert said in done.stderr
        assert len(done.stderr.splitlines()) == 1


def test_food_code_names_the_ways_of_raw_egg() -> None:
    """The advisory is no way for highly susceptible people (3-801.11(C))."""
    code = load_limits("us-food-code-2022")
    everyone, susceptible = code.part("raw-egg", EggLimits), code.part("raw-egg-susceptible", EggLimits)
    assert everyone is not None
    assert susceptible is not None
    assert EggWay.ADVISORY in everyone.ways
    assert EggWay.ADVISORY not in {*susceptible.ways, *susceptible.ways_combined}


def test_raw_egg_that_was_cooked_is_told_in_a_sentence(tmp_path: Path) -> None:
    """What cooking it showed stands in words."""
    row = {"process": "cook-eggs", "code": "us-food-code-2022", "food": "raw-egg", "degrees_f": "155", "seconds": "20"}
    clauses = _assess(tmp_path / "r.csv", row)["clauses"]
    assert isinstance(clauses, list)
    assert clauses[-1]["reason"] == "Cooked as the code asks: a row of the table was met."


def test_of_two_ways_by_cooking_the_code_s_first_is_told() -> None:
    """3-801.11: eggs combined for one portion just before they were cooked, which are also baked."""
    probe = points((0, 150), (0.5, 158), (1, 160))
    cooked = judge(Process.COOK_EGGS, Record(probe), LIMITS, until_ms=int(probe.at_ms[-1]), finished=True)
    food = {Food.RAW_EGG, Food.SUSCEPTIBLE, Food.SEVERAL_EGGS, Food.ONE_PORTION, Food.BAKED}
    egg = of_this_food(cooked, LIMITS, food).clauses[-1]
    assert egg.reason == "One portion, combined just before it was cooked: a row of the table was met."
