"""``holdwatch plan``: the written plan on paper."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import AtOption, ByOption, DataOption, opened, recorded_by

__all__ = ["plan_app"]

plan_app = typer.Typer(help="The written plan on paper.", no_args_is_help=True)


@plan_app.callback()
def plan() -> None:
    """The written plan on paper; its products are changed with holdwatch product."""


@plan_app.command("print")
def plan_print(
    out: Annotated[Path, typer.Option("-o", "--output", help="The PDF to write.")] = Path("plan.pdf"),
    product: Annotated[
        str, typer.Option("--product", metavar="PRODUCT", help="One product alone.", show_default=False)
    ] = "",
    procedure: Annotated[
        bool,
        typer.Option("--procedure", help="Only the written procedure for time as a public health control."),
    ] = False,
    paper: Annotated[Literal["a4", "letter"], typer.Option("--paper", help="The size of the paper.")] = "letter",
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Print the plan in force: every product with its steps, and the procedure for time as a control.

    holdwatch plan print -o plan.pdf

    holdwatch plan print --procedure --paper a4 -o procedure.pdf
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.records.plan_paper import Wanted, print_plan

    now_ms = clock.now_ms()
    with opened(data) as store:
        with store.read() as session:
            at_ms = site_instant(session, at, now_ms)
        wanted = Wanted(product=product, only_procedures=procedure, paper=paper, by=recorded_by(by))
        print_plan(store, out, wanted, at_ms=at_ms, now_ms=now_ms)
    typer.echo(f"{out} is written.")
