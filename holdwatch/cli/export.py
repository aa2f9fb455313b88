"""``holdwatch export``: readings, findings and events for another program."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import DataOption, opened
from holdwatch.errors import ConfigError

export_app = typer.Typer(help="Hand the record over, line by line, as CSV, JSON or Parquet.", no_args_is_help=True)

_Since = Annotated[str | None, typer.Option("--since", help="A local day or an instant; else from the beginning.")]
_Until = Annotated[str | None, typer.Option("--until", help="A local day (all of it) or an instant; else until now.")]
_Form = Annotated[
    Literal["csv", "jsonl", "parquet"],
    typer.Option("--format", help="csv, jsonl (one JSON object a line), or parquet."),
]
_Out = Annotated[Path | None, typer.Option("-o", "--output", help="The file to write; else standard output.")]


@export_app.command("readings")
def export_readings(
    data: DataOption = None,
    since: _Since = None,
    until: _Until = None,
    form: _Form = "csv",
    out: _Out = None,
    probe: Annotated[str | None, typer.Option("--probe", help="Only this probe.")] = None,
) -> None:
    """Write the readings as they came, uncorrected; what each column means is written beside, as NAME.dictionary.json.

    holdwatch export readings --since 2026-11-01 --until 2026-11-30 -o november.csv
    """
    _export("readings", data, (since, until), form, out, probe)


@export_app.command("findings")
def export_findings(
    data: DataOption = None, since: _Since = None, until: _Until = None, form: _Form = "csv", out: _Out = None
) -> None:
    """Write the findings that concern the span, as they stand now."""
    _export("findings", data, (since, until), form, out)


@export_app.command("events")
def export_events(
    data: DataOption = None, since: _Since = None, until: _Until = None, form: _Form = "csv", out: _Out = None
) -> None:
    """Write what was done and declared in the span, by whom, corrected entries too."""
    _export("events", data, (since, until), form, out)


@export_app.command("record")
def export_record(data: DataOption = None, out: _Out = None) -> None:
    """Write the whole record with its chain and seals, for `check_record.py` (see docs/records-format.md)."""
    from holdwatch.records.record import record_lines

    with opened(data) as store:
        _write(record_lines(store), out)


@export_app.command("checker")
def export_checker(out: _Out = None) -> None:
    """Write `check_record.py`, which checks such a file without Holdwatch."""
    from holdwatch.records.record import checker

    _write(iter([checker()]), out)


def _export(
    what: str,
    data: Path | None,
    ends: tuple[str | None, str | None],
    form: str,
    out: Path | None,
    probe: str | None = None,
) -> None:
    """Stream rows to a file, with what its columns mean beside it, or to standard output."""
    from holdwatch.records.export import Format, beside, rows_of, write
    from holdwatch.records.span import parse_span
    from holdwatch.records.write import whole_file
    from holdwatch.storage.register import site_at

    if out is None and form == Format.PARQUET:
        raise ConfigError("a Parquet file cannot be printed: name it with -o")
    with opened(data) as store:
        with store.read() as session:
            timezone = site_at(session, None).timezone
        span = parse_span(*ends, timezone, clock.now_ms())
        about = beside(store, what, Format(form), span)
        rows = rows_of(store, what, span, probe)
        if out is None:
            write(rows, what, Format(form), about, sys.stdout.buffer)
            sys.stdout.buffer.flush()
            return
        with whole_file(out) as file:
            write(rows, what, Format(form), about, file)
        with whole_file(out.with_name(f"{out.name}.dictionary.json")) as file:
            file.write(f"{json.dumps(about, ensure_ascii=False, indent=2)}\n".encode())


def _write(written: Iterator[str], out: Path | None) -> None:
    """Write lines to a file, whole or not at all, or to standard output."""
    from holdwatch.records.write import whole_file

    if out is None:
        for line in written:
            sys.stdout.buffer.write(line.encode())
        sys.stdout.buffer.flush()
        return
    with whole_file(out) as file:
        for line in written:
            file.write(line.encode())
