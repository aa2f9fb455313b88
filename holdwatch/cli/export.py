"""``holdwatch export``: readings, findings and events for another program."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import DataOption, opened

if TYPE_CHECKING:
    from holdwatch.records.export import Row
    from holdwatch.records.span import Span
    from holdwatch.storage.engine import Store

export_app = typer.Typer(help="Hand the record over, line by line, as CSV or JSON.", no_args_is_help=True)

_Since = Annotated[str | None, typer.Option("--since", help="A local day or an instant; else from the beginning.")]
_Until = Annotated[str | None, typer.Option("--until", help="A local day (all of it) or an instant; else until now.")]
_Form = Annotated[Literal["csv", "jsonl"], typer.Option("--format", help="csv, or jsonl: one JSON object a line.")]
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
    """Write the readings as they came: probe, at, celsius (the raw value), received_at, and what is known of them."""
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
    """Stream rows to a file or to standard output."""
    from holdwatch.records.export import COLUMNS, Format, lines
    from holdwatch.records.span import parse_span
    from holdwatch.storage.register import site_at

    with opened(data) as store:
        with store.read() as session:
            timezone = site_at(session, None).timezone
        span = parse_span(*ends, timezone, clock.now_ms())
        _write(lines(_rows(store, what, span, probe), Format(form), COLUMNS[what]), out)


def _rows(store: "Store", what: str, span: "Span", probe: str | None) -> "Iterator[Row]":
    """Return the rows asked for."""
    from holdwatch.records.export import event_rows, finding_rows, reading_rows
    from holdwatch.storage.register import probe_named

    if what == "findings":
        return finding_rows(store, span)
    if what == "events":
        return event_rows(store, span)
    if probe is None:
        return reading_rows(store, span)
    with store.read() as session:
        return reading_rows(store, span, probe_named(session, probe))


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
