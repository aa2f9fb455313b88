"""The codes that come with the package: whole, honest about what was not read, and read aloud."""

import re
import runpy
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holdwatch.cli.commands import load
from holdwatch.cli.main import app as holdwatch
from holdwatch.limits import Confidence, CookingLimits, ReheatingLimits, Standing, known_limits, load_limits
from holdwatch.limits.model import CumulativeLimits, DateMarkLimits, SpellTolerance, TimeControlLimits
from holdwatch.limits.parts import PARTS
from holdwatch.limits.telling import NAMES, not_seen, sentences
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Verdict

CODES = {name: load_limits(name) for name in known_limits()}
CONTRACT = (
    "cooling",
    "ambient-cooling",
    "cold-holding",
    "hot-holding",
    "time-control-4h",
    "time-control-6h",
    "cumulative-time",
    "cook-eggs",
    "reheating",
    "shell-eggs",
    "frozen-storage",
    "date-marking",
    "raw-egg",
    "raw-egg-susceptible",
    "raw-egg-time-control",
)
codes = pytest.mark.parametrize("name", CODES)


def test_codes_are_the_ones_promised() -> None:
    """Eight codes come with the package, named by authority."""
    assert set(CODES) == {
        "us-food-code-2022",
        "us-food-code-2013",
        "ca-new-brunswick",
        "england-wales-ni",
        "scotland",
        "ireland",
        "australia",
        "new-zealand",
    }


@codes
@pytest.mark.parametrize("part", CONTRACT)
def test_code_has_a_figure_or_says_that_it_has_none(name: str, part: str) -> None:
    """No code is silent about anything that is asked of it."""
    limits = CODES[name]
    figures = [figure for named, figure in limits.figures() if named == part]
    assert bool(figures) is not (part in limits.no_figure)


@codes
@pytest.mark.parametrize("process", [process for process in Process if process.value in CONTRACT])
def test_process_without_a_figure_is_none_in_the_words_of_the_code(name: str, process: Process) -> None:
    """Where a code gives no figure, the program says so and asks nothing."""
    limits = CODES[name]
    if process.value not in limits.no_figure:
        return
    record = Record(Series.of([(0, 50.0), (60_000, 50.0)]))
    answer = judge(process, record, limits, until_ms=60_000, finished=True)
    assert answer.verdict is Verdict.NONE
    assert answer.clauses[0].reason == limits.no_figure[process.value].says


@codes
def test_code_sentences_print_every_figure(name: str) -> None:
    """Each temperature and time in a figure stands in the words of its `requires`, in the unit of the code."""
    for part, figure in CODES[name].figures():
        words = figure.requires
        for value in vars(figure).values():
            for printed in (getattr(value, "temperature", None), getattr(value, "dwell", None)):
                if printed is not None:
                    assert re.search(rf"(?<!\d){re.escape(str(printed)).replace('−', '[-−]')}", words), (part, words)
        within = getattr(figure, "within", None)
        if within is not None and not isinstance(figure, SpellTolerance):
            assert str(within) in words or f"{within.value} h" in words, (part, words)
        if isinstance(figure, CookingLimits):
            assert words.startswith(", or ".join(map(str, figure.rows))), words


@codes
def test_code_ends_that_are_strict_are_said_in_words(name: str) -> None:
    """A time that is not included is printed as less than; an inclusive one is not."""
    for _, figure in CODES[name].figures():
        inclusive = getattr(figure, "within_inclusive", None)
        if inclusive is not None:
            assert ("less than" in figure.requires) is not inclusive, figure.requires


@codes
def test_code_read_aloud_marks_what_was_not_seen(name: str) -> None:
    """Every part is a sentence; what is not seen says so."""
    limits = CODES[name]
    said = list(sentences(limits))
    assert len(said) == len(limits.figures()) + len(limits.no_figure)
    assert sum("NOT SEEN" in sentence for sentence in said) == not_seen(limits)
    assert all(sentence.endswith(".") and ".." not in sentence for sentence in said)


