"""``holdwatch visit``: an officer's visit, with their readings, samples, notice, and food detained."""

from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import AtOption, ByOption, DataOption, JsonOption, iso, opened, print_json, recorded_by

__all__ = ["visit_app"]

visit_app = typer.Typer(help="An officer's visit: readings, samples, notice, food detained.", no_args_is_help=True)

_Number = Annotated[
    int, typer.Argument(metavar="VISIT", help="Its number; holdwatch visit list lists them.", show_default=False)
]
_Lot = Annotated[str, typer.Argument(metavar="LOT", help="The lot of the batch.", show_default=False)]
_Words = Annotated[str, typer.Option("--text", help="In words.", show_default=False)]


@visit_app.command("record")
def visit_record(
    officer: Annotated[str, typer.Option("--officer", metavar="NAME", help="Who came.", show_default=False)],
    authority: Annotated[str, typer.Option("--authority", metavar="NAME", help="From where.", show_default=False)],
    sample: Annotated[
        list[str] | None, typer.Option("--sample", help="What they took along; once for each.", show_default=False)
    ] = None,
    notice: Annotated[str, typer.Option("--notice", help="What they gave in writing.", show_default=False)] = "",
    next_visit: Annotated[
        str, typer.Option("--next", metavar="DAY", help="When they come again: 2026-12-01.", show_default=False)
    ] = "",
    text: _Words = "",
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record an officer's visit; its number is for their readings and what they detain.

    holdwatch visit record --officer "J. Ortiz" --authority "Denver Public Health" --sample "custard B-0412, 200 g"
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage.visits import record_visit

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        at_ms = site_instant(session, at, now_ms)
        visit = record_visit(
            session,
            officer,
            authority,
            samples=sample or (),
            notice=notice,
            next_visit=next_visit,
            text=text,
            at_ms=at_ms,
            now_ms=now_ms,
            by=recorded_by(by),
        )
        number = visit.id
    typer.echo(f"Visit {number} is recorded.")


@visit_app.command("reading")
def visit_reading(
    number: _Number,
    value: Annotated[str, typer.Argument(metavar="TEMPERATURE", help="What they read: 41.5F.", show_default=False)],
    lot: Annotated[str | None, typer.Option("--lot", help="Of which batch.", show_default=False)] = None,
    vessel: Annotated[int | None, typer.Option("--vessel", min=1, help="Of which vessel.", show_default=False)] = None,
    unit: Annotated[str | None, typer.Option("--unit", help="Or in which unit.", show_default=False)] = None,
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record what the officer measured; it stands beside the probe's, with the difference, and judges nothing.

    holdwatch visit reading 412 41.5F --lot B-0412
    """
    from holdwatch.cli.times import celsius_of, site_instant
    from holdwatch.storage.register import batch_named, unit_named
    from holdwatch.storage.visits import officer_reading, visit_numbered
    from holdwatch.views.site import site_view
    from holdwatch.views.visits import visit_views

    now_ms, celsius = clock.now_ms(), celsius_of(value)
    with opened(data) as store, store.write() as session:
        visit = visit_numbered(session, number)
        officer_reading(
            session,
            visit,
            celsius,
            batch=None if lot is None else batch_named(session, lot),
            vessel=vessel,
            unit=None if unit is None else unit_named(session, unit),
            at_ms=site_instant(session, at, now_ms),
            now_ms=now_ms,
            by=recorded_by(by),
        )
        site = site_view(session)
        (view,) = [each for each in visit_views(session, visit.at_ms, visit.at_ms, site) if each.id == number]
        said = view.readings[-1].words(site)
    typer.echo(f"Recorded: {said}.")


@visit_app.command("detain")
def visit_detain(
    number: _Number, lot: _Lot, text: _Words = "", at: AtOption = None, data: DataOption = None, by: ByOption = ""
) -> None:
    """Record that a batch is detained: it cannot be used, divided or ended before its release is recorded.

    holdwatch visit detain 412 B-0412 --text "until the sample is back"
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage.register import batch_named
    from holdwatch.storage.visits import detain, visit_numbered

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        at_ms, visit = site_instant(session, at, now_ms), visit_numbered(session, number)
        detain(session, visit, batch_named(session, lot), at_ms=at_ms, now_ms=now_ms, by=recorded_by(by), text=text)
    typer.echo(f"{lot} is detained. When it is released: holdwatch visit release {lot} --text WHO")


@visit_app.command("release")
def visit_release(
    lot: _Lot, text: _Words = "", at: AtOption = None, data: DataOption = None, by: ByOption = ""
) -> None:
    """Record that a detained batch was released, by whom and how.

    holdwatch visit release B-0412 --text "J. Ortiz, by letter of 1 December"
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage.register import batch_named
    from holdwatch.storage.visits import release

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        at_ms = site_instant(session, at, now_ms)
        release(session, batch_named(session, lot), text, at_ms=at_ms, now_ms=now_ms, by=recorded_by(by))
    typer.echo(f"{lot} is released.")


@visit_app.command("list")
def visit_list(data: DataOption = None, as_json: JsonOption = False) -> None:
    """List the visits with all that was recorded of each."""
    from holdwatch.cli.times import local
    from holdwatch.views.site import site_view
    from holdwatch.views.visits import visit_views

    with opened(data) as store, store.read() as session:
        site = site_view(session)
        found = visit_views(session, 0, clock.now_ms(), site)
    if as_json:
        print_json(
            [
                {
                    "visit": each.id,
                    "at": iso(each.at_ms),
                    "officer": each.officer,
                    "authority": each.authority,
                    "next_visit": each.next_visit or None,
                    "lines": each.lines(site),
                    "by": each.by,
                }
                for each in found
            ]
        )
        return
    for each in found:
        typer.echo(f"{each.id}  {local(each.at_ms, site.zone)}  {each.officer}, {each.authority} ({each.by})")
        for line in each.lines(site):
            typer.echo(f"   {line}")
    if not found:
        typer.echo("No visit was recorded.")
