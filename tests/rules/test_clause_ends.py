"""Every clause of every code at its ends: just inside, exactly on, just outside, in °F and in °C."""

import csv
from pathlib import Path

import numpy as np
import pytest

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step
from tests.rules.series_words import MINUTE, T0, declared

TABLE = Path(__file__).parents[1] / "published" / "clause_ends.csv"
LINES = TABLE.read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))


def _series(words: str, unit: str) -> Series:
    how, *tokens = words.split()
    corners = [tuple(map(float, token.split(":"))) for token in tokens]
    minutes = np.array([minute for minute, _ in corners])
    if how == "line":
        minutes = np.union1d(minutes, np.arange(np.ceil(minutes[0]), minutes[-1]))
    degrees = np.interp(minutes, [minute for minute, _ in corners], [value for _, value in corners])
    at = [T0 + round(minute * MINUTE) for minute in minutes.tolist()]
    return Series.of((ms, celsius_of_f(v) if unit == "F" else v) for ms, v in zip(at, degrees.tolist(), strict=True))


def _record(row: dict[str, str], *, medium: Medium = Medium.FOOD) -> Record:
    notes = [note.partition("=") for note in row["declared"].split()]
    return Record(
        _series(row["readings"], row["unit"]),
        medium=medium,
        declared=declared(*((key, float(minute)) for key, _, minute in notes)),
    )


def _name(row: dict[str, str]) -> str:
    return f"{row['code']} {row['process']} {row['end']} {row['where']} {row['unit']}"


@pytest.mark.parametrize("row", ROWS, ids=_name)
def test_clause_end_matches_the_code_that_prints_it(row: dict[str, str]) -> None:
    """The verdict of a clause at its end is the one that its own words give."""
    process = Process(row["process"])
    medium = Medium.AIR if process is Process.SHELL_EGGS else Medium.FOOD
    record = _record(row, medium=medium)
    last = max(int(record.probe.at_ms[-1]), *(d.at_ms for d in record.declared), 0)
    answer = judge(process, record, load_limits(row["code"]), until_ms=last, step=Step(row["step"]), finished=True)
    clauses = [clause for clause in answer.clauses if clause.clause == row["clause"] or not row["clause"]]
    assert [clause.verdict.value for clause in clauses] == [row["verdict"]], clauses[0].reason if clauses else ""


def test_clause_ends_name_their_source() -> None:
    """The table says where it comes from, and every row names its code."""
    assert sum(line.startswith("#") for line in LINES) >= 5
    assert all(row["source"] and row["code"] for row in ROWS)
