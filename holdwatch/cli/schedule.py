"""``holdwatch schedule``: when to begin what, for a cake to be ready in time."""

from typing import Annotated

import typer

from holdwatch.cli.common import DataOption, JsonOption
from holdwatch.cli.cool_faster import place_option
from holdwatch.cli.site_facts import CodeOption

__all__ = ["schedule"]

CANNOT = 1


def schedule(
    cake: Annotated[
        str,
        typer.Argument(
            metavar="CAKE", help="cream-cake, buttercream-cake, or the path of a file like theirs (--show)."
        ),
    ] = "cream-cake",
    serve: Annotated[
        str | None,
        typer.Option(
            "--serve", metavar="TIME", show_default=False, help="When it is served: 2026-11-28T18:00, or 18:00 today."
        ),
    ] = None,
    layers_out: Annotated[
        str | None,
        typer.Option(
            "--layers-out",
            metavar="TIME",
            show_default=False,
            help="When the layers came out of the oven: plan on from there.",
        ),
    ] = None,
    earliest: Annotated[
        str, typer.Option("--earliest", metavar="TIME", help="Before which nothing can begin any more.")
    ] = "now",
    show: Annotated[bool, typer.Option("--show", help="Print the file of the cake, to copy and change.")] = False,
    timezone: Annotated[
        str | None,
        typer.Option(
            "--timezone",
            metavar="AREA/CITY",
            show_default=False,
            help="The zone of times without an offset; if not given, the site's.",
        ),
    ] = None,
    limits: CodeOption = None,
    bench: Annotated[str | None, place_option("bench", "in the room")] = None,
    walk_in: Annotated[str | None, place_option("walk-in", "in the walk-in or refrigerator")] = None,
    freezer: Annotated[str | None, place_option("freezer", "in the freezer")] = None,
    blast_chiller: Annotated[str | None, place_option("blast-chiller", "in the blast chiller")] = None,
    ice_bath: Annotated[str | None, place_option("ice-bath", "in the ice bath")] = None,
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """Reckon a cake back from its serving: bake, cool, cook the filling, cool, assemble, set, display.

    With --layers-out: when the layers are cool enough to fill, and when to start the filling. Each cooling counts with
    the slow end of its estimate; what the code asks of cooling, and of food out of temperature control, is held
    against it.

    Exit status: 0 there is a plan, 1 it cannot be done, with the reasons.

    holdwatch schedule cream-cake --serve 2026-11-28T18:00 --timezone America/Denver
    """
    from holdwatch import clock
    from holdwatch.calculators.cakes import cake_text, read_cake
    from holdwatch.calculators.schedule import schedule_answer
    from holdwatch.calculators.scheduling import schedule as plan_of
    from holdwatch.cli.answers import tell
    from holdwatch.cli.cool_faster import places_known
    from holdwatch.cli.site_facts import site_facts
    from holdwatch.cli.times import planned
    from holdwatch.errors import ConfigError
    from holdwatch.recordfile import find_timezone

    if show:
        typer.echo(cake_text(cake), nl=False)
        return
    read, known = read_cake(cake), places_known(bench, walk_in, freezer, blast_chiller, ice_bath)
    if serve is None and layers_out is None:
        raise ConfigError(
            "say when it is served (--serve 18:00), or when the layers came out of the oven (--layers-out)"
        )
    site = site_facts(data, limits)
    zone = timezone or site.timezone
    if zone is None:
        raise ConfigError("without a site there is no zone: name it, such as --timezone America/Denver")
    found, now_ms = find_timezone(zone), clock.now_ms()

    def at(text: str | None) -> int | None:
        return None if text is None else planned(text, zone, now_ms)

    plan = plan_of(
        read,
        site.limits,
        serve_ms=at(serve),
        layers_out_ms=at(layers_out),
        earliest_ms=planned(earliest, zone, now_ms),
        celsius=known,
    )
    tell(schedule_answer(read, plan, site.limits, found), as_json=as_json)
    if plan.cannot:
        raise typer.Exit(CANNOT)
