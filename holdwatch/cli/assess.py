"""``holdwatch assess``: what a file of readings shows of a limit."""

import json
import sys
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from holdwatch.cli.declared import COULD_NOT, complain, declaration, instant, stop
from holdwatch.clock import to_iso
from holdwatch.errors import HoldwatchError
from holdwatch.readings import Declaration, DeclarationKind, Medium, Source
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.verdicts import Bracket, ClauseVerdict, Process, Step, Verdict

if TYPE_CHECKING:
    from holdwatch.limits import Limits
    from holdwatch.recordfile import RecordFile
    from holdwatch.rules.verdicts import Judgement

__all__ = ["assess"]

KEPT, DEVIATION, NOT_SHOWN, NOT_ASKED = 0, 1, 3, 4
EXIT_STATUS = {
    Verdict.MET: KEPT,
    Verdict.MISSED: DEVIATION,
    Verdict.UNPROVEN: NOT_SHOWN,
    Verdict.OPEN: NOT_SHOWN,
    Verdict.NONE: NOT_ASKED,
}
WORST_FIRST = (COULD_NOT, DEVIATION, NOT_SHOWN, KEPT, NOT_ASKED)
SCREEN = {
    Verdict.MET: "kept",
    Verdict.MISSED: "deviation",
    Verdict.UNPROVEN: "not shown",
    Verdict.OPEN: "running",
    Verdict.NONE: "no limit asked",
}
STEPS = (Step.STORE.value, Step.DISPLAY.value)
ROWS_NAMED = 5  # rejected rows and readings set aside that the short answer names one by one

_Choice = TypeVar("_Choice", bound=StrEnum)


@dataclass(frozen=True)
class _Question:
    """What is asked of every file."""

    process: Process
    limits: "Limits"
    declared: tuple[Declaration, ...]
    until_ms: int | None
    medium: Medium
    source: Source
    step: Step
    timezone: str | None
    food: frozenset[Food]


def assess(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="READINGS.csv…", help="CSV with time and temperature_c or temperature_f.", show_default=False
        ),
    ],
    process: Annotated[str, typer.Option(help=f"One of: {', '.join(Process)}.", show_default=False)],
    limits: Annotated[
        str,
        typer.Option(
            help="A code of practice, such as us-food-code-2022, or the path of a limits file.", show_default=False
        ),
    ],
    declare: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KEY=TIME",
            help="What was done when: left-heat, prepared, removed, returned, ended, placed, moved, from. May repeat.",
            show_default=False,
        ),
    ] = None,
    until: Annotated[
        str | None,
        typer.Option(
            metavar="TIME",
            help="Judge as of this instant. Default: the last reading or declared instant.",
            show_default=False,
        ),
    ] = None,
    medium: Annotated[str, typer.Option(help="What the probe stood in: food, air or product.")] = Medium.FOOD.value,
    source: Annotated[str, typer.Option(help="Where the readings come from: probe or hand.")] = Source.PROBE.value,
    step: Annotated[str, typer.Option(help="store or display.")] = Step.STORE.value,
    food: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FACT",
            help=f"What it is, and whom it is for, where raw egg matters: {', '.join(Food)}. May repeat.",
            show_default=False,
        ),
    ] = None,
    timezone: Annotated[
        str | None,
        typer.Option(metavar="AREA/CITY", help="The zone of times without an offset.", show_default=False),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object a file.")] = False,
) -> None:
    """Hold a file of readings against a published limit.

    Exit status: 0 kept, 1 deviation, 3 not shown or still running, 4 no limit asked, 2 could not judge.

    Example: holdwatch assess custard.csv --process cooling --limits us-food-code-2022
    """
    try:
        question = _question(process, limits, declare or [], until, medium, source, step, timezone, food or [])
    except HoldwatchError as problem:
        stop("assess", str(problem))
    statuses = [_assess_one(path, question, as_json=as_json, several=len(files) > 1) for path in files]
    raise typer.Exit(next(status for status in WORST_FIRST if status in statuses))


def _assess_one(path: Path, question: _Question, *, as_json: bool, several: bool) -> int:
    """Judge one file, print the answer, and return its exit status."""
    from holdwatch.recordfile import find_timezone, read_record_file

    try:
        zone = find_timezone(question.timezone) if question.timezone is not None else None
        record = read_record_file(path, zone, by_hand=question.source is Source.HAND)
    except HoldwatchError as problem:
        complain("assess", str(problem))
        return COULD_NOT
    judgement = _judge(record, question)
    if as_json:
        facts = _facts(judgement, record, question.limits)
        typer.echo(json.dumps({"file": str(path), **facts} if several else facts, ensure_ascii=False))
    else:
        typer.echo(_told(path, judgement, record, question.limits))
    return EXIT_STATUS[judgement.verdict]


def _judge(file: "RecordFile", question: _Question) -> "Judgement":
    from holdwatch.readings import Record
    from holdwatch.rules.judge import judge
    from holdwatch.rules.raw_egg import of_this_food

    until_ms = question.until_ms
    if until_ms is None:
        until_ms = max(int(file.series.at_ms[-1]), *(d.at_ms for d in question.declared), -sys.maxsize)
    record = Record(probe=file.series, medium=question.medium, declared=question.declared)
    judgement = judge(
        question.process,
        record,
        question.limits,
        until_ms=until_ms,
        source=question.source,
        step=question.step,
        finished=until_ms >= int(file.series.at_ms[-1]),
    )
    return of_this_food(judgement, question.limits, question.food)


# ---------------------------------------------------------------- what was asked


