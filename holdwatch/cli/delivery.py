"""``holdwatch delivery``: what came to the door, measured, taken or refused."""

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

__all__ = ["Came", "delivery_app"]

delivery_app = typer.Typer(help="What came to the door: measured, taken or refused.", no_args_is_help=True)


class Came(StrEnum):
    """As what it came; the words of ``storage.said.DELIVERIES``, and one of which no temperature is asked."""

    COLD = "cold"
    HOT = "hot"
    SHELL_EGGS = "shell-eggs"
    DRY = "dry"


@delivery_app.command("record")
def delivery_record(
    what: Annotated[str, typer.Argument(help="What came.", show_default=False)],
    supplier: Annotated[str, typer.Option("--supplier", metavar="NAME", help="From whom.", show_default=False)],
    taken: Annotated[bool, typer.Option("--taken/--refused", help="Whether it was taken.", show_default=False)],
    reading: Annotated[
        str | None,
        typer.Option(
            "--reading",
            metavar="TEMPERATURE",
            help="Between two packs, or of shell eggs the air around them: 39F.",
            show_default=False,
        ),
    ] = None,
    came: Annotated[
        Came, typer.Option("--as", help="As what it came; of dry goods no temperature is asked.")
    ] = Came.COLD,
    why: Annotated[
        str, typer.Option("--why", help="Why it was refused, or taken beyond the limit.", show_default=False)
    ] = "",
    use_by: Annotated[
        str, typer.Option("--use-by", metavar="DAY", help="The maker's date: 2026-12-01.", show_default=False)
    ] = "",
    lot: Annotated[
        str, typer.Option("--lot", metavar="LOT", help="Begin a batch of it, under this lot.", show_default=False)
    ] = "",
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record a delivery, held against the receiving limits.

    holdwatch delivery record "Whipping cream" --supplier "Front Range Dairy" --reading 39F --taken --lot WC-1124

    holdwatch delivery record "Liquid egg" --supplier "Front Range Dairy" --reading 46F --refused --why "46 °F"
    """
    from holdwatch.cli.times import celsius_of, site_instant
    from holdwatch.storage.deliveries import Delivered, record_delivery
    from holdwatch.storage.register import site_at
    from holdwatch.views.daily import local_date

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        at_ms = site_instant(session, at, now_ms)
        event = record_delivery(
            session,
            Delivered(
                what=what,
                supplier=supplier,
                part=None if came is Came.DRY else f"receiving-{came.value}",
                celsius=None if reading is None else celsius_of(reading),
                taken=taken,
                why=why,
                use_by=use_by,
                lot=lot,
            ),
            at_ms=at_ms,
            now_ms=now_ms,
            today=local_date(at_ms, site_at(session, None).timezone),
            by=recorded_by(by),
        )
        says = str(event.facts.get("says", ""))
    typer.echo(f"{what} is {'taken' if taken else 'refused'}.{f' {says}' if says else ''}")
    if taken and lot:
        typer.echo(f"Batch {lot} is started.")


@delivery_app.command("list")
def delivery_list(
    day: Annotated[
        str, typer.Option("--day", metavar="DAY", help="Of which day: 2026-11-24, today, yesterday.")
    ] = "today",
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the deliveries of a day."""
    from holdwatch.cli.times import local
    from holdwatch.records.span import parse_span
    from holdwatch.storage.register import site_at
    from holdwatch.views.deliveries import delivery_views

    with opened(data) as store, store.read() as session:
        zone = site_at(session, None).timezone
        span = parse_span(day, day, zone, clock.now_ms())
        found = delivery_views(session, span.first_ms, span.last_ms)
    if as_json:
        print_json(
            [
                {
                    "at": iso(each.at_ms),
                    "what": each.what,
                    "supplier": each.supplier,
                    "celsius": each.celsius,
                    "shows": each.mark.value,
                    "clause": each.clause or None,
                    "taken": each.taken,
                    "why": each.why or None,
                    "use_by": each.use_by or None,
                    "lot": each.lot or None,
                    "by": each.by,
                }
                for each in found
            ]
        )
        return
    print_table(
        ("at", "what", "from", "the record shows", "became", "by"),
        [(local(each.at_ms, zone), each.what, each.supplier, each.mark.value, each.became, each.by) for each in found],
        "No delivery was recorded on that day.",
    )
