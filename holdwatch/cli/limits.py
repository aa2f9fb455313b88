"""``holdwatch limits``: the published limits, read aloud."""

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from holdwatch.limits import Limits

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


def _tell(limits: "Limits") -> None:
    from holdwatch.limits.telling import heading, sentences

    for line in heading(limits):
        typer.echo(line)
    typer.echo()
    for sentence in sentences(limits):
        typer.echo(f"  {sentence}")
    typer.echo()
    typer.echo(limits.caution)
