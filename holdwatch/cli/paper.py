"""``holdwatch paper``: the papers of the record beside the inspection log."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, PaperOption, ScaleOption, opened, progress, recorded_by

if TYPE_CHECKING:
    from holdwatch.records.kinds import Kind

__all__ = ["paper_app"]

paper_app = typer.Typer(
    help="Papers of the record: a batch, a day, findings and actions, checks of probes, a blank sheet.",
    no_args_is_help=True,
)
_First = Annotated[
    str, typer.Option("--from", metavar="DAY", help="The first local day (2026-11-10), or an instant with its offset.")
]
_Last = Annotated[
    str | None,
    typer.Option("--to", metavar="DAY", show_default=False, help="The last day (all of it), or an instant; else now."),
]
_Out = Annotated[Path, typer.Option("-o", "--output", help="The PDF to write.")]


@paper_app.callback()
def paper() -> None:
    """Papers of the record beside the inspection log (holdwatch log), the plan (plan print) and labels (label)."""


@paper_app.command("batch")
def paper_batch(
    lots: Annotated[list[str], typer.Argument(metavar="LOT…", help="The batches by their lots.", show_default=False)],
    out: _Out = Path("batch.pdf"),
    size: PaperOption = "letter",
    scale: ScaleOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print all that is on record of a batch: curve, verdicts, parts, discard times, findings, a line to sign.

    holdwatch paper batch PC-1124 -o PC-1124.pdf
    """
    from holdwatch.quantities import Scale
    from holdwatch.records.log import print_batches

    with opened(data) as store:
        told = progress()
        print_batches(
            store,
            tuple(lots),
            out,
            paper=size,
            scale=Scale(scale) if scale else None,
            by=recorded_by(by),
            now_ms=clock.now_ms(),
            told=told,
        )
    typer.echo(f"{out} is written.")


@paper_app.command("day")
def paper_day(
    day: Annotated[
        str, typer.Argument(metavar="DAY", help="The local day: 2026-11-24, today or yesterday.")
    ] = "yesterday",
    out: _Out = Path("day.pdf"),
    size: PaperOption = "letter",
    scale: ScaleOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print a day's sheet, as short as it can be: units, batches, findings, deliveries, the round, a line to sign.

    holdwatch paper day 2026-11-24 -o day.pdf
    """
    from holdwatch.records.kinds import DAY

    _print(DAY, day, day, out, size, scale, data, by)


@paper_app.command("findings")
def paper_findings(
    first: _First,
    last: _Last = None,
    out: _Out = Path("findings.pdf"),
    size: PaperOption = "letter",
    scale: ScaleOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print the findings of a span with every version, every alert, and what was done by whom.

    holdwatch paper findings --from 2026-11-10 --to 2026-11-24 -o findings.pdf
    """
    from holdwatch.records.kinds import FINDINGS

    _print(FINDINGS, first, last, out, size, scale, data, by)


@paper_app.command("checks")
def paper_checks(
    first: _First,
    last: _Last = None,
    out: _Out = Path("checks.pdf"),
    size: PaperOption = "letter",
    scale: ScaleOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print the calibration log of a span: every check with its actual values, corrections, and what is due.

    holdwatch paper checks --from 2026-01-01 -o checks.pdf
    """
    from holdwatch.records.kinds import CHECKS

    _print(CHECKS, first, last, out, size, scale, data, by)


@paper_app.command("blank")
def paper_blank(
    out: _Out = Path("blank.pdf"),
    pages: Annotated[int, typer.Option("--pages", help="How many ruled pages, from 1 to 50.")] = 2,
    size: PaperOption = "letter",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print a blank log sheet for the day the power is out: what is asked, in words, and ruled lines.

    holdwatch paper blank --pages 4 -o blank.pdf
    """
    from holdwatch.records.blank_sheet import print_blank

    with opened(data) as store:
        print_blank(store, out, pages=pages, paper=size, by=recorded_by(by), now_ms=clock.now_ms())
    typer.echo(f"{out} is written.")


def _print(
    kind: "Kind", first: str, last: str | None, out: Path, size: str, scale: str | None, data: Path | None, by: str
) -> None:
    """Print a paper of a span."""
    from holdwatch.quantities import Scale
    from holdwatch.records.log import print_log
    from holdwatch.records.span import parse_span
    from holdwatch.storage.register import site_at

    now_ms = clock.now_ms()
    with opened(data) as store:
        with store.read() as session:
            timezone = site_at(session, None).timezone
        span = parse_span(first, last, timezone, now_ms)
        print_log(
            store,
            span.first_ms,
            span.last_ms,
            out,
            kind=kind,
            paper=size,
            scale=Scale(scale) if scale else None,
            by=recorded_by(by),
            now_ms=now_ms,
            told=progress(),
        )
    typer.echo(f"{out} is written.")
