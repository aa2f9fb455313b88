"""A code that nobody wrote, added as one TOML file: every process judges it by its figures and its strict ends.

The verdicts follow from the file's own words: "less than 90 min" does not allow 1:30, "below 20 °C" does not allow 20.0.
No figure of it stands in the program.
"""

from dataclasses import dataclass
from pathlib import Path

import pytest

from holdwatch.clock import to_iso
from holdwatch.limits import load_limits
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step, Verdict
from tests.rules.series_words import MINUTE, T0, declared, joined, line
from tests.support.commands import holdwatch

CODE = Path(__file__).with_name("invented.toml")
MET, MISSED, UNPROVEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN
Notes = tuple[tuple[str, float], ...]


def celsius(*corners: tuple[float, float], every: float = 1.0) -> Series:
    """Return readings on straight lines between (minutes, °C)."""
    return line(*((minute, degrees * 1.8 + 32) for minute, degrees in corners), every=every)


def at(*pairs: tuple[float, float]) -> Series:
    """Return single readings (minutes, °C)."""
    return Series.of((T0 + round(minute * MINUTE), degrees) for minute, degrees in pairs)


@dataclass(frozen=True)
class Case:
    """A record, and what the invented code's words make of it."""

    process: Process
    name: str
    probe: Series
    verdict: Verdict
    notes: Notes = ()
    step: Step = Step.STORE
    medium: Medium = Medium.FOOD

    def __str__(self) -> str:
        return f"{self.process.value}: {self.name}"


P = Process
_FALL = celsius((0, 50), (89, 20.5))


def _spell(first: int, last: int, *, inside: float, beyond: float, until: int = 400) -> Series:
    """Return a record of a reading a minute that is beyond a level from one minute to another, both included."""
    parts = [celsius((0, inside), (first - 1, inside)), celsius((first, beyond), (last, beyond))]
    return joined(*parts, *([celsius((last + 1, inside), (until, inside))] if last < until else []))


def _displayed(process: Process, inside: float, on: float) -> list[Case]:
    """Return the cases of one spell of less than 3 h: readings of it lie within, the ones beside it bound it."""

    def case(name: str, probe: Series, verdict: Verdict, step: Step = Step.DISPLAY) -> Case:
        return Case(process, name, probe, verdict, step=step)

    return [
        case("inside", celsius((0, inside), (60, inside)), MET, Step.STORE),
        case("exactly on the level", _spell(30, 30, inside=inside, beyond=on, until=60), MISSED, Step.STORE),
        case("one spell of 2:59 at most", _spell(60, 237, inside=inside, beyond=on), MET),
        case("one spell of 3:00 at most", _spell(60, 238, inside=inside, beyond=on), UNPROVEN),
        case("one spell of 3:00 at least", _spell(60, 240, inside=inside, beyond=on), MISSED),
        case(
            "two spells",
            joined(
                _spell(60, 70, inside=inside, beyond=on, until=99),
                celsius((100, on), (101, on)),
                celsius((102, inside), (120, inside)),
            ),
            MISSED,
        ),
        case("one spell, in store", _spell(60, 70, inside=inside, beyond=on), MISSED, Step.STORE),
    ]


def _gone(process: Process, hours: int, starts: float, on: float) -> list[Case]:
    """Return the cases of food that is gone within a time, and starts below a level."""
    held = celsius((-5, starts), (hours * 60, starts), every=5)
    warm = joined(celsius((-5, on), (0, on)), held.between(T0 + MINUTE, int(held.at_ms[-1])))
    start = (("removed", 0.0),)
    return [
        Case(process, "gone in time", held, MET, (*start, ("ended", hours * 60 - 1))),
        Case(process, "gone exactly at its end", held, MISSED, (*start, ("ended", hours * 60))),
        Case(process, "start exactly on the level", warm, MISSED, (*start, ("ended", hours * 60 - 1))),
    ]


