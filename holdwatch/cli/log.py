"""``holdwatch log``: the inspection log on paper."""

from pathlib import Path
from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, PaperOption, ScaleOption, opened, progress, recorded_by

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
    unit: Annotated[
        list[str] | None,
        typer.Option("--unit", metavar="UNIT", show_default=False, help="Only this unit; may be given again."),
    ] = None,
    lot: Annotated[
        list[str] | None,
        typer.Option("--lot", metavar="LOT", show_default=False, help="Only this batch; may be given again."),
    ] = None,
    paper: PaperOption = "letter",
    scale: ScaleOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print the inspection log of a span: limits, units, batches, findings, gaps, and a line for the manager to sign.

    With --unit or --lot it has only these, and its first page says what was left out.

    holdwatch log --from 2026-11-10 --to 2026-11-24 -o log.pdf

    holdwatch log --from 2026-11-10 --unit "Walk-in 1" --lot PC-1124 -o walk-in.pdf
    """
    from holdwatch.quantities import Scale
    from holdwatch.records.choice import Choice
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
            choice=Choice(tuple(unit or ()), tuple(lot or ())),
            paper=paper,
            scale=Scale(scale) if scale else None,
            by=recorded_by(by),
            now_ms=now_ms,
            told=progress(),
        )
    typer.echo(f"{out} is written.")
