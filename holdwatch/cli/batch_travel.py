"""``holdwatch batch hand-over`` and ``read-back``: off the premises, and the logger that travelled along."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from holdwatch import clock
from holdwatch.cli.batch_note import LotArgument
from holdwatch.cli.common import AtOption, ByOption, DataOption, opened, recorded_by
from holdwatch.cli.logger_file import DatesOption, LeaveOutOption, order_of, told

__all__ = ["batch_hand_over", "batch_read_back"]


def batch_hand_over(
    lot: LotArgument,
    to: Annotated[str, typer.Option("--to", metavar="NAME", help="To whom, or where it was set down.")],
    temperature: Annotated[
        str | None,
        typer.Option("--temperature", metavar="T", help="What a hand thermometer showed: 38F.", show_default=False),
    ] = None,
    vessel: Annotated[
        int | None, typer.Option("--vessel", min=1, help="In which vessel it was taken.", show_default=False)
    ] = None,
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record that a batch was handed over, as to a driver, or set down on somebody's table.

    holdwatch batch hand-over K1 --to "Blue Spruce Hotel, R. Vance" --temperature 39F
    """
    from holdwatch.cli.times import celsius_of, site_instant
    from holdwatch.storage.handover import hand_over
    from holdwatch.storage.register import batch_named

    now_ms = clock.now_ms()
    celsius = None if temperature is None else celsius_of(temperature)
    with opened(data) as store, store.write() as session:
        hand_over(
            session,
            batch_named(session, lot),
            to=to,
            celsius=celsius,
            vessel=vessel,
            at_ms=site_instant(session, at, now_ms),
            now_ms=now_ms,
            by=recorded_by(by),
        )
    typer.echo(f"{lot} was handed over to {to}; end it when all of it is gone: holdwatch batch end {lot}")


def batch_read_back(
    lot: LotArgument,
    file: Annotated[Path, typer.Argument(help="CSV: time and temperature_c or temperature_f.", show_default=False)],
    logger: Annotated[str, typer.Option("--logger", metavar="CODE", help="What the logger is called: logger-7.")],
    medium: Annotated[Literal["food", "air"], typer.Option("--medium", help="What it measured.")] = "food",
    vessel: Annotated[
        int | None, typer.Option("--vessel", min=1, help="The vessel that it was in.", show_default=False)
    ] = None,
    dates: DatesOption = None,
    leave_out: LeaveOutOption = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Read a logger back that travelled with a batch: its readings are judged, and marked with where they come from.

    One line that cannot be read refuses the whole file, and is named, unless --leave-out is said; which lines were left
    out is kept then. A time without an offset is by the site's clock.

    holdwatch batch read-back K1 logger-7.csv --logger logger-7
    """
    from holdwatch.storage.handover import read_back

    with opened(data) as store:
        found = read_back(
            store,
            file,
            lot,
            logger=logger,
            medium=medium,
            vessel=vessel,
            dates=order_of(dates),
            leave_out=leave_out,
            now_ms=clock.now_ms(),
            by=recorded_by(by),
        )
        said = told(store, found, f"for {lot}")
    typer.echo(said)