CASES = [
    Case(P.COOLING, "in time", joined(_FALL, at((89.9, 19.9), (95, 19))), MET),
    Case(P.COOLING, "perhaps exactly at its end", joined(_FALL, at((90, 19.9), (95, 19))), UNPROVEN),
    Case(P.COOLING, "exactly on the level at its end", joined(_FALL, at((91, 20.0), (95, 19))), MISSED),
    Case(P.COOLING, "exactly on the level for ever", celsius((0, 50), (80, 20), (200, 20)), MISSED),
    Case(P.COOLING, "never seen at the starting level", celsius((0, 49.9), (60, 15)), UNPROVEN),
    *_displayed(P.COLD_HOLDING, 5.9, 6.0),
    *_displayed(P.HOT_HOLDING, 61.1, 61.0),
    Case(P.SHELL_EGGS, "inside", celsius((0, 10.9), (60, 10.9)), MET, medium=Medium.AIR),
    Case(P.SHELL_EGGS, "exactly on the level", _spell(30, 30, inside=10.9, beyond=11.0), MISSED, medium=Medium.AIR),
    Case(P.FROZEN_STORAGE, "inside", celsius((0, -17.1), (60, -17.1)), MET),
    Case(P.FROZEN_STORAGE, "exactly on the level", _spell(30, 30, inside=-17.1, beyond=-17.0), MISSED),
    Case(P.AMBIENT_COOLING, "in time", joined(celsius((1, 22), (98, 6)), at((99, 5.9))), MET, (("prepared", 0),)),
    Case(
        P.AMBIENT_COOLING, "at its end", joined(celsius((1, 22), (98, 6)), at((100, 5.9))), UNPROVEN, (("prepared", 0),)
    ),
    Case(P.AMBIENT_COOLING, "on the level", celsius((1, 22), (98, 6), (120, 6)), MISSED, (("prepared", 0),)),
    Case(P.RECEIVED_COOLING, "in time", joined(celsius((1, 12), (68, 6)), at((69, 5.9))), MET, (("from", 0),)),
    Case(P.RECEIVED_COOLING, "at its end", joined(celsius((1, 12), (68, 6)), at((70, 5.9))), UNPROVEN, (("from", 0),)),
    Case(P.RECEIVED_COOLING, "on the level", celsius((1, 12), (68, 6), (90, 6)), MISSED, (("from", 0),)),
    *_gone(P.TIME_CONTROL_4H, 3, 5.9, 6.0),
    Case(P.TIME_CONTROL_4H, "hot enough", celsius((-5, 61.1), (0, 61.1)), MET, (("removed", 0), ("ended", 170))),
    Case(P.TIME_CONTROL_4H, "on the hot level", celsius((-5, 61), (0, 61)), MISSED, (("removed", 0), ("ended", 170))),
    *_gone(P.TIME_CONTROL_6H, 5, 5.9, 6.0),
    Case(
        P.TIME_CONTROL_6H,
        "warm",
        celsius((-5, 5), (0, 5), (60, 21.9), (250, 21.9)),
        MET,
        (("removed", 0), ("ended", 250)),
    ),
    Case(
        P.TIME_CONTROL_6H,
        "too warm",
        celsius((-5, 5), (0, 5), (60, 22), (250, 22)),
        MISSED,
        (("removed", 0), ("ended", 250)),
    ),
    *_gone(P.TIME_CONTROL_FROM_ROOM, 2, 21.9, 22.0),
    Case(P.CUMULATIVE_TIME, "back after 59 min at most", _spell(10, 67, inside=5.9, beyond=6.0, until=90), MET),
    Case(P.CUMULATIVE_TIME, "back after 1:00 at most", _spell(10, 68, inside=5.9, beyond=6.0, until=90), UNPROVEN),
    Case(P.CUMULATIVE_TIME, "back after 1:00 at least", _spell(10, 70, inside=5.9, beyond=6.0, until=90), MISSED),
    Case(P.CUMULATIVE_TIME, "out for 2:59 at most", _spell(10, 188, inside=5.9, beyond=30, until=188), MET),
    Case(P.CUMULATIVE_TIME, "out for 3:00 at least", _spell(10, 190, inside=5.9, beyond=30, until=190), MISSED),
    Case(P.CUMULATIVE_TIME, "on the hot level", _spell(10, 190, inside=61.1, beyond=61.0, until=190), MISSED),
    Case(P.COOK_EGGS, "long enough", joined(at((0, 60)), celsius((1, 66.1), (3, 66.1)), at((4, 60))), MET),
    Case(P.COOK_EGGS, "exactly on the level", joined(at((0, 60)), celsius((1, 66), (6, 66)), at((7, 60))), MISSED),
    Case(P.COOK_EGGS, "an instant", joined(at((0, 60), (1, 70.1), (2, 60))), MET),
    Case(P.COOK_EGGS, "exactly on the level of an instant", joined(at((0, 60), (0.5, 70), (1, 60))), MISSED),
    Case(P.COOK_EGGS_TO_ORDER, "long enough", at((0, 60), (0.5, 64.1), (1, 64.1), (1.5, 60)), MET),
    Case(P.COOK_EGGS_TO_ORDER, "exactly on the level", at((0, 60), (0.5, 64), (1, 64), (1.5, 60)), MISSED),
    Case(
        P.REHEATING, "in time", joined(celsius((0, 5), (1, 8), (78, 75)), at((79, 76.1), (79.5, 76.1), (80, 70))), MET
    ),
    Case(
        P.REHEATING,
        "perhaps at its end",
        joined(celsius((0, 5), (1, 8), (78, 75)), at((80, 76.1), (80.5, 76.1))),
        UNPROVEN,
    ),
    Case(P.REHEATING, "on the level", joined(celsius((0, 5), (1, 8), (78, 75)), celsius((79, 76), (90, 76))), MISSED),
]


