"""Every clause of every code at its ends: just inside, exactly on, just outside, in °F and in °C, through ``assess``."""

import csv
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from holdwatch.limits import Cited, CookingRow, Limits, known_limits, load_limits
from holdwatch.quantities import Duration, Level
from holdwatch.rules.verdicts import Process
from tests.limits.assessing import EXIT, assess
from tests.rules.series_words import MINUTE, T0

TABLE = Path(__file__).parents[1] / "published" / "clause_ends.csv"
LINES = TABLE.read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))
WHERE = {"just inside", "exactly on", "just outside"}


def _readings(words: str) -> list[tuple[int, float]]:
    """Return the readings of a row: (ms, degrees of its unit)."""
    how, *tokens = words.split()
    corners = [tuple(map(float, token.split(":"))) for token in tokens]
    minutes = np.array([minute for minute, _ in corners])
    if how == "line":
        minutes = np.union1d(minutes, np.arange(np.ceil(minutes[0]), minutes[-1]))
    degrees = np.interp(minutes, [minute for minute, _ in corners], [value for _, value in corners])
    at = [T0 + round(minute * MINUTE) for minute in minutes.tolist()]
    return list(zip(at, degrees.tolist(), strict=True))


def _name(row: dict[str, str]) -> str:
    return f"{row['code']} {row['process']} {row['end']} {row['where']} {row['unit']}"


@pytest.mark.parametrize("row", ROWS, ids=_name)
def test_clause_end_matches_the_code_that_prints_it(row: dict[str, str], tmp_path: Path) -> None:
    """The verdict of a clause at its end is the one that its own words give."""
    notes = [note.partition("=") for note in row["declared"].split()]
    medium = "air" if row["process"] == Process.SHELL_EGGS else "food"
    answer, status = assess(
        tmp_path / "readings.csv",
        _readings(row["readings"]),
        row["unit"],
        row["process"],
        row["code"],
        declared=[(key, T0 + round(float(minute) * MINUTE)) for key, _, minute in notes],
        more=["--step", row["step"], "--medium", medium],
    )
    clauses = [clause for clause in answer["clauses"] if clause["clause"] == row["clause"] or not row["clause"]]
    assert [clause["verdict"] for clause in clauses] == [row["verdict"]], clauses[0]["reason"] if clauses else ""
    assert status == EXIT[answer["verdict"]]


def test_clause_ends_name_their_source() -> None:
    """The table says where it comes from, and every row names its code."""
    assert sum(line.startswith("#") for line in LINES) >= 5
    assert all(row["source"] and row["code"] for row in ROWS)


# ---------------------------------------------------------------- nothing is left out


def _printed(limits: Limits) -> Iterator[tuple[str, str, str]]:
    """Give every end that a code prints: the process, the clause, the figure."""
    if limits.cooling is not None:
        for stage in limits.cooling.stages:
            if stage.counts == "total":
                yield "cooling", stage.clause, str(limits.cooling.start.temperature)
    for part, figure in limits.figures():
        if part in set(Process) and not figure.clause.startswith(_TOLD_WITH_THE_LEVEL):
            for value in vars(figure).values():
                yield from ((part, figure.clause, words) for words in _figures(value))


_TOLD_WITH_THE_LEVEL = ("Sch. 4 para 5(1)", "Sch. 4 para 7")
"""The tolerances of England, Wales and Northern Ireland: the clause that they bear on is the one of the level."""


def _figures(value: object) -> Iterator[str]:
    if isinstance(value, Level):
        yield str(value.temperature)
    elif isinstance(value, Duration):
        yield str(value)
    elif isinstance(value, CookingRow):
        yield str(value.level.temperature)
        if value.dwell is not None:
            yield str(value.dwell)
    elif isinstance(value, tuple) and value and isinstance(value[0], CookingRow):
        yield from (str(row) for row in value)


@pytest.mark.parametrize("name", known_limits())
def test_every_end_that_a_code_prints_has_its_cases(name: str) -> None:
    """Each temperature and time of each clause: just inside, exactly on and just outside, in °F and in °C."""
    limits = load_limits(name)
    printed = list(_printed(limits))
    assert printed
    for process, clause, figure in printed:
        if (process, figure) in _FROM_WHERE:
            continue
        wanted = figure.replace("\u202f", " ").replace("−", "-")
        cases = {
            (row["unit"], row["where"])
            for row in ROWS
            if (row["code"], row["process"], row["clause"]) == (name, process, clause) and wanted in row["end"]
        }
        assert {(unit, where) for unit in "FC" for where in WHERE} <= cases, (process, clause, wanted)


_FROM_WHERE = {("reheating", "41 °F"), ("reheating", "4 °C")}
"""Levels that only start a clock: how long it runs is what the cases of the time ask."""


@pytest.mark.parametrize(
    ("name", "part"),
    [(name, part) for name in known_limits() for part in load_limits(name).no_figure if part in set(Process)],
)
def test_no_figure_is_no_limit_asked_in_the_words_of_the_code(name: str, part: str, tmp_path: Path) -> None:
    """Where a code prints none, ``assess`` says so in its words, and ends with status 4."""
    answer, status = assess(tmp_path / "readings.csv", [(T0, 4.0), (T0 + MINUTE, 4.0)], "C", part, name)
    said = load_limits(name).no_figure[part]
    assert status == EXIT["none"]
    assert answer["verdict"] == "none"
    assert [(clause["clause"], clause["reason"]) for clause in answer["clauses"]] == [(said.clause, said.says)]


@pytest.mark.parametrize("name", known_limits())
def test_figures_not_seen_are_told_beside_the_verdict(name: str, tmp_path: Path) -> None:
    """The caution of every answer names the clauses asked that were not read in the code's own text."""
    limits = load_limits(name)
    for part, figure in limits.figures():
        if part not in set(Process) or not isinstance(figure, Cited):
            continue
        answer, _ = assess(tmp_path / "readings.csv", [(T0, 4.0), (T0 + MINUTE, 4.0)], "C", part, name)
        asked = {clause["clause"] for clause in answer["clauses"]}
        told = f"{figure.clause} ({figure.confidence.value})" in answer["caution"]
        assert told is (figure.confidence != "seen" and figure.clause in asked)
