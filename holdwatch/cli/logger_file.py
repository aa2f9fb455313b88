"""``holdwatch probe read-file``: a logger's file as evidence, and what it shares with ``batch read-back``."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, opened, recorded_by

if TYPE_CHECKING:
    from holdwatch.recordfile import DateOrder
    from holdwatch.storage.engine import Store
    from holdwatch.storage.logger_files import Imported

__all__ = ["DatesOption", "LeaveOutOption", "order_of", "probe_read_file", "told"]

DatesOption = Annotated[
    Literal["day-first", "month-first"] | None,
    typer.Option("--dates", help="How dates such as 03/04/2026 are meant; nothing is guessed.", show_default=False),
]
LeaveOutOption = Annotated[
    bool, typer.Option("--leave-out", help="Leave out rows that are no readings; which and why is kept.")
]


def probe_read_file(
    file: Annotated[Path, typer.Argument(help="CSV: time and temperature_c or temperature_f.", show_default=False)],
    logger: Annotated[str, typer.Option("--logger", metavar="CODE", help="What the logger or probe is called.")],
    unit: Annotated[
        str | None,
        typer.Option("--unit", help="Where it stood; if not given, where the probe is recorded.", show_default=False),
    ] = None,
    medium: Annotated[
        Literal["food", "air", "product"], typer.Option("--medium", help="What it measured, with --unit.")
    ] = "food",
    dates: DatesOption = None,
    leave_out: LeaveOutOption = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Keep the readings of a logger's file as evidence: judged, sealed, and marked as read from a file.

    holdwatch probe read-file walkin.csv --logger logger-7 --unit "Walk-in 1" --medium air

    Each row is taken, or named with its reason; then the whole file is refused unless --leave-out is said. A time
    without an offset is by the site's clock. For a logger that travelled with a batch: holdwatch batch read-back.
    """
    from holdwatch.storage.logger_files import import_file

    with opened(data) as store:
        found = import_file(
            store,
            file,
            logger=logger,
            medium=medium,
            unit=unit,
            dates=order_of(dates),
            leave_out=leave_out,
            now_ms=clock.now_ms(),
            by=recorded_by(by),
        )
        said = told(store, found, f"of {logger}")
    typer.echo(said)


def order_of(dates: str | None) -> "DateOrder | None":
    """Return how dates are meant, as it was said."""
    from holdwatch.recordfile import DateOrder

    return None if dates is None else DateOrder(dates)


def told(store: "Store", found: "Imported", whose: str) -> str:
    """Say what came of a file, a line for each row that was left out."""
    from holdwatch.cli.times import local
    from holdwatch.storage.register import site_at

    with store.read() as session:
        zone = site_at(session, None).timezone
    file, written = found.file, found.written
    span = f"{local(file.first_ms, zone)} to {local(file.last_ms, zone)}"
    lines = [f"left out, line {each.row}: {each.reason}" for each in file.rejected]
    lines.append(f"{file.name}: {len(file.series):,} readings kept {whose}, {span}; SHA-256 {file.digest}")
    if written.doubles or written.contested:
        lines.append(
            f"Of them {written.doubles:,} were there already, and {written.contested:,} differ from what was there."
        )
    return "\n".join(lines)
