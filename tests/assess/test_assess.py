"""``holdwatch assess``: the contract that other programs rely on."""

import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner, Result

from holdwatch.cli.assess import assess

START = datetime(2026, 3, 1, 10, tzinfo=UTC)
CODE = ["--limits", "us-food-code-2022"]
Ask = Callable[..., Result]


def _csv(path: Path, pairs: Sequence[tuple[float, float | str]]) -> Path:
    rows = [f"{(START + timedelta(minutes=minutes)).isoformat()},{value}" for minutes, value in pairs]
    path.write_text("\n".join(["time,temperature_f", *rows, ""]), encoding="utf-8")
    return path


def _falling(minutes_to_70: int, last: int) -> list[tuple[float, float | str]]:
    """Return a fall from 140 °F at the start to 70 °F, going on as fast down to 38 °F."""
    slope = 70 / minutes_to_70
    return [(n, round(max(140 - slope * n, 38), 3)) for n in range(last + 1)]


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Path]:
    """Records of every verdict."""
    return {
        "met": _csv(tmp_path / "met.csv", _falling(100, 200)),
        "missed": _csv(tmp_path / "missed.csv", _falling(200, 300)),
        "open": _csv(tmp_path / "open.csv", _falling(100, 50)),
        "unproven": _csv(tmp_path / "unproven.csv", _falling(100, 200)[20:]),
        "bad": _csv(tmp_path / "bad.csv", [(0, "err")]),
    }


@pytest.fixture
def ask() -> Ask:
    """Run the command in this process."""
    app = typer.Typer(add_completion=False)
    app.command()(assess)

    def run(*arguments: object) -> Result:
        return CliRunner().invoke(app, [str(argument) for argument in arguments])

    return run


def _json(result: Result) -> dict[str, Any]:
    lines = result.stdout.splitlines()
    assert len(lines) == 1
    answer = json.loads(lines[0])
    assert isinstance(answer, dict)
    return answer


def test_assess_json_has_the_keys_of_the_contract(ask: Ask, files: dict[str, Path]) -> None:
    """One object with exactly these keys; instants are UTC ISO 8601, unknown ends null."""
    answer = _json(ask(files["met"], "--process", "cooling", *CODE, "--json"))
    assert list(answer) == ["process", "limits", "verdict", "clauses", "readings", "caution"]
    assert (answer["process"], answer["limits"], answer["verdict"]) == ("cooling", "us-food-code-2022", "met")
    first, second = answer["clauses"]
    assert list(first) == ["clause", "source", "requires", "verdict", "started", "due", "reached", "reason"]
    assert first["clause"] == "3-501.14(A)(1)"
    assert first["source"] == "FDA Food Code 2022, 3-501.14(A)(1)"
    assert first["requires"] == "135 °F to 70 °F within 2 h"
    assert first["started"] == ["2026-03-01T10:07:00Z", "2026-03-01T10:08:00Z"]
    assert first["due"] == ["2026-03-01T12:07:00Z", "2026-03-01T12:08:00Z"]
    assert first["reached"] == ["2026-03-01T11:39:00Z", "2026-03-01T11:40:00Z"]
    assert second["clause"] == "3-501.14(A)(2)"
    assert answer["readings"] == {
        "used": 201,
        "first": "2026-03-01T10:00:00Z",
        "last": "2026-03-01T13:20:00Z",
        "rejected": [],
        "set_aside": [],
    }
    assert "your inspector decide" in answer["caution"]


def test_assess_unknown_start_is_null(ask: Ask, files: dict[str, Path]) -> None:
    """Where nobody saw the start, its earlier end is null, and so is that of what is due."""
    clause = _json(ask(files["unproven"], "--process", "cooling", *CODE, "--json"))["clauses"][0]
    assert clause["started"] == [None, "2026-03-01T10:20:00Z"]
    assert clause["due"] == [None, "2026-03-01T12:20:00Z"]


