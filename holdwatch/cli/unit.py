"""``holdwatch unit``: the walk-ins, display cases, freezers and rooms of the site."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import (
    AtOption,
    ByOption,
    DataOption,
    JsonOption,
    iso,
    opened,
    print_json,
    print_table,
    recorded_by,
    settings_for,
)
from holdwatch.cli.unit_rest import unit_in_use, unit_out_of_use
from holdwatch.errors import ConfigError

__all__ = ["unit_app"]

unit_app = typer.Typer(help="The walk-ins, display cases, freezers and rooms of the site.", no_args_is_help=True)


class Kind(StrEnum):
    """What a unit may be; the words of ``storage.tables.UnitKind``, here so that help needs no database library."""

    WALK_IN = "walk-in"
    REACH_IN = "reach-in"
    DISPLAY_CASE = "display-case"
    FREEZER = "freezer"
    HOT_CABINET = "hot-cabinet"
    BLAST_CHILLER = "blast-chiller"
    ICE_BATH = "ice-bath"
    ROOM = "room"
    VAN = "van"
    INSULATED_BOX = "insulated-box"


@unit_app.command("add")
def unit_add(
    name: Annotated[str, typer.Argument(help='What it is called: "Walk-in 1".', show_default=False)],
    kind: Annotated[Kind, typer.Option("--kind", help="What it is; it decides which limit is asked in it.")],
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Add a unit.

    holdwatch unit add "Walk-in 1" --kind walk-in
    """
    from holdwatch.storage.register import add_unit
    from holdwatch.storage.tables import UnitKind

    with opened(data) as store, store.write() as session:
        add_unit(session, name, UnitKind(kind.value), now_ms=clock.now_ms(), by=recorded_by(by))
    typer.echo(f'{name} is added. Next: holdwatch place PROBE --unit "{name}"')


@unit_app.command("doors")
def unit_doors(
    size: Annotated[str, typer.Option("--size", metavar="SIZE", help="As of holdwatch label.")] = "4x3in",
    out: Annotated[Path, typer.Option("-o", "--output", help="The PDF to write.")] = Path("doors.pdf"),
    data: DataOption = None,
) -> None:
    """Print a sign for the door of each unit: its name, and the code that confirms what was put into it.

    holdwatch unit doors -o doors.pdf
    """
    from holdwatch.records.labels import print_doors

    with opened(data) as store:
        print_doors(store, out, size=size, now_ms=clock.now_ms(), base_url=settings_for(data).base_url)
    typer.echo(f"{out} is written.")


@unit_app.command("eggs")
def unit_eggs(
    name: Annotated[str, typer.Argument(help="The unit.", show_default=False)],
    none: Annotated[bool, typer.Option("--none", help="No shell eggs are kept in it any more.")] = False,
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Declare that shell eggs are kept in a unit: they have a limit for the air around them.

    holdwatch unit eggs "Walk-in 1"
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage.register import unit_named
    from holdwatch.storage.unit_eggs import set_shell_eggs

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        unit = unit_named(session, name)
        at_ms = site_instant(session, at, now_ms)
        set_shell_eggs(session, unit, kept=not none, at_ms=at_ms, now_ms=now_ms, by=recorded_by(by))
    typer.echo(f"{name}: {'no shell eggs are' if none else 'shell eggs are'} kept in it.")


@unit_app.command("lag")
def unit_lag(
    name: Annotated[str, typer.Argument(help="The unit.", show_default=False)],
    length: Annotated[
        str | None,
        typer.Option("--set", metavar="LENGTH", help="How slowly food in it follows: 45min, 2h.", show_default=False),
    ] = None,
    learn: Annotated[bool, typer.Option("--learn", help="Learn it from its probes in air and food.")] = False,
    days: Annotated[int, typer.Option("--days", min=1, max=30, help="How many days to learn from.")] = 3,
    usual: Annotated[bool, typer.Option("--usual", help="Take the usual lag of a small covered pan again.")] = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Say, set or learn how slowly the food in a unit follows its air; its estimate and its warnings go by it.

    holdwatch unit lag "Walk-in 1" --learn
    """
    from holdwatch.calculators.course import read_minutes
    from holdwatch.storage.register import unit_named
    from holdwatch.storage.unit_lag import food_lag, learned_lag, set_food_lag

    if sum((length is not None, learn, usual)) > 1:
        raise ConfigError("--set, --learn and --usual are three ways: take one of them")
    now_ms = clock.now_ms()
    minutes = None if length is None else read_minutes(length)
    how = "set by hand"
    with opened(data) as store:
        if learn:
            with store.read() as session:
                unit = unit_named(session, name)
                learned = learned_lag(session, unit, now_ms - days * clock.MS_PER_DAY, now_ms)
            minutes = learned.made.lag_min
            if minutes is None:
                raise ConfigError(
                    f"{name}: no lag was learned from {learned.air} and {learned.food}: {learned.made.reason}"
                )
            minutes = round(minutes, 1)
            how = (
                f"{learned.made.reason} ({learned.air}, {learned.food}), between {learned.made.low_min:.0f} and "
                f"{learned.made.high_min:.0f} min"
            )
        if minutes is not None or usual:
            with store.write() as session:
                unit = unit_named(session, name)
                set_food_lag(session, unit, minutes, how=how, now_ms=now_ms, by=recorded_by(by))
        with store.read() as session:
            held = food_lag(session, unit_named(session, name).id or 0, now_ms)
    typer.echo(f"{name}: food follows the air with a lag of {held.lag_min:g} min: {held.how}.")


unit_app.command("out-of-use")(unit_out_of_use)
unit_app.command("in-use")(unit_in_use)


@unit_app.command("list")
def unit_list(data: DataOption = None, as_json: JsonOption = False) -> None:
    """List the units and the probes that are placed in them."""
    from holdwatch.storage.register import placements, probes, units

    with opened(data) as store, store.read() as session:
        codes = {probe.id: probe.code for probe in probes(session)}
        rows = [
            {
                "name": unit.name,
                "kind": str(unit.kind),
                "probes": [codes[found.probe_id] for found in placements(session, unit_id=unit.id, open_only=True)],
                "added_at": iso(unit.added_ms),
            }
            for unit in units(session)
        ]
    if as_json:
        print_json(rows)
        return
    print_table(
        ("unit", "kind", "probes"),
        [(str(row["name"]), str(row["kind"]), ", ".join(row["probes"] or ["none"])) for row in rows],
        'No unit yet. Add one: holdwatch unit add "Walk-in 1" --kind walk-in',
    )
