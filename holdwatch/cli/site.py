"""``holdwatch site``: in which language the site speaks, and in which degrees."""

from typing import Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, opened, recorded_by
from holdwatch.errors import ConfigError
from holdwatch.language import ENGLISH, LANGUAGES

__all__ = ["site"]


def site(
    language: Annotated[
        str | None,
        typer.Option("--language", help=f"Of alerts, papers and screens: {', '.join(LANGUAGES)}.", show_default=False),
    ] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", help="In which temperatures are shown: F or C.", show_default=False)
    ] = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Say in which language the site's alerts, papers and screens speak, and in which degrees.

    It holds from now on; what was printed and sent stays as it was written. A person's own screens may speak another
    language: holdwatch person screen.

    holdwatch site --language es
    """
    from holdwatch.storage.register import set_site

    if language is None and unit is None:
        raise ConfigError("say what changes: --language or --unit")
    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        version = set_site(session, from_ms=now_ms, now_ms=now_ms, by=recorded_by(by), language=language, unit=unit)
        said = f"{version.name} speaks {LANGUAGES[version.language or ENGLISH]}, in °{version.unit}."
    typer.echo(said)
