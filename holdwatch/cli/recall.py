"""``holdwatch recall``: what contains a lot, and what stood in a unit."""

from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import DataOption, JsonOption, iso, opened, print_json, print_table
from holdwatch.errors import ConfigError

__all__ = ["recall"]


def recall(
    lot: Annotated[
        str | None, typer.Option("--lot", metavar="LOT", help="Everything that contains that lot.", show_default=False)
    ] = None,
    unit: Annotated[
        str | None,
        typer.Option(
            "--unit", metavar="NAME", help="Everything that stood in that unit, or may have.", show_default=False
        ),
    ] = None,
    since: Annotated[
        str | None, typer.Option("--from", metavar="TIME", help="From that local day or instant.", show_default=False)
    ] = None,
    until: Annotated[
        str | None, typer.Option("--to", metavar="TIME", help="Until then; if not given, now.", show_default=False)
    ] = None,
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """Answer a recall in one step: what contains a lot, or what stood in a unit between two instants.

    holdwatch recall --lot PC-1124-0900

    holdwatch recall --unit "Walk-in 1" --from 2026-11-24T02:00 --to 2026-11-24T06:30

    Where moves were not recorded a batch *may have stood* anywhere: it is listed so, rather than left out.
    """
    from holdwatch.records.span import parse_span
    from holdwatch.storage.register import batch_named, site_at, unit_named
    from holdwatch.views.inherited import allergens_of
    from holdwatch.views.recall import containing, recall_rows, stood_in

    if (lot is None) == (unit is None):
        raise ConfigError("ask of one thing: --lot LOT, or --unit NAME with --from and --to")
    if unit is not None and since is None:
        raise ConfigError("say from when on: --from 2026-11-24T02:00, or a day")
    with opened(data) as store, store.read() as session:
        zone = site_at(session, None).timezone
        if lot is not None:
            found = containing(session, batch_named(session, lot))
        else:
            span = parse_span(since, until, zone, clock.now_ms())
            found = stood_in(session, unit_named(session, unit or ""), span.first_ms, span.last_ms)
        us_words = site_at(session, None).limits.startswith("us-")
        rows = recall_rows(session, found)
        contains = [allergens_of(session, each.batch, us_words=us_words) for each in found]
    if as_json:
        print_json(
            [
                {
                    "lot": each.batch.lot,
                    "product": each.batch.product,
                    "why": each.why.value,
                    "confirmed": each.confirmed,
                    "usual_place": each.usual,
                    "from": iso(each.from_ms),
                    "to": iso(each.to_ms),
                    "through": list(each.through),
                    "outcome": each.batch.outcome or None,
                    "allergens": {"contains": held.contains, "not_declared_of": list(held.not_declared)},
                }
                for each, held in zip(found, contains, strict=True)
            ]
        )
        return
    print_table(
        ("LOT", "PRODUCT", "WHY", "WHEN", "OUTCOME", "ALLERGENS"),
        [(each.lot, each.product, each.why, each.when, each.outcome, each.allergens) for each in rows],
        "Nothing.",
    )
