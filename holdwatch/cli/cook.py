"""``holdwatch cook``: what a record of an egg mixture on the heat shows, row by row, and an estimate beside it."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from holdwatch.cli.common import JsonOption
from holdwatch.errors import HoldwatchError
from holdwatch.rules.verdicts import Process

if TYPE_CHECKING:
    from holdwatch.calculators.answer import Answer
    from holdwatch.rules.verdicts import Judgement

__all__ = ["cook"]


def cook(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="READINGS.csv…", help="CSV with time and temperature_c or temperature_f.", show_default=False
        ),
    ],
    egg: Annotated[
        str,
        typer.Option(
            "--egg",
            metavar="MIXTURE",
            show_default=False,
            help="What was cooked: whole-egg, sugared-whole-egg, fortified-whole-egg, scrambled-egg-mix, yolk, "
            "sugared-yolk, salted-yolk, white or sugared-white.",
        ),
    ],
    tolerance: Annotated[
        str, typer.Option("--tolerance", metavar="DEGREES", help="What the probe may be off; it is subtracted.")
    ] = "1C",
    limits: Annotated[
        str, typer.Option("--limits", metavar="LIMITS", help="A code of practice, or the path of a limits file.")
    ] = "us-food-code-2022",
    timezone: Annotated[
        str | None,
        typer.Option(
            "--timezone", metavar="AREA/CITY", help="The zone of times without an offset.", show_default=False
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Hold a cook of an egg mixture against the rows of the code, and estimate what the heat did.

    The verdict is the clause's. The estimate, in decimal reductions of Salmonella, stands beside it and changes nothing.

    Exit status: 0 kept, 1 deviation, 3 not shown, 4 no limit asked, 2 could not judge.

    holdwatch cook anglaise.csv --egg sugared-yolk --tolerance 0.5C
    """
    from holdwatch.cli.assess import WORST_FIRST
    from holdwatch.cli.declared import COULD_NOT, complain

    statuses = []
    for path in files:
        try:
            statuses.append(_cook_one(path, egg, tolerance, limits, timezone, as_json=as_json, several=len(files) > 1))
        except HoldwatchError as problem:
            complain("cook", str(problem))
            statuses.append(COULD_NOT)
    raise typer.Exit(next(status for status in WORST_FIRST if status in statuses))


def _cook_one(
    path: Path, egg: str, tolerance: str, limits: str, timezone: str | None, *, as_json: bool, several: bool
) -> int:
    """Judge one file, print the answer, and return its exit status."""
    from holdwatch.calculators.cook import cook_answer, read_medium
    from holdwatch.cli.answers import tell
    from holdwatch.cli.assess import EXIT_STATUS
    from holdwatch.limits import load_limits
    from holdwatch.measures import difference_c
    from holdwatch.readings import Record, Series
    from holdwatch.recordfile import find_timezone, read_record_file
    from holdwatch.rules.judge import judge

    medium, code, off_c = read_medium(egg), load_limits(limits), difference_c(tolerance)
    series = read_record_file(path, find_timezone(timezone) if timezone is not None else None).series
    judgement = judge(Process.COOK_EGGS, Record(probe=series), code, until_ms=int(series.at_ms[-1]), finished=True)
    aside = {(reading.at_ms, reading.celsius) for reading in judgement.set_aside}
    kept = Series.of(
        pair for pair in zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True) if pair not in aside
    )
    answer = cook_answer(kept, medium, code, tolerance_c=off_c)
    if as_json:
        _print_facts(path, judgement, answer, several=several)
    else:
        typer.echo(_told(path, judgement))
        tell(answer, as_json=False)
    return EXIT_STATUS[judgement.verdict]


def _print_facts(path: Path, judgement: "Judgement", answer: "Answer", *, several: bool) -> None:
    import json

    facts: dict[str, Any] = {
        "process": judgement.process.value,
        "limits": judgement.limits,
        "verdict": judgement.verdict.value,
        "clauses": [
            {
                "clause": clause.clause,
                "source": clause.source,
                "requires": clause.requires,
                "verdict": clause.verdict.value,
                "reason": clause.reason,
            }
            for clause in judgement.clauses
        ],
        "estimate": answer.for_programs(),
    }
    whole = {"file": str(path), **facts} if several else facts
    typer.echo(json.dumps(whole, ensure_ascii=False, indent=2 if sys.stdout.isatty() else None))


def _told(path: Path, judgement: "Judgement") -> str:
    """Return the verdict in a few lines."""
    from holdwatch.cli.assess import SCREEN

    lines = [f"{path}: {SCREEN[judgement.verdict].upper()}"]
    for clause in judgement.clauses:
        lines += [f"  {clause.clause}  {clause.requires}", f"    {SCREEN[clause.verdict]}: {clause.reason}"]
    return "\n".join([*lines, ""])