def test_invented_code_is_tried_with_every_process() -> None:
    """Both answers are tried for every process that there is, found by itself."""
    for process in Process:
        told = {case.verdict for case in CASES if case.process is process}
        assert {MET, MISSED} <= told, process


@pytest.mark.parametrize("case", CASES, ids=str)
def test_invented_code_is_judged_by_its_own_figures(case: Case) -> None:
    """One clause, cited as the file cites it, with the verdict that its words give."""
    record = Record(case.probe, medium=case.medium, declared=declared(*case.notes))
    until = max(int(case.probe.at_ms[-1]), *(d.at_ms for d in record.declared), 0)
    limits = load_limits(str(CODE))
    answer = judge(case.process, record, limits, until_ms=until, step=case.step, finished=True)
    (clause,) = answer.clauses
    assert clause.source.startswith("Invented code, ")
    assert clause.verdict is case.verdict, clause.reason


@pytest.mark.parametrize(
    "case",
    [case for case in CASES if case.process in {P.COOLING, P.COLD_HOLDING, P.TIME_CONTROL_6H, P.REHEATING}],
    ids=str,
)
def test_invented_code_is_judged_alike_from_a_file(case: Case, tmp_path: Path) -> None:
    """The command line takes the code by its path, and answers with the same verdict's exit status."""
    file = tmp_path / "readings.csv"
    rows = [
        f"{to_iso(at_ms)},{degrees:.9f}"
        for at_ms, degrees in zip(case.probe.at_ms.tolist(), case.probe.celsius.tolist(), strict=True)
    ]
    file.write_text("\n".join(["time,temperature_c", *rows]), encoding="utf-8")
    notes = [
        word for key, minute in case.notes for word in ("--declare", f"{key}={to_iso(T0 + round(minute * MINUTE))}")
    ]
    words = ["assess", file, "--process", case.process.value, "--limits", CODE, "--step", case.step.value, *notes]
    status = {MET: 0, MISSED: 1, UNPROVEN: 3}[case.verdict]
    assert holdwatch(*words).exit_code == status
