"""``holdwatch batch show``: how one batch stands, and by when it is to be gone."""

from typing import Any

import typer

from holdwatch import clock
from holdwatch.cli.batch_note import LotArgument
from holdwatch.cli.common import DataOption, JsonOption, iso, opened, print_json

__all__ = ["batch_show"]


def batch_show(lot: LotArgument, data: DataOption = None, as_json: JsonOption = False) -> None:
    """Show how a batch stands: what the record shows, and by when it is to be gone, with the clause that says so.

    holdwatch batch show L1
    """
    from holdwatch.storage.register import batch_named
    from holdwatch.views.batches import batch_view
    from holdwatch.views.site import site_view

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        site = site_view(session)
        view = batch_view(session, batch_named(session, lot).id or 0, now_ms)
    if view is None:
        raise AssertionError("a batch that has a name can be viewed")
    facts: dict[str, Any] = {
        "lot": view.lot,
        "product": view.product,
        "vessels": view.vessels,
        "amount": view.amount or None,
        "started_at": iso(view.started_ms),
        "ended_at": iso(view.ended_ms),
        "outcome": view.outcome or None,
        "record": view.mark.value,
        "sentence": view.sentence,
        "discard": [
            {"at": iso(each.at_ms), "clause": each.clause, "source": each.source, "why": each.why}
            for each in view.discard
        ],
        "allergens": {"contains": view.allergens.contains, "not_declared_of": list(view.allergens.not_declared)},
        "found_in_parts": [{"finding": each.id, "of": each.title, "kind": each.kind} for each in view.found_in_parts],
        "findings": [{"finding": each.id, "kind": each.kind, "reason": each.reason} for each in view.findings],
    }
    if as_json:
        print_json(facts)
        return
    typer.echo(f"{view.title}: {view.mark.value}. {view.told}")
    if view.amount:
        typer.echo(f"Amount: {view.amount}.")
    for number, each in enumerate(view.discard):
        head = "Discard by" if number == 0 else "       and"
        typer.echo(f"{head} {each.words(site.zone)}: {each.why} ({each.clause}, {each.source})")
    if not view.discard:
        typer.echo("No time to discard it by runs." if view.running else f"Ended: {view.outcome}.")
    typer.echo(f"Allergens: {view.allergens.words}.")
    for found in view.found_in_parts:
        typer.echo(f"In it: {found.title}, finding {found.id}, {found.mark.value}: {found.reason}")
    for found in view.findings:
        typer.echo(f"Finding {found.id}, {found.kind}: {found.reason}")
