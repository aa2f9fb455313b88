"""``holdwatch keep``: how long what is kept, and thinning old readings by a manager's word."""

from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, JsonOption, opened, print_json, print_table, progress
from holdwatch.cli.signing import SignOption, signer_for
from holdwatch.errors import ConfigError

__all__ = ["keep_app"]

keep_app = typer.Typer(help="How long what is kept; thinning old readings.", no_args_is_help=True)


@keep_app.command("show")
def keep_show(data: DataOption = None, as_json: JsonOption = False) -> None:
    """Tell how long each kind of record is kept, by which law at least, and what was said about it since when.

    holdwatch keep show
    """
    from holdwatch.cli.times import local
    from holdwatch.storage.keeping import KEPT, keeping_history, keeping_of, period_words
    from holdwatch.storage.register import site_at

    with opened(data) as store, store.read() as session:
        kept = [keeping_of(session, kind) for kind in KEPT]
        history, zone = keeping_history(session), site_at(session, None).timezone
    if as_json:
        print_json(
            [
                {
                    "kind": each.kind.value,
                    "holds": KEPT[each.kind].what,
                    "days": each.days,
                    "floor_days": KEPT[each.kind].floor_days,
                    "laws": list(KEPT[each.kind].laws),
                    "by": each.by or None,
                }
                for each in kept
            ]
        )
        return
    for each in kept:
        holds = KEPT[each.kind]
        floor = "" if holds.floor_days is None else f", never less than {period_words(holds.floor_days)}"
        typer.echo(f"{each.kind.value}: {period_words(each.days)}{floor}. {holds.what[:1].upper()}{holds.what[1:]}.")
        for law in holds.laws:
            typer.echo(f"    {law}")
    typer.echo("Nothing is taken away by itself: holdwatch keep thin says what could be.")
    rows = [
        [
            local(each.since_ms or 0, zone),
            each.kind.value,
            period_words(each.days),
            f"{each.by}{'' if each.signed else ', unsigned'}",
            each.why,
        ]
        for each in history
    ]
    if rows:
        print_table(["Since", "Kind", "Kept", "By", "Why"], rows, "")


@keep_app.command("set")
def keep_set(
    kind: Annotated[str, typer.Argument(help="Which kind: readings.", show_default=False)],
    period: Annotated[str, typer.Argument(help="3y, 800d, or always.", show_default=False)],
    why: Annotated[str, typer.Option("--why", help="The reason, in words.", show_default=False)],
    sign: SignOption = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Say how long a kind is kept; a shorter time is signed with a manager's PIN, and never below what the law asks.

    holdwatch keep set readings 5y --why "the insurer asks for five years" --by IO
    """
    from holdwatch.storage.keeping import KEPT, Kind, parse_period, period_words, set_keeping

    if kind not in KEPT:
        raise ConfigError(f"{kind!r} is no kind of record: use {', '.join(KEPT)}")
    days = parse_period(period)
    with opened(data) as store:
        signer = signer_for(store, by, sign)
        with store.write() as session:
            set_keeping(session, Kind(kind), days, signer, why=why, now_ms=clock.now_ms())
    typer.echo(f"{kind}: kept {'' if days is None else 'for '}{period_words(days)}.")


@keep_app.command("thin")
def keep_thin(
    take: Annotated[
        bool, typer.Option("--take-away", help="Do it; without this it only says what would go. Needs --by and --sign.")
    ] = False,
    sign: SignOption = False,
    data: DataOption = None,
    by: ByOption = "",
    as_json: JsonOption = False,
) -> None:
    """Thin readings that are older than they have to be kept; what every verdict and paper rests on stays.

    Without --take-away nothing is changed. Back up first: what is taken away is gone.

    holdwatch keep thin

    holdwatch keep thin --take-away --by IO --sign
    """
    from holdwatch.storage.register import probes
    from holdwatch.storage.thinning import Thinning, thin, thinner, thinning_of

    now_ms = clock.now_ms()
    told = progress() or (lambda _: None)
    found: list[Thinning] = []
    with opened(data) as store:
        if take:
            signer = signer_for(store, by, sign)
            days = thin(store, signer, now_ms)
        else:
            with store.read() as session:
                rule = thinner(session, now_ms)
            days = thinning_of(store, rule)
        for day in days:
            found.append(day)
            told(f"{day.day}, {sum(each.taken for each in found):,} readings")
        with store.read() as session:
            codes = {probe.id: probe.code for probe in probes(session)}
    if as_json:
        print_json(
            [
                {
                    "probe": codes.get(each.probe_id),
                    "day": each.day,
                    "there": each.there,
                    "taken" if take else "would_take": each.taken,
                    "why_not": each.why_not,
                }
                for each in found
            ]
        )
        return
    going = [each for each in found if each.taken]
    rows = []
    for probe_id in dict.fromkeys(each.probe_id for each in going):
        own = [each for each in going if each.probe_id == probe_id]
        rows.append(
            [
                codes.get(probe_id, ""),
                f"{own[0].day} to {own[-1].day}",
                f"{len(own):,}",
                f"{sum(each.there for each in own):,}",
                f"{sum(each.taken for each in own):,}",
            ]
        )
    head = ["Probe", "Days (UTC)", "How many", "Readings", "Taken away" if take else "Would go"]
    print_table(head, rows, "Nothing is old enough to be thinned, or there is nothing to take.")
    for each in found:
        if each.why_not:
            typer.echo(f"LEFT  probe {codes.get(each.probe_id)}, {each.day}: {each.why_not}")
    if going and not take:
        typer.echo("Nothing was changed. To do it: holdwatch keep thin --take-away --by NAME --sign")
