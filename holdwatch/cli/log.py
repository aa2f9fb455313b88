"""``holdwatch log``: the inspection log on paper."""

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, opened, recorded_by

__all__ = ["log"]


def log(
    first: Annotated[
        str,
        typer.Option("--from", metavar="DAY", help="The first local day (2026-11-10), or an instant with its offset."),
    ],
    last: Annotated[
        str | None,
        typer.Option(
            "--to", metavar="DAY", show_default=False, help="The last day (all of it), or an instant; else now."
        ),
    ] = None,
    out: Annotated[Path, typer.Option("-o", "--output", help="The PDF to write.")] = Path("log.pdf"),
    paper: Annotated[Literal["a4", "letter"], typer.Option("--paper", help="The size of the paper.")] = "letter",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print the inspection log of a span: limits, units, batches, findings, gaps, and a line for the manager to sign.

    Example: holdwatch log --from 2026-11-10 --to 2026-11-24 -o log.pdf
    """
    from holdwatch.records.log import print_log
    from holdwatch.records.span import parse_span
    from holdwatch.storage.register import site_at

    with opened(data) as store:
        with store.read() as session:
            timezone = site_at(session, None).timezone
        now_ms = clock.now_ms()
        span = parse_span(first, last, timezone, now_ms)
        print_log(
            store,
            span.first_ms,
            span.last_ms,
            out,
            paper=paper,
            by=recorded_by(by),
            now_ms=now_ms,
            told=_progress if sys.stderr.isatty() else None,
        )
    typer.echo(f"{out} is written.")


def _progress(what: str) -> None:
    """Show on one line of the terminal what is being gathered."""
    sys.stderr.write(f"\r\033[K{what}")
    sys.stderr.flush()
