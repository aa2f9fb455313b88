"""``holdwatch days``: going over days that are over, and signing them."""

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, JsonOption, iso, opened, print_json
from holdwatch.cli.signing import SignOption, signer_for
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from holdwatch.views.days_reviewed import DaysView

__all__ = ["days"]


def days(
    first: Annotated[
        str, typer.Argument(metavar="DAY", help="A local day that is over: 2026-11-24, or yesterday.")
    ] = "yesterday",
    last: Annotated[
        str | None, typer.Option("--to", metavar="DAY", show_default=False, help="The last of several days.")
    ] = None,
    reviewed: Annotated[
        bool, typer.Option("--reviewed", help="Record that --by has gone over them; a manager signs it with the PIN.")
    ] = False,
    sign: SignOption = False,
    text: Annotated[str, typer.Option("--text", help="In words.", show_default=False)] = "",
    data: DataOption = None,
    by: ByOption = "",
    as_json: JsonOption = False,
) -> None:
    """Go over days that are over: what is not in order first, whether they were reviewed, and what changed since.

    holdwatch days yesterday

    holdwatch days 2026-11-17 --to 2026-11-23 --reviewed --by IO --sign
    """
    from holdwatch.cli.times import local
    from holdwatch.storage.day_reviews import review_days
    from holdwatch.storage.register import site_at
    from holdwatch.views.daily import local_date
    from holdwatch.views.days_reviewed import days_view

    now_ms = clock.now_ms()
    with opened(data) as store:
        with store.read() as session:
            zone = site_at(session, None).timezone
        today = local_date(now_ms, zone)
        ends = _day(first, today), _day(last or first, today)
        if sign and not reviewed:
            raise ConfigError("what is signed is that the days were reviewed: say --reviewed with --sign")
        if reviewed:
            signer = signer_for(store, by, sign)
            with store.write() as session:
                review_days(
                    session,
                    ends[0].isoformat(),
                    ends[1].isoformat(),
                    ended_before=today.isoformat(),
                    by=signer.by,
                    manager=signer.person if signer.signed else None,
                    text=text,
                    now_ms=now_ms,
                )
        with store.read() as session:
            view = days_view(session, *ends, now_ms)
    if as_json:
        print_json(_facts(view))
        return
    for line in view.not_in_order:
        number = "" if line.finding_id is None else f"  (finding {line.finding_id})"
        typer.echo(f"NOT IN ORDER  {line.about}: {line.words}{number}")
    typer.echo("; ".join(view.in_order) + ".")
    if view.reviewed is None:
        typer.echo("Nobody has reviewed these days: holdwatch days … --reviewed --by NAME --sign")
        return
    unsigned = "" if view.reviewed.signed else ", unsigned"
    typer.echo(f"Reviewed by {view.reviewed.by}{unsigned}, {local(view.reviewed.at_ms, zone)}.")
    for changed in view.changed:
        typer.echo(f"CHANGED SINCE  {changed}")


def _day(text: str, today: date) -> date:
    from datetime import timedelta

    if text.strip().lower() == "yesterday":
        return today - timedelta(days=1)
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise ConfigError(f"{text!r} is no day: write 2026-11-24, or yesterday") from None


def _facts(view: "DaysView") -> dict[str, object]:
    done = view.reviewed
    return {
        "first_day": view.first_day,
        "last_day": view.last_day,
        "not_in_order": [{"about": e.about, "words": e.words, "finding": e.finding_id} for e in view.not_in_order],
        "in_order": list(view.in_order),
        "reviewed": None if done is None else {"by": done.by, "at": iso(done.at_ms), "signed": done.signed},
        "changed_since": list(view.changed),
    }
