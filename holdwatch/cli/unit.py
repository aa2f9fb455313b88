"""``holdwatch unit``: the walk-ins, display cases, freezers and rooms of the site."""

from enum import StrEnum
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
)

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
