"""What the commands that read a file of readings share: what was done when, and one line about what cannot be used."""

from collections.abc import Collection
from typing import TYPE_CHECKING, NoReturn

import typer

if TYPE_CHECKING:
    from holdwatch.readings import Declaration, DeclarationKind

__all__ = ["COULD_NOT", "complain", "declaration", "instant", "stop"]

COULD_NOT = 2


def complain(command: str, message: str) -> None:
    """Say in one line what cannot be used."""
    typer.echo(f"holdwatch {command}: {' '.join(message.split())}", err=True)


def stop(command: str, message: str) -> NoReturn:
    """Say it, and end the command."""
    complain(command, message)
    raise typer.Exit(COULD_NOT)


def declaration(command: str, words: str, kinds: "Collection[DeclarationKind]") -> "Declaration":
    """Read what was done when, or stop."""
    from holdwatch.readings import Declaration, DeclarationKind

    key, equals, time = words.partition("=")
    if not equals or key not in kinds:
        stop(command, f"--declare {words!r} is not KEY=TIME with KEY one of {', '.join(kinds)}")
    return Declaration(instant(command, f"--declare {key}", time), DeclarationKind(key))


def instant(command: str, option: str, text: str) -> int:
    """Read an instant that an option gives [ms], or stop."""
    from holdwatch.recordfile import parse_instant

    try:
        return parse_instant(text)
    except ValueError:
        stop(command, f"{option}: {text!r} is not an ISO 8601 time with an offset, such as 2026-03-01T14:05:00-07:00")
