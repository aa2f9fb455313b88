"""``holdwatch round``: opening and closing, gone through and recorded."""

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, JsonOption, iso, opened, print_json, recorded_by
from holdwatch.language import N_

if TYPE_CHECKING:
    from collections.abc import Sequence

    from holdwatch.views.daily import Part

__all__ = ["round_app"]

round_app = typer.Typer(help="Opening and closing: what to look at, gone through and recorded.", no_args_is_help=True)

_Done = Annotated[bool, typer.Option("--done", help="Record that all of it was gone through.")]
_Words = Annotated[str, typer.Option("--text", help="What else is to be said of it.", show_default=False)]


@round_app.command("closing")
def round_closing(
    back: Annotated[
        str | None,
        typer.Option(
            "--back",
            metavar="TIME",
            help="When somebody is there again: 06:00; if not given, the time of the last opening, else 06:00.",
            show_default=False,
        ),
    ] = None,
    done: _Done = False,
    text: _Words = "",
    data: DataOption = None,
    by: ByOption = "",
    as_json: JsonOption = False,
) -> None:
    """List what will not make it through the night, and what to do about it before the last person leaves.

    holdwatch round closing --back 05:30

    holdwatch round closing --done --by Ines
    """
    from holdwatch.cli.times import local
    from holdwatch.storage.daily import record_round
    from holdwatch.storage.register import site_at
    from holdwatch.storage.tables import EventKind
    from holdwatch.views.closing import closing, comes_back
    from holdwatch.views.daily import read_back, stood

    now_ms = clock.now_ms()
    with opened(data) as store:
        with store.read() as session:
            zone = site_at(session, None).timezone
            back_ms = comes_back(session, now_ms) if back is None else read_back(back, now_ms, zone)
            parts = closing(session, now_ms, back_ms)
        if done:
            with store.write() as session:
                record_round(
                    session,
                    EventKind.CLOSING,
                    stood(parts),
                    at_ms=now_ms,
                    now_ms=now_ms,
                    by=recorded_by(by),
                    text=text,
                    back_ms=back_ms,
                )
    if as_json:
        print_json({"back": iso(back_ms), "recorded": done, "parts": _facts(parts)})
        return
    typer.echo(f"Closing; somebody is there again {local(back_ms, zone)}.")
    _tell(parts)
    typer.echo(_end(done, by, "closing"))


@round_app.command("opening")
def round_opening(
    done: _Done = False, text: _Words = "", data: DataOption = None, by: ByOption = "", as_json: JsonOption = False
) -> None:
    """List what the night did, what must go, and which date marks end today.

    holdwatch round opening --done --by Tomas
    """
    from holdwatch.storage.daily import record_round
    from holdwatch.storage.tables import EventKind
    from holdwatch.views.daily import stood
    from holdwatch.views.opening import looks_back, opening

    now_ms = clock.now_ms()
    with opened(data) as store:
        with store.read() as session:
            since_ms, said = looks_back(session, now_ms)
            parts = opening(session, now_ms)
        if done:
            with store.write() as session:
                record_round(
                    session,
                    EventKind.OPENING,
                    stood(parts),
                    at_ms=now_ms,
                    now_ms=now_ms,
                    by=recorded_by(by),
                    text=text,
                )
    if as_json:
        print_json({"since": iso(since_ms), "recorded": done, "parts": _facts(parts)})
        return
    typer.echo(f"Opening. {said}")
    _tell(parts)
    typer.echo(_end(done, by, "opening"))


@round_app.command("nothing-cooled")
def round_nothing_cooled(
    day: Annotated[
        str | None,
        typer.Option(
            "--day", metavar="DAY", help="Of which day, as 2026-11-24; if not given, today.", show_default=False
        ),
    ] = None,
    text: _Words = "",
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record that nothing was cooled on a day, so that an empty day is explained.

    holdwatch round nothing-cooled --text "closed for the holiday" --by Ines
    """
    from holdwatch.storage.daily import say_nothing_cooled
    from holdwatch.storage.register import site_at
    from holdwatch.storage.said import check_day
    from holdwatch.views.daily import day_bounds, local_date

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        zone = site_at(session, None).timezone
        of = local_date(now_ms, zone) if not day else date.fromisoformat(check_day(N_("day"), day))
        say_nothing_cooled(session, of, day_bounds(of, zone), now_ms=now_ms, by=recorded_by(by), text=text)
    typer.echo(f"For {of.isoformat()} it is recorded that nothing was cooled.")


def _tell(parts: "Sequence[Part]") -> None:
    for part in parts:
        typer.echo(f"\n{part.title}")
        if not part.lines:
            typer.echo(f"   {part.none}")
        for line in part.lines:
            typer.echo(f"   {line.about}: {line.words}")
            if line.todo:
                typer.echo(f"      {line.todo}")


def _facts(parts: "Sequence[Part]") -> list[dict[str, object]]:
    """Return the lines for a program."""
    return [
        {"part": part.title, "about": line.about, "words": line.words, "todo": line.todo}
        for part in parts
        for line in part.lines
    ]


def _end(done: bool, by: str, what: str) -> str:
    if done:
        return f"\nRecorded: {what} gone through by {recorded_by(by)}."
    return f"\nNot recorded yet: holdwatch round {what} --done --by NAME"