def _question(
    process: str,
    limits: str,
    declare: list[str],
    until: str | None,
    medium: str,
    source: str,
    step: str,
    timezone: str | None,
    food: list[str],
) -> _Question:
    """Return what is asked, or stop with one line about the option that cannot be used."""
    from holdwatch.limits import load_limits
    from holdwatch.recordfile import find_timezone

    if timezone is not None:
        find_timezone(timezone)
    if step not in STEPS:
        stop("assess", f"--step {step!r} is none of {', '.join(STEPS)}")
    return _Question(
        process=_process(process),
        limits=load_limits(limits),
        declared=_declared(declare),
        until_ms=None if until is None else instant("assess", "--until", until),
        medium=_choice("--medium", medium, Medium),
        source=_choice("--source", source, Source),
        step=Step(step),
        timezone=timezone,
        food=_food(food),
    )


def _declared(declare: list[str]) -> tuple[Declaration, ...]:
    declared = tuple(declaration("assess", words, tuple(DeclarationKind)) for words in declare)
    ends = sorted({each.at_ms for each in declared if each.kind is DeclarationKind.ENDED})
    if len(ends) > 1:
        told = " and ".join(to_iso(at_ms) for at_ms in ends)
        stop("assess", f"--declare ended is given for {told}: name the one instant at which all of it was gone")
    return declared


def _food(words: list[str]) -> frozenset[Food]:
    facts = frozenset(_choice("--food", word, Food) for word in words)
    said = [fact.value for fact in (Food.RAW_EGG, Food.PASTEURISED_EGG, Food.NO_EGG) if fact in facts]
    if len(said) > 1 and Food.NO_EGG in facts:
        stop("assess", f"--food cannot be {' and '.join(said)} at once")
    return facts


def _process(word: str) -> Process:
    return _choice("--process", word, Process)


def _choice(option: str, word: str, choices: type[_Choice]) -> _Choice:
    try:
        return choices(word)
    except ValueError:
        stop("assess", f"{option} {word!r} is none of {', '.join(choices)}")


# ---------------------------------------------------------------- for a program


def _facts(judgement: "Judgement", file: "RecordFile", limits: "Limits") -> dict[str, Any]:
    return {
        "process": judgement.process.value,
        "limits": judgement.limits,
        "verdict": judgement.verdict.value,
        "clauses": [_clause(clause) for clause in judgement.clauses],
        "readings": {
            "used": judgement.used,
            "first": _iso(judgement.first_ms),
            "last": _iso(judgement.last_ms),
            "rejected": [{"row": row.row, "reason": row.reason} for row in file.rejected],
            "set_aside": [
                {"time": to_iso(reading.at_ms), "temperature_c": reading.celsius, "reason": reading.reason}
                for reading in judgement.set_aside
            ],
        },
        "caution": _caution(judgement, limits),
    }


def _caution(judgement: "Judgement", limits: "Limits") -> str:
    """Return the caution of the code, and which of the figures asked here was not seen in its own text."""
    from holdwatch.limits import Confidence

    asked = {clause.clause for clause in judgement.clauses}
    unseen = [
        f"{figure.clause} ({figure.confidence.value})"
        for _, figure in limits.figures()
        if figure.clause in asked and figure.confidence is not Confidence.SEEN
    ]
    if not unseen:
        return limits.cautions
    return f"{limits.cautions} Not seen in the code's own text: {', '.join(dict.fromkeys(unseen))}."


def _clause(clause: ClauseVerdict) -> dict[str, Any]:
    return {
        "clause": clause.clause,
        "source": clause.source,
        "requires": clause.requires,
        "verdict": clause.verdict.value,
        "started": _bracket(clause.started),
        "due": _bracket(clause.due),
        "reached": _bracket(clause.reached),
        "reason": clause.reason,
    }


def _bracket(bracket: Bracket | None) -> list[str | None]:
    return [None, None] if bracket is None else [_iso(bracket[0]), _iso(bracket[1])]


def _iso(at_ms: int | None) -> str | None:
    return None if at_ms is None else to_iso(at_ms)


# ---------------------------------------------------------------- for a person


def _told(path: Path, judgement: "Judgement", file: "RecordFile", limits: "Limits") -> str:
    """Return the answer in a few lines."""
    lines = [f"{path}: {judgement.process.value} under {limits.title}: {SCREEN[judgement.verdict].upper()}"]
    for clause in judgement.clauses:
        lines += ["", f"  {clause.clause}  {clause.requires}", f"    {SCREEN[clause.verdict]}: {clause.reason}"]
    lines += ["", f"  {_count(judgement.used, 'reading')} judged{_span(judgement)}."]
    if file.rejected:
        rows = [f"line {row.row}: {row.reason}" for row in file.rejected]
        lines.append(f"  {_count(len(rows), 'row')} rejected: {_first_of(rows)}.")
    if judgement.set_aside:
        aside = [f"{to_iso(reading.at_ms)} {reading.reason}" for reading in judgement.set_aside]
        lines.append(f"  {_count(len(aside), 'reading')} set aside: {_first_of(aside)}.")
    return "\n".join([*lines, f"  {_caution(judgement, limits)}"])


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _span(judgement: "Judgement") -> str:
    if judgement.first_ms is None or judgement.last_ms is None:
        return ""
    return f", {to_iso(judgement.first_ms)} to {to_iso(judgement.last_ms)}"


def _first_of(items: list[str]) -> str:
    more = f"; and {len(items) - ROWS_NAMED} more" if len(items) > ROWS_NAMED else ""
    return "; ".join(items[:ROWS_NAMED]) + more
