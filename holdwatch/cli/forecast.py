"""``holdwatch forecast``: when the food of a file of readings will be at a temperature."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from holdwatch.cli.declared import COULD_NOT, complain, declaration, stop
from holdwatch.clock import MS_PER_SECOND, to_iso
from holdwatch.errors import HoldwatchError
from holdwatch.quantities import Scale, Temperature, format_temperature
from holdwatch.readings import Declaration, DeclarationKind, Record, Series

if TYPE_CHECKING:
    from holdwatch.science.forecast import Forecast

__all__ = ["forecast"]

DECLARED = (DeclarationKind.MOVED, DeclarationKind.PLACED, DeclarationKind.LEFT_HEAT)
"""What may be declared: each begins a new piece of the course."""
CAUTION = "A forecast is an estimate of what the readings show; it changes no verdict, and no limit."


@dataclass(frozen=True)
class _Question:
    """What is asked of every file."""

    target: Temperature
    surroundings: Temperature | None
    declared: tuple[Declaration, ...]
    timezone: str | None


def forecast(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="READINGS.csv…", help="CSV with time and temperature_c or temperature_f.", show_default=False
        ),
    ],
    target: Annotated[
        str, typer.Option(metavar="TEMPERATURE", help="The temperature asked for, such as 70F.", show_default=False)
    ],
    surroundings: Annotated[
        str | None,
        typer.Option(
            metavar="TEMPERATURE",
            help="Of the air or the bath that it stands in now, such as 3.5C. Default: not measured.",
            show_default=False,
        ),
    ] = None,
    declare: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KEY=TIME", help=f"What was done when: {', '.join(DECLARED)}. May repeat.", show_default=False
        ),
    ] = None,
    timezone: Annotated[
        str | None,
        typer.Option(metavar="AREA/CITY", help="The zone of times without an offset.", show_default=False),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object a file.")] = False,
) -> None:
    """Say when food that cools will be at a temperature, as things stand at its last reading.

    Exit status: 0 answered, also where the answer is that it will not get there or that nothing can be said yet; 2 a file
    or an option cannot be used.

    Example: holdwatch forecast custard.csv --target 70F --surroundings 3.5C
    """
    question = _question(target, surroundings, declare or [], timezone)
    answered = [_one(path, question, as_json=as_json, several=len(files) > 1) for path in files]
    raise typer.Exit(0 if all(answered) else COULD_NOT)


def _one(path: Path, question: _Question, *, as_json: bool, several: bool) -> bool:
    """Print the forecast of one file, and return whether there was one."""
    from holdwatch.recordfile import find_timezone, read_record_file
    from holdwatch.science.forecast import forecast as look_ahead

    try:
        zone = find_timezone(question.timezone) if question.timezone is not None else None
        file = read_record_file(path, zone)
        made = look_ahead(
            _of_the_food(file.series, question.declared),
            target_c=question.target.celsius,
            now_ms=int(file.series.at_ms[-1]),
            surroundings_c=None if question.surroundings is None else question.surroundings.celsius,
            moved_ms=tuple(declared.at_ms for declared in question.declared),
            scale=question.target.scale,
        )
    except HoldwatchError as problem:
        complain("forecast", str(problem))
        return False
    if as_json:
        facts = _facts(made, question.target)
        typer.echo(json.dumps({"file": str(path), **facts} if several else facts, ensure_ascii=False))
    else:
        typer.echo(_told(path, made, question.target, len(file.rejected)))
    return True


def _of_the_food(series: Series, declared: tuple[Declaration, ...]) -> Series:
    """Leave out what is no temperature, a spike, or a probe that settles."""
    from holdwatch.rules.seen import prepare

    last_ms = int(series.at_ms[-1])
    found = prepare(Record(probe=series, declared=declared), until_ms=last_ms, now_ms=last_ms, out_of_food=False)
    aside = {(reading.at_ms, reading.celsius) for reading in found.set_aside}
    return Series.of(
        pair for pair in zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True) if pair not in aside
    )


# ---------------------------------------------------------------- what was asked


def _question(target: str, surroundings: str | None, declare: list[str], timezone: str | None) -> _Question:
    """Return what is asked, or stop with one line about the option that cannot be used."""
    from holdwatch.recordfile import find_timezone

    try:
        if timezone is not None:
            find_timezone(timezone)
        return _Question(
            target=_temperature("--target", target),
            surroundings=None if surroundings is None else _temperature("--surroundings", surroundings),
            declared=tuple(declaration("forecast", words, DECLARED) for words in declare),
            timezone=timezone,
        )
    except HoldwatchError as problem:
        stop("forecast", str(problem))


def _temperature(option: str, text: str) -> Temperature:
    """Read a temperature that food or air here can have."""
    from holdwatch.science import forecast as science

    try:
        read = Temperature.parse(text)
    except ValueError as problem:
        stop("forecast", f"{option}: {problem}")
    target = option == "--target"
    low = science.TARGET_LOW_C if target else science.SURROUNDINGS_LOW_C
    high = science.TARGET_HIGH_C if target else science.SURROUNDINGS_HIGH_C
    if not low <= read.celsius <= high:
        ends = " to ".join(format_temperature(end, Scale(read.scale), 0) for end in (low, high))
        stop("forecast", f"{option} {read} is outside {ends}, what can be asked of food that cools")
    return read


# ---------------------------------------------------------------- what is answered


def _facts(made: "Forecast", target: Temperature) -> dict[str, Any]:
    return {
        "target": str(target),
        "reaches": made.reaches,
        "expected_at": _iso(made.expected_ms),
        "earliest_at": _iso(made.earliest_ms),
        "latest_at": _iso(made.latest_ms),
        "confidence": made.confidence,
        "reason": made.reason,
    }


def _iso(at_ms: int | None) -> str | None:
    """Write an instant to the second: an estimate has no milliseconds."""
    return None if at_ms is None else to_iso(round(at_ms / MS_PER_SECOND) * MS_PER_SECOND)


def _told(path: Path, made: "Forecast", target: Temperature, rejected: int) -> str:
    """Return the answer in a few lines."""
    if made.reaches is None:
        said = f"no forecast for {target} yet"
    elif not made.reaches or made.expected_ms is None:
        said = f"it will not be at {target} as things stand"
    elif made.earliest_ms == made.latest_ms:
        said = f"at {target} since {_iso(made.expected_ms)}"
    else:
        latest = _iso(made.latest_ms) or "an end that nobody can tell"
        said = (
            f"at {target} about {_iso(made.expected_ms)}; between {_iso(made.earliest_ms)} and {latest} "
            f"in {made.confidence:.0%} of such cases"
        )
    lines = [f"{path}: {said}", f"  {made.reason}."]
    if rejected:
        lines.append(f"  {rejected} {'row' if rejected == 1 else 'rows'} rejected.")
    return "\n".join([*lines, f"  {CAUTION}"])
