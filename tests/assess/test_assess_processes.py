"""``holdwatch assess`` for every process: keys, clause ids, exit status, and the words of codes without a figure."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from holdwatch.cli.main import app

START = datetime(2026, 3, 1, 10, tzinfo=UTC)


def _at(minutes: float) -> str:
    return (START + timedelta(minutes=minutes)).isoformat()


def _ask(path: Path, pairs: Sequence[tuple[float, float]], *options: str) -> tuple[int, dict[str, Any]]:
    rows = [f"{_at(minutes)},{value}" for minutes, value in pairs]
    path.write_text("\n".join(["time,temperature_f", *rows, ""]), encoding="utf-8")
    result = CliRunner().invoke(app, ["assess", str(path), "--json", *options])
    answer = json.loads(result.stdout)
    assert isinstance(answer, dict)
    return result.exit_code, answer


CUSTARD = [(n / 60, 140.0 if n < 0 else 156.0) for n in range(-1, 18)] + [(0.5, 150.0)]
COUNTER = [(float(n), 38.0) for n in range(-10, 1)] + [(float(n), 60.0) for n in range(5, 60, 5)]
AMBIENT = [(float(n), 72 - n / 4) for n in range(0, 130, 5)]
REHEAT = [(float(n), 40 + n * 1.25) for n in range(100)] + [(100 + n / 60, 165.5) for n in range(17)]


@pytest.mark.parametrize(
    ("pairs", "process", "limits", "more", "status", "clause"),
    [
        (CUSTARD, "cook-eggs", "us-food-code-2022", [], 0, "3-401.11(A)(2)"),
        (CUSTARD[:10], "cook-eggs", "us-food-code-2022", [], 3, "3-401.11(A)(2)"),
        (CUSTARD[:1], "cook-eggs", "scotland", [], 4, "Sch. 4"),
        (AMBIENT, "ambient-cooling", "us-food-code-2022", ["--declare", f"prepared={_at(0)}"], 0, "3-501.14(B)"),
        (AMBIENT, "ambient-cooling", "us-food-code-2022", [], 3, "3-501.14(B)"),
        (
            COUNTER,
            "time-control-4h",
            "us-food-code-2022",
            ["--declare", f"removed={_at(0)}", "--declare", f"ended={_at(240)}"],
            0,
            "3-501.19(B)",
        ),
        (
            COUNTER,
            "time-control-4h",
            "us-food-code-2022",
            ["--declare", f"removed={_at(0)}", "--declare", f"ended={_at(241)}"],
            1,
            "3-501.19(B)",
        ),
        (COUNTER, "time-control-6h", "us-food-code-2022", ["--declare", f"removed={_at(0)}"], 3, "3-501.19(C)"),
        (COUNTER, "cumulative-time", "australia", [], 0, "2 h / 4 h rule"),
        (REHEAT, "reheating", "us-food-code-2022", [], 0, "3-403.11(A)"),
        (REHEAT[:50], "reheating", "us-food-code-2022", [], 3, "3-403.11(A)"),
        (COUNTER, "cold-holding", "scotland", [], 4, "Sch. 4 para 2"),
        (COUNTER, "cooling", "england-wales-ni", [], 4, "852/2004 Annex II Ch. IX para 6"),
    ],
)
def test_assess_process_answers_with_its_clause_and_status(
    tmp_path: Path,
    pairs: Sequence[tuple[float, float]],
    process: str,
    limits: str,
    more: list[str],
    status: int,
    clause: str,
) -> None:
    """Each process of the contract has its clause id, all keys, and the exit status of its verdict."""
    code, answer = _ask(tmp_path / "r.csv", pairs, "--process", process, "--limits", limits, *more)
    assert (code, answer["process"], answer["limits"]) == (status, process, limits)
    (only,) = answer["clauses"]
    assert list(only) == ["clause", "source", "requires", "verdict", "started", "due", "reached", "reason"]
    assert only["clause"] == clause
    assert answer["verdict"] == only["verdict"]


def test_assess_cooking_before_the_end_of_the_file_is_running(tmp_path: Path) -> None:
    """A file's end is the end of cooking; judged as of an instant before it, cooking goes on."""
    options = ("--process", "cook-eggs", "--limits", "us-food-code-2022")
    pairs = [(0.0, 130.0), (0.2, 135.0), (0.4, 140.0), (0.6, 141.0)]
    assert _ask(tmp_path / "r.csv", pairs, *options)[0] == 1
    assert _ask(tmp_path / "r.csv", pairs, *options, "--until", _at(0.4))[1]["verdict"] == "open"


def test_assess_display_bears_one_spell_under_english_law(tmp_path: Path) -> None:
    """``--step display`` brings the tolerance in, the default does not."""
    pairs = [(float(n), 45.0 if not 5 <= n < 60 else 47.0) for n in range(90)]
    options = ("--process", "cold-holding", "--limits", "england-wales-ni")
    assert _ask(tmp_path / "r.csv", pairs, *options)[0] == 1
    status, answer = _ask(tmp_path / "r.csv", pairs, *options, "--step", "display")
    assert status == 0
    assert "Sch. 4 para 5(1)" in answer["clauses"][0]["reason"]


def test_assess_unknown_process_names_all_of_them(tmp_path: Path) -> None:
    """A word that is no process ends with status 2 and one line that lists what is."""
    path = tmp_path / "r.csv"
    path.write_text("time,temperature_f\n2026-03-01T10:00:00Z,40\n", encoding="utf-8")
    result = CliRunner().invoke(app, ["assess", str(path), "--process", "baking", "--limits", "australia"])
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    for word in ("ambient-cooling", "time-control-4h", "time-control-6h", "cumulative-time", "cook-eggs", "reheating"):
        assert word in result.stderr


def test_assess_caution_marks_a_figure_that_was_not_seen(tmp_path: Path) -> None:
    """A figure read only in a summary says so; one that was seen has the code's caution alone."""
    ireland = ("--process", "cooling", "--limits", "ireland")
    assert _ask(tmp_path / "r.csv", AMBIENT, *ireland)[1]["caution"].endswith(
        "Not seen in the code's own text: FSAI cooling (secondary)."
    )
    seen = ("--process", "cooling", "--limits", "australia")
    assert "Not seen" not in _ask(tmp_path / "r.csv", AMBIENT, *seen)[1]["caution"]
