"""``holdwatch init``: make a data directory and name its site."""

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, recorded_by, settings_for
from holdwatch.errors import ConfigError
from holdwatch.language import ENGLISH, LANGUAGES
from holdwatch.storage.names import check_language

if TYPE_CHECKING:
    from holdwatch.cli.questions import Answers
    from holdwatch.storage.engine import Store

__all__ = ["init"]


def init(
    site: Annotated[str, typer.Option("--site", help="What the kitchen is called on screens and papers.")],
    timezone: Annotated[str, typer.Option("--timezone", help="Its time zone, as AREA/CITY: America/Denver.")],
    authority: Annotated[
        str,
        typer.Option(
            "--authority",
            help='Who inspects you, with its state or country: "Denver Public Health, Colorado".',
            show_default=False,
        ),
    ] = "",
    limits: Annotated[
        str | None,
        typer.Option(
            "--limits",
            help="The limits it is held against: a name, or the path of a limits file; if not given, those of the authority.",
            show_default=False,
        ),
    ] = None,
    raw_egg: Annotated[
        str, typer.Option("--raw-egg", help="Is raw or undercooked egg served: yes or no.", show_default=False)
    ] = "",
    susceptible: Annotated[
        str, typer.Option("--susceptible", help="Are highly susceptible people served: yes or no.", show_default=False)
    ] = "",
    asked: Annotated[
        bool | None,
        typer.Option(
            "--ask/--no-ask", help="Ask what is left open; if not given, only at a terminal.", show_default=False
        ),
    ] = None,
    unit: Annotated[str, typer.Option("--unit", help="In which temperatures are shown: F or C.")] = "F",
    altitude: Annotated[
        str,
        typer.Option(
            "--altitude", help="Of the kitchen, 5280ft or 1609m: water boils lower up there.", show_default=False
        ),
    ] = "",
    language: Annotated[
        str, typer.Option("--language", help=f"Of alerts, papers and screens: {', '.join(LANGUAGES)}.")
    ] = ENGLISH,
    data: DataOption = None,
    database_url: Annotated[
        str | None,
        typer.Option("--database-url", help="Keep the store there instead: postgresql://user@host/name."),
    ] = None,
    by: ByOption = "",
) -> None:
    """Make a data directory, its store, and the site; once for a kitchen.

    Who inspects you? From the authority follows the code; a manager then asks it, and confirms.

    holdwatch init --data kitchen --site "My kitchen" --timezone America/Denver --authority "Denver, Colorado"
    """
    from holdwatch.cli.questions import ask, unasked
    from holdwatch.settings import FILE_NAME
    from holdwatch.storage.engine import open_store, store_url

    settings = settings_for(data, database_url=database_url)
    _check_timezone(timezone)
    scale, language = _scale(unit), check_language(language)
    options = (limits, authority, _answer("--raw-egg", raw_egg), _answer("--susceptible", susceptible))
    answers = ask(*options) if (sys.stdin.isatty() if asked is None else asked) else unasked(*options)
    directory = settings.data
    try:
        directory.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        raise ConfigError(f"the data directory {directory} cannot be made ({exc.strerror}): name another one") from exc
    store = open_store(store_url(directory, settings.database_url), migrate=True)
    try:
        _set(store, site.strip(), timezone, answers, recorded_by(by), scale=scale, altitude=altitude, language=language)
    finally:
        store.close()
    if database_url is not None:
        _remember(directory / FILE_NAME, database_url)
    if not answers.authority:
        typer.echo(
            f"Nobody said who inspects you: {answers.limits} is taken. Say it: holdwatch limits use --authority NAME"
        )
    typer.echo(f"{site.strip()} is kept in {directory}. Next: holdwatch probe add p1 --medium food --data {directory}")


def _set(
    store: "Store", site: str, timezone: str, answers: "Answers", by: str, *, scale: str, altitude: str, language: str
) -> None:
    """Name the site of a store that has none yet."""
    from sqlmodel import select

    from holdwatch.storage.register import set_site
    from holdwatch.storage.tables import SiteVersion

    if not site:
        raise ConfigError("--site is empty: say what the kitchen is called")
    now_ms = clock.now_ms()
    with store.write() as session:
        before = session.exec(select(SiteVersion)).first()
        if before is not None:
            raise ConfigError(
                f"{store.place} already is the record of {before.name!r}: use it as it is, or name another --data"
            )
        set_site(
            session,
            name=site,
            timezone=timezone,
            unit=scale,
            altitude=altitude,
            language=language,
            from_ms=0,
            now_ms=now_ms,
            by=by,
            **asdict(answers),
        )


def _remember(path: Path, database_url: str) -> None:
    """Write where the store lies into the settings file, unless the file says something already."""
    if path.exists():
        typer.echo(f"{path} is there already: see that it holds database_url = {json.dumps(database_url)}", err=True)
        return
    path.touch(mode=0o600)  # the address may hold a password
    path.write_text(f"database_url = {json.dumps(database_url)}\n", encoding="utf-8")


def _check_timezone(timezone: str) -> None:
    """Refuse a time zone that nobody knows."""
    import difflib
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

    try:
        ZoneInfo(timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as exc:
        near = difflib.get_close_matches(timezone, available_timezones(), n=1, cutoff=0.5)
        meant = f"did you mean {near[0]}?" if near else "write AREA/CITY, such as America/Denver"
        raise ConfigError(f"--timezone {timezone!r} is not known: {meant}") from exc


def _answer(option: str, word: str) -> str:
    """Return yes or no; an option that was not given is no answer."""
    if word.strip().casefold() not in {"", "yes", "no"}:
        raise ConfigError(f"{option} {word!r} is no answer: yes or no")
    return word.strip().casefold()


def _scale(unit: str) -> str:
    """Return the unit in which temperatures are shown."""
    if unit.strip().upper() not in {"F", "C"}:
        raise ConfigError(f"--unit {unit!r} is not known: F or C")
    return unit.strip().upper()
