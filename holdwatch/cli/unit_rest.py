"""``holdwatch unit out-of-use`` and ``in-use``: silence and warmth that are meant."""

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import AtOption, ByOption, DataOption, opened, recorded_by
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from sqlmodel import Session

    from holdwatch.storage.tables import Unit

__all__ = ["Why", "unit_in_use", "unit_out_of_use"]


class Why(StrEnum):
    """Why a unit is out of use; the words of ``storage.out_of_use.Purpose``."""

    EMPTY = "empty"
    CLEANED = "cleaned"
    DEFROSTED = "defrosted"
    CLOSED = "closed"
    REPAIRED = "repaired"


_Name = Annotated[str | None, typer.Argument(help="The unit; or give --all.", show_default=False)]
_All = Annotated[bool, typer.Option("--all", help="Every unit: the kitchen is closed.")]


def unit_out_of_use(
    name: _Name = None,
    why: Annotated[Why, typer.Option("--why", help="Why nothing is asked of it.")] = Why.EMPTY,
    since: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="TIME", help="Since or from when, also ahead; if not given, now.", show_default=False
        ),
    ] = None,
    until: Annotated[
        str | None,
        typer.Option("--to", metavar="TIME", help="Until when; if not given, until unit in-use.", show_default=False),
    ] = None,
    text: Annotated[str, typer.Option("--text", help="What else is to be said of it.", show_default=False)] = "",
    everything: _All = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Declare that a unit is out of use: empty, cleaned, defrosted on purpose, or the kitchen is closed.

    holdwatch unit out-of-use "Walk-in 1" --why cleaned --from 2026-11-24T22:00 --to 2026-11-25T05:30

    holdwatch unit out-of-use --all --why closed --from 2026-12-24T15:00 --to 2026-12-27T05:00

    Nobody is alarmed by it meanwhile. Food that is recorded as standing in it keeps its own limits. Declared afterwards
    it explains what was found, and erases nothing.
    """
    from holdwatch.cli.times import planned
    from holdwatch.storage.out_of_use import take_out_of_use
    from holdwatch.storage.register import site_at, units
    from holdwatch.views.resting import warning

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        unit, zone = _unit(session, name, everything), site_at(session, None).timezone
        from_ms = now_ms if since is None else planned(since, zone, now_ms)
        to_ms = None if until is None else planned(until, zone, now_ms)
        take_out_of_use(
            session, unit, why.value, from_ms=from_ms, to_ms=to_ms, now_ms=now_ms, by=recorded_by(by), text=text
        )
        concerned = units(session) if unit is None else [unit]
        warned = {each.name: warning(session, each, max(from_ms, now_ms)) for each in concerned}
    typer.echo(f"{name or 'Every unit'} is out of use: {why.value}.")
    for each, words in warned.items():
        if words:
            typer.echo(f"{each}: {words}")


def unit_in_use(
    name: _Name = None, everything: _All = False, at: AtOption = None, data: DataOption = None, by: ByOption = ""
) -> None:
    """Declare that a unit is back in use: from then on its limits are asked again.

    holdwatch unit in-use "Walk-in 1" --at 05:30
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage.out_of_use import back_in_use

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        unit = _unit(session, name, everything)
        back_in_use(session, unit, at_ms=site_instant(session, at, now_ms), now_ms=now_ms, by=recorded_by(by))
    typer.echo(f"{name or 'Every unit'} is back in use.")


def _unit(session: "Session", name: str | None, everything: bool) -> "Unit | None":
    """Return the unit that is named, ``None`` for all of them."""
    from holdwatch.storage.register import unit_named

    if (name is None) != everything:
        raise ConfigError('name one unit, such as "Walk-in 1", or give --all')
    return None if name is None else unit_named(session, name)