@pytest.mark.parametrize(
    ("name", "process", "more", "status"),
    [
        ("met", "cooling", [], 0),
        ("missed", "cooling", [], 1),
        ("open", "cooling", [], 3),
        ("unproven", "cooling", [], 3),
        ("met", "cooling", ["--medium", "air"], 4),
        ("met", "cold-holding", ["--declare", "from=2026-03-01T13:00:00Z"], 0),
        ("met", "cold-holding", [], 1),
        ("met", "hot-holding", ["--until", "2026-03-01T10:07:00Z"], 0),
        ("met", "hot-holding", [], 1),
        ("unproven", "cooling", ["--declare", "left-heat=2026-03-01T10:15:00Z"], 0),
        ("bad", "cooling", [], 2),
    ],
)
def test_assess_exit_status_tells_the_verdict(
    ask: Ask, files: dict[str, Path], name: str, process: str, more: list[str], status: int
) -> None:
    """0 kept, 1 deviation, 3 not shown or running, 4 nothing asked, 2 could not judge; with and without --json."""
    assert ask(files[name], "--process", process, *CODE, *more).exit_code == status
    assert ask(files[name], "--process", process, *CODE, *more, "--json").exit_code == status


@pytest.mark.parametrize(
    ("names", "status"),
    [(["met", "met"], 0), (["met", "open"], 3), (["met", "open", "missed"], 1), (["met", "bad", "missed"], 2)],
)
def test_assess_several_files_give_a_line_each_and_the_worst_status(
    ask: Ask, files: dict[str, Path], names: list[str], status: int
) -> None:
    """Each file's object names it; a file that cannot be judged is told on standard error and the rest goes on."""
    result = ask(*(files[name] for name in names), "--process", "cooling", *CODE, "--json")
    assert result.exit_code == status
    answers = [json.loads(line) for line in result.stdout.splitlines()]
    assert [answer["file"] for answer in answers] == [str(files[name]) for name in names if name != "bad"]
    assert ("bad.csv" in result.stderr) is ("bad" in names)


def test_assess_rejected_rows_and_set_aside_are_listed(ask: Ask, tmp_path: Path) -> None:
    """What was not judged is told, row by row and reading by reading."""
    path = _csv(tmp_path / "cold.csv", [(0, 38), (10, "err"), (20, 185), (30, 38), (40, 38)])
    answer = _json(ask(path, "--process", "cold-holding", *CODE, "--json"))
    assert answer["readings"]["rejected"] == [{"row": 3, "reason": "not a number: 'err'"}]
    aside = answer["readings"]["set_aside"]
    assert [(reading["time"], reading["temperature_c"]) for reading in aside] == [("2026-03-01T10:20:00Z", 85.0)]
    assert "power-on" in aside[0]["reason"]
    assert answer["readings"]["used"] == 3


def test_assess_until_hides_what_came_later(ask: Ask, files: dict[str, Path]) -> None:
    """Readings after --until are not seen; a declared instant later than the last reading moves the default."""
    early = _json(ask(files["met"], "--process", "cooling", *CODE, "--json", "--until", "2026-03-01T11:00:00Z"))
    assert early["verdict"] == "open"
    assert early["readings"]["last"] == "2026-03-01T11:00:00Z"
    late = ["--declare", "moved=2026-03-01T20:00:00Z"]
    assert _json(ask(files["open"], "--process", "cooling", *CODE, "--json", *late))["verdict"] == "unproven"


def test_assess_ended_before_the_limit_fell_due_asks_nothing(ask: Ask, files: dict[str, Path]) -> None:
    """Food that was used before a limit fell due is asked nothing of it."""
    result = ask(files["open"], "--process", "cooling", *CODE, "--json", "--declare", "ended=2026-03-01T10:50:00Z")
    assert result.exit_code == 4
    assert {clause["verdict"] for clause in _json(result)["clauses"]} == {"none"}


