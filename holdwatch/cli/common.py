"""What the commands share: their common options, opening the store, reading times, and printing."""

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from holdwatch import clock

if TYPE_CHECKING:
    from holdwatch.settings import Settings
    from holdwatch.storage.engine import Store

__all__ = [
    "AtOption",
    "BrokerOption",
    "ByOption",
    "DataOption",
    "JsonOption",
    "PaperOption",
    "iso",
    "open_for",
    "opened",
    "print_json",
    "print_table",
    "progress",
    "settings_for",
]

DataOption = Annotated[
    Path | None,
    typer.Option(
        "--data",
        metavar="DIR",
        show_default=False,
        readable=False,  # whoever opens it says more than the library's check
        help="The data directory; if not given, $HOLDWATCH_DATA, else ./holdwatch-data.",
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for a program.")]
ByOption = Annotated[
    str,
    typer.Option(
        "--by", metavar="NAME", show_default=False, help="Who did it; if not given, the user of this console."
    ),
]
AtOption = Annotated[
    str | None,
    typer.Option(
        "--at",
        metavar="TIME",
        show_default=False,
        help="When: 2026-11-24T14:30-07:00, or 2026-11-24T14:30 or 14:30 by the site's clock; if not given, now.",
    ),
]
BrokerOption = Annotated[
    str | None,
    typer.Option("--broker", metavar="URL", show_default=False, help="The broker: mqtt://[USER:PASSWORD@]HOST:PORT."),
]
ScaleOption = Annotated[
    Literal["F", "C"] | None,
    typer.Option("--scale", show_default=False, help="Temperatures in °F or °C; if not given, the site's own."),
]
PaperOption = Annotated[Literal["a4", "letter"], typer.Option("--paper", help="The size of the paper.")]


def settings_for(data: Path | None, **given: Any) -> "Settings":
    """Return the settings in force; an option of ``None`` was not given."""
    from holdwatch.settings import load_settings

    return load_settings(data=data, **given)


def open_for(data: Path | None) -> "Store":
    """Open the store that the settings name; whoever calls closes it."""
    from holdwatch.storage.engine import open_store, store_url

    settings = settings_for(data)
    return open_store(store_url(settings.data, settings.database_url))


@contextmanager
def opened(data: Path | None) -> "Iterator[Store]":
    """Open the store that the settings name, and close it at the end; a try of somebody who may not is kept."""
    from holdwatch.errors import RefusedError

    store = open_for(data)
    try:
        yield store
    except RefusedError as exc:
        from holdwatch.storage.refusals import keep_refusal

        keep_refusal(store, who=exc.who, what=exc.what, place="console", why=str(exc), now_ms=clock.now_ms())
        raise
    finally:
        store.close()


def recorded_by(by: str) -> str:
    """Return who did it, for the record: the name said, else the user of this console."""
    import getpass

    if by:
        return by
    try:
        user = getpass.getuser()
    except (KeyError, OSError):  # a user id without a name, as in some containers
        user = "unknown"
    return f"console user {user}"


def iso(at_ms: int | None) -> str | None:
    """Write an instant for a program."""
    return None if at_ms is None else clock.to_iso(at_ms)


def print_json(value: Any) -> None:
    """Print JSON for a program."""
    typer.echo(json.dumps(value, ensure_ascii=False, indent=None if not sys.stdout.isatty() else 2))


def print_table(head: Sequence[str], rows: Sequence[Sequence[str]], none: str) -> None:
    """Print rows under their heads, or say that there are none and what to do."""
    if not rows:
        typer.echo(none)
        return
    lines = [head, *rows]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    for line in lines:
        typer.echo("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())


def progress() -> Callable[[str], None] | None:
    """Return what shows on one line of the terminal how far something is; ``None`` where nobody looks."""

    def show(what: str) -> None:
        sys.stderr.write(f"\r\033[K{what}")
        sys.stderr.flush()

    return show if sys.stderr.isatty() else None