@codes
def test_source_of_a_figure_that_was_not_seen_says_so(name: str) -> None:
    """Wherever a verdict prints its source, the doubt goes with it."""
    for _, figure in CODES[name].figures():
        seen = figure.confidence is Confidence.SEEN
        assert figure.source.endswith(f"(not seen in its own text: {figure.confidence})") is not seen


def test_parts_of_a_file_all_have_a_name() -> None:
    """What a file may hold can be read aloud."""
    assert set(NAMES) == {"cooling", "cold-holding", "hot-holding", *PARTS}


def test_ireland_is_marked_as_guidance() -> None:
    """The Irish figures are no law, and what was read only in a summary says so."""
    ireland = CODES["ireland"]
    assert ireland.standing is Standing.GUIDANCE
    assert ireland.cooling is not None
    assert ireland.cooling.stages[0].confidence is Confidence.SECONDARY
    assert CODES["us-food-code-2022"].standing is Standing.MODEL_CODE


def test_food_codes_differ_where_the_editions_do() -> None:
    """155 °F for 15 s became 17 s; a start at 70 °F is new; reheating kept its 15 s."""
    rows = {}
    for name in ("us-food-code-2013", "us-food-code-2022"):
        cook, reheat = CODES[name].part("cook-eggs", CookingLimits), CODES[name].part("reheating", ReheatingLimits)
        assert cook is not None
        assert reheat is not None
        rows[name] = [str(row) for row in cook.rows]
        assert str(reheat.row) == "165 °F for 15 s"
    assert rows["us-food-code-2013"] == [
        "145 °F for 3 min",
        "150 °F for 1 min",
        "155 °F for 15 s",
        "158 °F for an instant",
    ]
    assert rows["us-food-code-2022"] == [
        "145 °F for 3 min",
        "150 °F for 1 min",
        "155 °F for 17 s",
        "158 °F for an instant",
    ]
    assert "time-control-from-room" in CODES["us-food-code-2013"].no_figure
    assert CODES["us-food-code-2022"].part("time-control-from-room", TimeControlLimits) is not None


# ---------------------------------------------------------------- the schema of the further parts

PLAN = """
id = "plan"
title = "Plan"
authority = "us"
edition = "1"
caution = "Ours."

[reheating]
clause = "R"
source = "Plan, R"
requires = "as the plan says"
start = "5 °C"
level = "75 °C"
dwell = "30 s"
within = "1 h"
confidence = "seen"
read_on = 2026-11-25
read_at = ["the wall"]

[cook-eggs]
clause = "E"
source = "Plan, E"
requires = "as the plan says"
confidence = "seen"
read_on = 2026-11-25
read_at = ["the wall"]

[[cook-eggs.rows]]
level = "70 °C"
dwell = "2 min"

[cumulative-time]
clause = "T"
source = "Plan, T"
requires = "as the plan says"
cold = "5 °C"
hot = "60 °C"
back_within = "1 h"
within = "2 h"
confidence = "seen"
read_on = 2026-11-25
read_at = ["the wall"]

[date-marking]
clause = "D"
source = "Plan, D"
requires = "as the plan says"
days = 3
level = "5 °C"
marked_after = "24 h"
confidence = "seen"
read_on = 2026-11-25
read_at = ["the wall"]
"""


def _check(path: Path, text: str) -> tuple[int, str]:
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(holdwatch, ["limits", "check", str(path)])
    return result.exit_code, result.output


