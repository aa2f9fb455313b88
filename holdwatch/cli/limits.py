"""``holdwatch limits``: the published limits read aloud, and which of them govern the site."""

from datetime import datetime
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, JsonOption, iso, opened, print_json, print_table, recorded_by
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from holdwatch.limits import Limits
    from holdwatch.views.limits import Governing

__all__ = ["limits_app"]

limits_app = typer.Typer(
    help="The published limits that come with Holdwatch, and files of your own.", no_args_is_help=True
)


@limits_app.command("list")
def list_limits() -> None:
    """List the codes that come with Holdwatch.

    Who inspects you? Take that authority's code, and ask it which edition is in force.
    """
    from holdwatch.limits import known_limits, load_limits
    from holdwatch.limits.telling import not_seen

    names = known_limits()
    width = max(map(len, names))
    for name in names:
        limits = load_limits(name)
        count, unseen = len(limits.figures()), not_seen(limits)
        marked = f", {unseen} not seen in the code's own text" if unseen else ""
        typer.echo(f"{name:{width}}  {limits.title}: {limits.standing.value}, {count} figures{marked}")


@limits_app.command("show")
def show(
    name: Annotated[str, typer.Argument(metavar="NAME", help="A code, or the path of a limits file.")],
) -> None:
    """Read a code aloud: every figure in a sentence, with its clause and where it was read.

    What was not read in the code's own text says so, and so does what the code has no figure for.

    holdwatch limits show england-wales-ni
    """
    from holdwatch.limits import load_limits

    _tell(load_limits(name))


@limits_app.command("check")
def check(
    path: Annotated[str, typer.Argument(metavar="PATH", help="The limits file.")],
) -> None:
    """Check a limits file of your own, and read it aloud as it is understood.

    A file that breaks the schema is refused with the key and what to do.
    """
    from holdwatch.limits import load_limits

    limits = load_limits(path)
    _tell(limits)
    parts = len({part for part, _ in limits.figures()} | set(limits.no_figure))
    typer.echo(f"{path} is a limits file: {parts} parts, {len(limits.figures())} figures.")


