"""What a cook of an egg mixture shows: gates of the code, and an estimate that stands beside them."""

import json
from pathlib import Path

import numpy as np
import pytest

from holdwatch.calculators.cook import cook_answer, read_medium
from holdwatch.calculators.course import read_course
from holdwatch.errors import ConfigError
from holdwatch.limits import load_limits
from holdwatch.science.lethality import MEDIA
from tests.support.commands import holdwatch

FOOD_CODE = load_limits("us-food-code-2022")


def _gates(course: str, egg: str = "whole-egg", tolerance_c: float = 0.0) -> dict[str, tuple[str, str]]:
    answer = cook_answer(read_course(course), MEDIA[egg], FOOD_CODE, tolerance_c=tolerance_c)
    return {row[0]: (row[1], row[2]) for row in answer.rows}


@pytest.mark.parametrize(
    ("course", "row"),
    [
        ("145F for 3 min", "145 °F for 3 min"),
        ("150F for 1 min", "150 °F for 1 min"),
        ("155F for 17 s", "155 °F for 17 s"),
        ("158F for 1 s", "158 °F for an instant"),
    ],
)
def test_each_pair_is_a_gate_of_its_own(course: str, row: str) -> None:
    """FDA Food Code 3-401.11(A)(2): its four pairs, none of which gives credit to another."""
    gates = _gates(course)
    assert gates[row] == ("reached", "reached")
    assert all(read != "reached" for name, (read, _) in gates.items() if int(name[:3]) > int(row[:3]))


def test_tolerance_is_subtracted_from_the_gates_as_well() -> None:
    """155 °F for 17 s on a probe that may be 1 °C off was perhaps 153.2 °F."""
    assert _gates("155F for 17 s", tolerance_c=1.0)["155 °F for 17 s"] == ("reached", "not reached")


def test_row_of_the_code_is_no_promise_for_sugared_yolk() -> None:
    """A reached row and a small estimate stand beside each other; neither changes the other."""
    answer = cook_answer(read_course("155F for 17 s"), MEDIA["sugared-yolk"], FOOD_CODE, tolerance_c=0.0)
    assert answer.data["log_reductions"] < 1
    assert answer.data["rows"][2] == {"row": "155 °F for 17 s", "as_read": "met", "less_tolerance": "met"}
    assert "no verdict" in answer.caution
    assert "nobody cited here measured it warmer" in answer.notes[0]


def test_figure_beyond_what_was_ever_counted_is_no_figure() -> None:
    """More than twelve steps are said to be more than twelve."""
    answer = cook_answer(read_course("160F for 30 min"), MEDIA["yolk"], FOOD_CODE)
    assert "more than 12" in answer.says
    assert answer.data["log_reductions_high"] == answer.data["or_more_at"] == 12.0


def test_course_runs_straight_between_its_points() -> None:
    """What a cook writes is a record every few seconds, its points included."""
    course = read_course("68F at 0, 140F at 4, 160F at 9.5")
    assert (int(course.at_ms[0]), int(course.at_ms[-1])) == (0, 570_000)
    assert course.celsius[course.at_ms == 240_000][0] == pytest.approx(60.0)
    assert float(course.celsius[course.at_ms == 120_000][0]) == pytest.approx(40.0)


@pytest.mark.parametrize("text", ["hot", "155F", "155F at 0", "155F at 5, 160F at 4", "155 for 3 min", "155F for ever"])
def test_what_is_no_course_is_refused(text: str) -> None:
    """Each mistake says what to write."""
    with pytest.raises(ConfigError):
        read_course(text)


def test_unknown_mixture_names_those_that_are_known() -> None:
    """There is no D for milk here."""
    with pytest.raises(ConfigError, match="sugared-yolk"):
        read_medium("milk")


@pytest.fixture
def anglaise(tmp_path: Path) -> Path:
    """A custard that was at 150 °F for two minutes."""
    path = tmp_path / "anglaise.csv"
    seconds = np.arange(0, 481, 5)
    values = np.interp(seconds, [0, 240, 360, 480], [68, 150.5, 150.5, 130])
    lines = [f"2026-11-25T10:{s // 60:02d}:{s % 60:02d}-07:00,{v:.2f}" for s, v in zip(seconds, values, strict=True)]
    path.write_text("\n".join(["time,temperature_f", *lines]), encoding="utf-8")
    return path


def test_cook_tells_the_verdict_of_the_clause_and_the_estimate(anglaise: Path) -> None:
    """The verdict is the clause's, whatever the estimate says."""
    result = holdwatch("cook", anglaise, "--egg", "sugared-yolk", "--json")
    assert result.exit_code == 0
    facts = json.loads(result.stdout)
    assert (facts["verdict"], facts["clauses"][0]["clause"]) == ("met", "3-401.11(A)(2)")
    estimate = facts["estimate"]
    assert estimate["log_reductions_low"] < estimate["log_reductions"] < estimate["log_reductions_high"]
    assert "Garibaldi" in estimate["source"]


def test_cook_that_reached_no_row_is_a_deviation(anglaise: Path) -> None:
    """Exit status and word are those of the clause; the estimate stands under them."""
    lukewarm = anglaise.with_name("lukewarm.csv")
    lines = anglaise.read_text(encoding="utf-8").splitlines()
    lukewarm.write_text("\n".join([lines[0], *lines[1:30]]), encoding="utf-8")
    result = holdwatch("cook", lukewarm, "--egg", "yolk")
    assert result.exit_code == 1
    assert ": DEVIATION" in result.stdout
    assert "is estimated to be reduced 0.0 decimal steps" in result.stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--egg", "milk"), "is no egg mixture"),
        (("--egg", "yolk", "--tolerance", "3"), "is not a difference of temperature"),
        (("--egg", "yolk", "--tolerance", "9C"), "the source covers 0 to 5"),
        (("--egg", "yolk", "--limits", "atlantis"), "atlantis"),
        (("--egg", "yolk", "--timezone", "Mars/Olympus"), "no time zone"),
    ],
)
def test_cook_says_in_one_line_what_cannot_be(anglaise: Path, words: tuple[str, ...], told: str) -> None:
    """A mistake ends with status 2 and one line."""
    result = holdwatch("cook", anglaise, *words)
    assert result.exit_code == 2
    (line,) = result.stderr.splitlines()
    assert line.startswith("holdwatch cook: ")
    assert told in line


def test_six_minutes_over_medium_heat_prove_no_clause() -> None:
    """Common practice, no source: a yolk-rich filling is whisked for about six minutes until it thickens, near 140 °F.

    Thick is no temperature: no row of the code is reached, and the estimate for a base of yolk and sugar is small.
    """
    answer = cook_answer(read_course("70F at 0, 140F at 6"), MEDIA["sugared-yolk"], FOOD_CODE)
    assert all(row[1] != "reached" for row in answer.rows)
    assert answer.data["log_reductions"] < 0.2