def test_limits_check_reads_a_plan_aloud(tmp_path: Path) -> None:
    """A file of one's own is checked and told as it is understood."""
    status, said = _check(tmp_path / "plan.toml", PLAN)
    assert status == 0
    assert "Reheating, R: as the plan says. Read on 25 Nov 2026 in the wall." in said
    assert "a plan of one's own, not law" in said
    assert "is a limits file: 4 parts, 4 figures." in said
    plan = load_limits(str(tmp_path / "plan.toml"))
    assert plan.part("date-marking", DateMarkLimits) is not None
    assert plan.part("cumulative-time", TimeControlLimits) is None
    assert plan.part("cumulative-time", CumulativeLimits) is not None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('start = "5 °C"\n', "", "reheating.start: is missing: start and within belong together"),
        ('within = "1 h"\n', "", "reheating.within: is missing: start and within belong together"),
        ('dwell = "2 min"', 'dwell = "0 s"', "cook-eggs.rows[1].dwell: must be longer than nothing"),
        ('dwell = "2 min"', "for = 2", "cook-eggs.rows[1].for: unknown key"),
        ('hot = "60 °C"', 'hot = "4 °C"', "cumulative-time.hot: must be warmer than cold"),
        ('back_within = "1 h"', 'back_within = "3 h"', "cumulative-time.back_within: must not be longer than within"),
        ("days = 3", "days = 0", "date-marking.days: write a whole number, at least 1"),
        ("days = 3", "days = true", "date-marking.days: write a whole number, at least 1"),
        ('edition = "1"', 'edition = "1"\nstanding = "rumour"', "standing: 'rumour' is none of law, model-code"),
        (
            'level = "70 °C"\ndwell = "2 min"',
            'level = "70 °C"\n[[cook-eggs.rows]]\nlevel = "70 °C"',
            "cook-eggs.rows: write the rows in order",
        ),
    ],
)
def test_limits_check_names_key_and_cure(tmp_path: Path, old: str, new: str, said: str) -> None:
    """A plan that breaks the schema ends with status 1 and one line."""
    assert old in PLAN
    status, output = _check(tmp_path / "plan.toml", PLAN.replace(old, new, 1))
    assert status == 1
    assert said in output
    assert len(output.splitlines()) == 1


@pytest.mark.parametrize(
    ("ways", "said"),
    [
        ("[]", "raw-egg.ways: write a list of words between quotes, at least one"),
        ('["boiled"]', "raw-egg.ways: 'boiled' is none of pasteurised, cooked, advisory"),
        ('"cooked"', "raw-egg.ways: write a list of words between quotes"),
    ],
)
def test_limits_check_refuses_ways_that_are_none(tmp_path: Path, ways: str, said: str) -> None:
    """The ways in which raw egg may be served are a few words, and there is at least one."""
    cited = 'clause = "E"\nsource = "E"\nrequires = "e"\nconfidence = "seen"\nread_on = 2026-11-25\nread_at = ["x"]\n'
    status, output = _check(tmp_path / "plan.toml", f"{PLAN}\n[raw-egg]\nways = {ways}\n{cited}")
    assert status == 1
    assert said in output
    assert len(output.splitlines()) == 1


@codes
def test_limits_show_reads_every_code_aloud(name: str) -> None:
    """Each code can be shown, with the caution and without a promise."""
    result = CliRunner().invoke(holdwatch, ["limits", "show", name])
    assert result.exit_code == 0
    assert CODES[name].caution in result.stdout
    assert "Not confirmed with your authority" in result.stdout


def test_limits_list_marks_what_was_not_seen() -> None:
    """The list names every code, what it is, and how many of its figures were not read."""
    assert load("limits").name == "limits"
    said = CliRunner().invoke(holdwatch, ["limits", "list"]).stdout
    assert [line.split()[0] for line in said.splitlines()] == list(known_limits())
    assert "guidance, 4 figures, 2 not seen" in said


def test_page_of_every_clause_is_the_one_of_the_files() -> None:
    """The documentation prints what the files say: `make docs` writes it."""
    root = Path(__file__).parents[2]
    page = runpy.run_path(str(root / "scripts" / "limits_docs.py"))["page"]
    assert (root / "docs" / "clauses.md").read_text(encoding="utf-8") == page()