def test_assess_hand_checks_bear_four_hours(ask: Ask, tmp_path: Path) -> None:
    """By hand, four hours apart is enough; a probe so seldom heard shows nothing."""
    path = _csv(tmp_path / "hand.csv", [(0, 39), (230, 40), (460, 38)])
    hand = _json(ask(path, "--process", "cold-holding", *CODE, "--source", "hand", "--json"))
    assert hand["verdict"] == "met"
    assert "Kept, by 3 checks" in hand["clauses"][0]["reason"]
    assert _json(ask(path, "--process", "cold-holding", *CODE, "--json"))["verdict"] == "unproven"


def test_assess_air_read_by_hand_is_no_check_of_the_food(ask: Ask, tmp_path: Path) -> None:
    """Who reads the air's thermometer by hand has not measured the food."""
    path = _csv(tmp_path / "air.csv", [(0, 40), (60, 60), (120, 40)])
    words = ["--process", "cold-holding", *CODE, "--medium", "air", "--source", "hand"]
    result = ask(path, *words)
    assert result.exit_code == 4
    assert "The air was above 41 °F once" in result.stdout
    assert "There is no hand check of the food." in result.stdout


def test_assess_words_are_for_a_person(ask: Ask, files: dict[str, Path]) -> None:
    """The short answer names the clause, the screen word, the reason and the caution."""
    told = ask(files["missed"], "--process", "cooling", *CODE).stdout
    assert "DEVIATION" in told
    assert "3-501.14(A)(1)  135 °F to 70 °F within 2 h" in told
    assert "deviation: Not at 70 °F in time" in told
    assert "your inspector decide" in told
    assert "safe" not in told.replace("safety", "")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--process", "baking", *CODE], "--process 'baking' is none of cooling"),
        (["--process", "cooling", "--limits", "nowhere"], "no limits called 'nowhere'"),
        (["--process", "cooling", *CODE, "--declare", "left-heat"], "is not KEY=TIME"),
        (
            ["--process", "cooling", *CODE, "--declare", "lunch=2026-03-01T10:00:00Z"],
            "is not KEY=TIME with KEY one of left-heat",
        ),
        (
            ["--process", "cooling", *CODE, "--declare", "placed=10:00"],
            "--declare placed: '10:00' is not an ISO 8601 time",
        ),
        (
            [
                *("--process", "time-control-4h", *CODE),
                *("--declare", "ended=2026-03-01T12:00:00Z"),
                *("--declare", "ended=2026-03-01T10:00:00+01:00"),
            ],
            "--declare ended is given for 2026-03-01T09:00:00Z and 2026-03-01T12:00:00Z: name the one instant",
        ),
        (["--process", "cooling", *CODE, "--until", "2026-03-01T10:00:00"], "--until: '2026-03-01T10:00:00' is not"),
        (["--process", "cooling", *CODE, "--medium", "soup"], "--medium 'soup' is none of food, air, product"),
        (["--process", "cooling", *CODE, "--source", "nose"], "--source 'nose' is none of probe, hand"),
        (["--process", "cooling", *CODE, "--step", "cook"], "--step 'cook' is none of store, display"),
        (["--process", "cooling", *CODE, "--timezone", "Mars/North"], "no time zone called 'Mars/North'"),
    ],
)
def test_assess_what_cannot_be_judged_is_one_line(
    ask: Ask, files: dict[str, Path], arguments: list[str], said: str
) -> None:
    """Anything that cannot be judged ends with status 2 and one clear line on standard error."""
    result = ask(files["met"], *arguments)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_assess_loads_nothing_heavy() -> None:
    """The command answers at once: no table library, no data frame, no solver is loaded for it."""
    heavy = "{'sqlmodel', 'sqlalchemy', 'pandas', 'scipy', 'altair', 'streamlit', 'apprise', 'paho', 'pydantic'}"
    program = (
        "import sys, holdwatch.cli.assess, holdwatch.recordfile, holdwatch.rules.judge, holdwatch.limits;"
        f"print(sorted({heavy} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
