"""``holdwatch place``: say which probe watches what."""

from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import AtOption, ByOption, DataOption, opened, recorded_by
from holdwatch.errors import ConfigError

__all__ = ["place"]


def place(
    probe: Annotated[str, typer.Argument(help="The probe: p1.", show_default=False)],
    unit: Annotated[str | None, typer.Option("--unit", help="The unit it watches.", show_default=False)] = None,
    batch: Annotated[
        str | None, typer.Option("--batch", metavar="LOT", help="The batch it watches.", show_default=False)
    ] = None,
    vessel: Annotated[int, typer.Option("--vessel", min=1, help="Which vessel of the batch.")] = 1,
    slowest: Annotated[
        bool, typer.Option("--slowest", help="Declare that this vessel cools slowest: it then speaks for all.")
    ] = False,
    out: Annotated[bool, typer.Option("--out", help="Take it out of where it is.")] = False,
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Place a probe in a unit or in a vessel of a batch; where it was before ends then.

    holdwatch place p1 --unit "Walk-in 1"
    holdwatch place p1 --batch L1 --vessel 2 --slowest --at 14:30
    holdwatch place p1 --out
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage import register

    if [unit is not None, batch is not None, out].count(True) != 1:
        raise ConfigError("say one of --unit NAME, --batch LOT or --out")
    now_ms, who = clock.now_ms(), recorded_by(by)
    with opened(data) as store, store.write() as session:
        found = register.probe_named(session, probe)
        at_ms = site_instant(session, at, now_ms)
        if out:
            register.take_out(session, found, at_ms=at_ms, now_ms=now_ms, by=who)
            typer.echo(f"{probe} is taken out.")
            return
        lot = None if batch is None else register.batch_named(session, batch)
        register.place(
            session,
            found,
            unit=None if unit is None else register.unit_named(session, unit),
            batch=lot,
            vessel=vessel,
            slowest=slowest,
            at_ms=at_ms,
            now_ms=now_ms,
            by=who,
        )
    typer.echo(f"{probe} is placed in {unit or f'batch {batch}, vessel {vessel}'}.")