@limits_app.command("use")
def use(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="A code, or the path of a limits file.", show_default=False)
    ] = None,
    authority: Annotated[
        str | None, typer.Option("--authority", help="Who inspects you, with its state or country.", show_default=False)
    ] = None,
    raw_egg: Annotated[
        str | None, typer.Option("--raw-egg", help="Is raw or undercooked egg served: yes or no.", show_default=False)
    ] = None,
    susceptible: Annotated[
        str | None,
        typer.Option("--susceptible", help="Are highly susceptible people served: yes or no.", show_default=False),
    ] = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Take limits into force from now on, and say who inspects and what is served.

    The text of the file is kept as it stands now. What was judged before stays judged by what governed then; a day
    that has begun and a batch that has started keep the limits of their beginning. Another text, or another
    authority, is not confirmed yet.

    holdwatch limits use us-food-code-2022 --authority "Denver Public Health, Colorado" --raw-egg no --susceptible no
    """
    from holdwatch.storage.register import set_site
    from holdwatch.views.limits import governing

    if name is None and authority is None and raw_egg is None and susceptible is None:
        raise ConfigError("say what changes: a NAME, --authority, --raw-egg or --susceptible")
    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        version = set_site(
            session,
            from_ms=now_ms,
            now_ms=now_ms,
            by=recorded_by(by),
            limits=name,
            authority=authority,
            raw_egg=raw_egg,
            susceptible=susceptible,
        )
        _say(governing(session, version))


@limits_app.command("confirm")
def confirm(
    person: Annotated[
        str, typer.Option("--person", metavar="NAME", help="Who at the authority said so.", show_default=False)
    ],
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="The manager who asked.", show_default=False)],
    on: Annotated[
        datetime | None,
        typer.Option(
            "--on", formats=["%Y-%m-%d"], help="On which day; if not given, today at the site.", show_default=False
        ),
    ] = None,
    how: Annotated[str, typer.Option("--how", help="By letter, on the phone, at a visit.", show_default=False)] = "",
    data: DataOption = None,
) -> None:
    """Record that your authority confirmed the limits in force.

    Show it what `holdwatch limits show` reads aloud. The confirmation is of just this text: once the file is edited and
    taken into force again, it is not confirmed any more.

    holdwatch limits confirm --person "J. Ortiz" --on 2026-11-20 --how "letter" --by "Ines Okafor"
    """
    from holdwatch.storage.inforce import confirm_limits
    from holdwatch.storage.register import site_at
    from holdwatch.views.limits import governing

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        site = site_at(session, now_ms)
        today = clock.to_datetime(now_ms).astimezone(ZoneInfo(site.timezone)).date()
        confirm_limits(
            session,
            site,
            person=person,
            on=today if on is None else on.date(),
            how=how,
            today=today,
            now_ms=now_ms,
            by=by,
        )
        _say(governing(session, site))


@limits_app.command("history")
def history(data: DataOption = None, as_json: JsonOption = False) -> None:
    """Tell which limits governed from when on, who set them, and what the authority confirmed."""
    from holdwatch.storage.inforce import confirmations
    from holdwatch.views.limits import versions

    with opened(data) as store, store.read() as session:
        governed = versions(session)
        confirmed = confirmations(session)
    if as_json:
        print_json(
            {
                "versions": [
                    {
                        "from": iso(each.site.from_ms),
                        "limits": each.limits.id,
                        "digest": each.limits.digest,
                        "authority": each.site.authority,
                        "raw_egg": each.site.raw_egg or None,
                        "susceptible": each.site.susceptible or None,
                        "by": each.site.by,
                        "confirmed": each.stands,
                        "notice": [f"{each.name}, {each.confirmed}.", *each.warnings],
                    }
                    for each in governed
                ],
                "confirmations": [
                    {
                        "digest": each.digest,
                        "limits": each.limits,
                        "authority": each.authority,
                        "person": each.person,
                        "on": each.on.isoformat(),
                        "how": each.how,
                        "by": each.by,
                        "recorded_at": iso(each.recorded_ms),
                    }
                    for each in confirmed
                ],
            }
        )
        return
    rows = [
        [iso(each.site.from_ms) or "", each.limits.id, each.version, each.site.authority or "not said", each.site.by]
        for each in governed
    ]
    print_table(("FROM", "LIMITS", "TEXT", "INSPECTED BY", "SET BY"), rows, "No site yet: holdwatch init")
    for each in confirmed:
        typer.echo(
            f"Text {each.digest[:12]} of {each.limits} was confirmed by {each.person} of {each.authority} on "
            f"{each.on.isoformat()}, recorded by {each.by} at {iso(each.recorded_ms)}."
        )
    if governed:
        _say(governed[-1])


@limits_app.command("text")
def text(
    digest: Annotated[
        str | None,
        typer.Argument(
            metavar="TEXT",
            help="The beginning of its SHA-256, as `limits history` shows it; if not given, what is in force.",
            show_default=False,
        ),
    ] = None,
    data: DataOption = None,
) -> None:
    """Print a limits file word for word as it was when it was taken into force, also when the file is lost.

    holdwatch limits text > plan-of-last-march.toml
    """
    from holdwatch.storage.inforce import kept_text
    from holdwatch.storage.register import site_at

    with opened(data) as store, store.read() as session:
        wanted = digest if digest is not None else site_at(session, clock.now_ms()).limits_digest
        found = kept_text(session, wanted)
    typer.echo(found.text, nl=False)


def _say(governing: "Governing") -> None:
    """Say how the limits in force stand."""
    typer.echo(f"In force: {governing.name}, {governing.confirmed}.")
    for words in governing.warnings:
        typer.echo(words)


def _tell(limits: "Limits") -> None:
    from holdwatch.limits.telling import heading, sentences

    for line in heading(limits):
        typer.echo(line)
    typer.echo(f"This text: SHA-256 {limits.digest}.")
    typer.echo()
    for sentence in sentences(limits):
        typer.echo(f"  {sentence}")
    typer.echo()
    typer.echo(limits.cautions)
