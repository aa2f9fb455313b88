"""``holdwatch label``: labels of batches, and cooling tags for their pans."""

from pathlib import Path
from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import DataOption, opened, settings_for

__all__ = ["label"]


def label(
    lots: Annotated[list[str], typer.Argument(metavar="LOT...", help="The lots to label.", show_default=False)],
    cooling: Annotated[
        bool, typer.Option("--cooling", help="Cooling tags for the pans: by when at which temperature.")
    ] = False,
    size: Annotated[
        str,
        typer.Option(
            "--size",
            metavar="SIZE",
            help="57mm (a roll of any width), 2x3in or 50x76mm (width by height), letter/3x10 or a4/3x8 (on a sheet).",
        ),
    ] = "57mm",
    vessel: Annotated[
        int | None, typer.Option("--vessel", min=1, help="Of one vessel alone.", show_default=False)
    ] = None,
    copies: Annotated[int, typer.Option("--copies", min=1, max=200, help="How many of each.")] = 1,
    out: Annotated[Path, typer.Option("-o", "--output", help="The PDF to write.")] = Path("labels.pdf"),
    data: DataOption = None,
) -> None:
    """Print labels: product, lot, made, discard by, allergens, initials, and a code that opens the batch's page.

    holdwatch label L1 --copies 6
    holdwatch label L1 --cooling --size 2x3in -o tags.pdf
    """
    from holdwatch.records.labels import LabelWanted, print_labels

    wanted = LabelWanted(lots, "cooling-tag" if cooling else "label", size, vessel, copies)
    with opened(data) as store:
        print_labels(store, out, wanted, now_ms=clock.now_ms(), base_url=settings_for(data).base_url)
    typer.echo(f"{out} is written.")
