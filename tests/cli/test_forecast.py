"""``holdwatch forecast``: the contract that other programs rely on."""

import json
import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner, Result

from holdwatch.cli.forecast import forecast

START = datetime(2026, 3, 1, 10, tzinfo=UTC)
KEYS = {"target", "reaches", "expected_at", "earliest_at", "latest_at", "confidence", "reason"}
Ask = Callable[..., Result]


def csv(path: Path, minutes: int, around_f: float = 38.0, rate: float = 0.194380, skip: int = 1) -> Path:
    """Write a fall from 135 °F that has 100 °F after one hour in 38 °F (the two-point formula, PMC9380651)."""
    rows = [
        f"{(START + timedelta(minutes=n)).isoformat()},{around_f + (135 - around_f) * 10 ** (-rate * n / 60):.3f}"
        for n in range(0, minutes + 1, skip)
    ]
    path.write_text("\n".join(["time,temperature_f", *rows, ""]), encoding="utf-8")
    return path


@pytest.fixture
def ask() -> Ask:
    """Run the command in this process."""
    app = typer.Typer(add_completion=False)
    app.command()(forecast)

    def run(*arguments: object) -> Result:
        return CliRunner().invoke(app, [str(argument) for argument in arguments])

    return run


def answers(result: Result) -> list[dict[str, Any]]:
    """Return the JSON objects of the lines."""
    return [json.loads(line) for line in result.stdout.splitlines()]


def hours(text: str) -> float:
    """Return the hours from the start to an instant."""
    return (datetime.fromisoformat(text) - START).total_seconds() / 3600


def test_forecast_json_has_the_keys_of_the_contract(ask: Ask, tmp_path: Path) -> None:
    """2.478 h to 70 °F from the first hour (computed from the two-point formula), and an interval that holds it."""
    result = ask(csv(tmp_path / "custard.csv", 60), "--target", "70F", "--surroundings", "38F", "--json")
    assert result.exit_code == 0
    (said,) = answers(result)
    assert set(said) == KEYS
    assert (said["target"], said["reaches"], said["confidence"]) == ("70 °F", True, 0.9)
    assert hours(said["expected_at"]) == pytest.approx(2.478, rel=0.03)
    assert hours(said["earliest_at"]) < 2.478 < hours(said["latest_at"])
    assert "38.0\u202f°F" in said["reason"]


def test_forecast_of_several_files_is_a_line_each(ask: Ask, tmp_path: Path) -> None:
    """Each line names its file; one that cannot be read is told on standard error, and the others are answered."""
    good, short = csv(tmp_path / "good.csv", 60), csv(tmp_path / "short.csv", 1)
    result = ask(good, tmp_path / "none.csv", short, "--target", "21C", "--json")
    assert result.exit_code == 2
    first, second = answers(result)
    assert (first["file"], second["file"]) == (str(good), str(short))
    assert second["reaches"] is None
    assert second["expected_at"] is None
    assert "too few" in second["reason"]
    assert "none.csv" in result.stderr


def test_forecast_in_too_warm_surroundings_is_false(ask: Ask, tmp_path: Path) -> None:
    """In air of 24 °C nothing gets to 41 °F, and the reason is in the unit that was asked in."""
    (said,) = answers(ask(csv(tmp_path / "a.csv", 60), "--target", "41F", "--surroundings", "24C", "--json"))
    assert said["reaches"] is False
    assert (said["expected_at"], said["earliest_at"], said["latest_at"]) == (None, None, None)
    assert "75.2\u202f°F" in said["reason"]


def test_forecast_already_there_names_the_reading(ask: Ask, tmp_path: Path) -> None:
    """A level that was reached is answered with its reading."""
    (said,) = answers(ask(csv(tmp_path / "a.csv", 180), "--target", "100F", "--json"))
    assert said["reaches"] is True
    assert said["earliest_at"] == said["expected_at"] == said["latest_at"]
    assert hours(said["expected_at"]) == pytest.approx(1.0, abs=0.02)


def test_forecast_of_ten_minute_hand_readings_is_answered(ask: Ask, tmp_path: Path) -> None:
    """Readings ten minutes apart are enough, once there are a few."""
    (said,) = answers(ask(csv(tmp_path / "a.csv", 60, skip=10), "--target", "70F", "--surroundings", "38F", "--json"))
    assert hours(said["earliest_at"]) < 2.478 < hours(said["latest_at"])


def test_forecast_leaves_out_an_error_code(ask: Ask, tmp_path: Path) -> None:
    """A sensor's −127 °C among the readings is not the food at the level."""
    path = csv(tmp_path / "a.csv", 60)
    path.write_text(path.read_text(encoding="utf-8") + f"{(START + timedelta(minutes=60.5)).isoformat()},-196.6\n")
    (said,) = answers(ask(path, "--target", "70F", "--surroundings", "38F", "--json"))
    assert hours(said["expected_at"]) == pytest.approx(2.478, rel=0.03)


def test_forecast_after_a_declared_move_looks_at_the_new_place(ask: Ask, tmp_path: Path) -> None:
    """An hour on the bench at 75 °F, then the walk-in: the answer is the walk-in's."""
    moved = START + timedelta(minutes=60)
    rows = []
    for n in range(121):
        bench = 75 + 60 * math.exp(-min(n, 60) / 120)
        value = bench if n <= 60 else 38 + (bench - 38) * math.exp(-(n - 60) / 90)
        rows.append(f"{(START + timedelta(minutes=n)).isoformat()},{value:.2f}")
    path = tmp_path / "a.csv"
    path.write_text("\n".join(["time,temperature_f", *rows, ""]), encoding="utf-8")
    declared = ("--declare", f"moved={moved.isoformat()}")
    (said,) = answers(ask(path, "--target", "41F", "--surroundings", "38F", *declared, "--json"))
    truth = 1 + 1.5 * math.log((75 + 60 * math.exp(-0.5) - 38) / 3)
    assert hours(said["expected_at"]) == pytest.approx(truth, rel=0.05)
    assert hours(said["earliest_at"]) < truth < hours(said["latest_at"])


def test_forecast_words_are_for_a_person(ask: Ask, tmp_path: Path) -> None:
    """Without --json it is a sentence, and says that it changes no verdict."""
    result = ask(csv(tmp_path / "a.csv", 60), "--target", "70F", "--surroundings", "38F")
    assert "at 70 °F about 2026-03-01T12:" in result.stdout
    assert "no verdict" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--target", "70"], "'70' is not a temperature such as '41 °F' or '3.5C'"),
        (["--target", "700F"], "--target 700 °F is outside"),
        (["--target", "70F", "--surroundings", "cold"], "--surroundings: 'cold' is not a temperature"),
        (["--target", "70F", "--declare", "moved"], "is not KEY=TIME with KEY one of moved, placed, left-heat"),
        (["--target", "70F", "--declare", "ended=2026-03-01T10:00:00Z"], "is not KEY=TIME"),
        (["--target", "70F", "--declare", "moved=noon"], "'noon' is not an ISO 8601 time with an offset"),
        (["--target", "70F", "--timezone", "Mars/North"], "no time zone called 'Mars/North'"),
    ],
)
def test_forecast_that_cannot_be_asked_is_one_line(ask: Ask, tmp_path: Path, arguments: list[str], said: str) -> None:
    """A bad option ends with status 2 and one clear line on standard error."""
    result = ask(csv(tmp_path / "a.csv", 60), *arguments)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1
