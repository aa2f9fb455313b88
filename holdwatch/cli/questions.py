"""What set-up asks: who inspects the kitchen, whether raw egg is served, and to whom."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import typer

from holdwatch.errors import ConfigError

__all__ = ["DEFAULT", "Answers", "ask", "limits_for", "unasked"]

DEFAULT = "us-food-code-2022"
"""The limits where nobody said who inspects."""
_EGG = "Do you serve raw or undercooked egg (mousse, tiramisu, soft meringue, a sauce that is not cooked)?"
_SUSCEPTIBLE = "Do you serve highly susceptible people (a hospital, a home for the old, a kindergarten)?"
_LATER = "later"


@dataclass(frozen=True)
class Answers:
    """What was said; an empty text is no answer yet."""

    limits: str
    authority: str
    raw_egg: str
    susceptible: str


def limits_for(authority: str) -> str:
    """Return the code of an authority.

    Raises
    ------
    ConfigError
        If no file names the place, or several do: whoever sets up chooses.
    """
    from holdwatch.limits import known_limits
    from holdwatch.limits.authorities import codes_for

    found = codes_for(authority)
    if len(found) == 1:
        return found[0]
    if found:
        raise ConfigError(f"{authority} may hold you to {' or '.join(found)}: ask which, and name it with --limits")
    raise ConfigError(
        f"no limits file names the place of {authority!r}: say its state or country, or choose with --limits one of "
        f"{', '.join(known_limits())}, or the path of a file of your own"
    )


def unasked(limits: str | None, authority: str, raw_egg: str, susceptible: str) -> Answers:
    """Return the answers that the options give, without asking anything."""
    from holdwatch.limits import load_limits

    chosen = limits or (limits_for(authority) if authority.strip() else DEFAULT)
    load_limits(chosen)
    return Answers(chosen, authority.strip(), raw_egg, susceptible)


def ask(limits: str | None, authority: str, raw_egg: str, susceptible: str) -> Answers:
    """Ask for what the options leave open."""
    authority = authority.strip() or _text(
        "Who inspects you? The authority with its state or country, such as: Denver Public Health, Colorado"
    )
    from holdwatch.limits import load_limits

    if limits:
        load_limits(limits)
    return Answers(
        limits or _code(authority),
        authority,
        raw_egg or _choice(_EGG, ("yes", "no", _LATER)),
        susceptible or _choice(_SUSCEPTIBLE, ("yes", "no", _LATER)),
    )


def _code(authority: str) -> str:
    """Ask which code, the likely ones first."""
    from holdwatch.limits import known_limits, load_limits
    from holdwatch.limits.authorities import codes_for

    likely = codes_for(authority)
    names = [*likely, *(name for name in known_limits() if name not in likely)]
    typer.echo("Which limits does it hold you to? Ask it; these come with Holdwatch, the likely ones first:")
    for number, name in enumerate(names, 1):
        limits = load_limits(name)
        mark = "*" if name in likely else " "
        typer.echo(f"{mark} {number}  {name}: {limits.title}, {limits.standing.value}")
    said = _until("Number or name, or the path of a file of your own", lambda text: _named(text, names))
    return _named(said, names) or said


def _named(text: str, names: Sequence[str]) -> str | None:
    """Return the code of a number or a name, or the path of a limits file."""
    if text.isdecimal() and 1 <= int(text) <= len(names):
        return names[int(text) - 1]
    if text in names:
        return text
    from holdwatch.limits import load_limits

    try:
        load_limits(text)
    except ConfigError as exc:
        typer.echo(str(exc))
        return None
    return text


def _text(question: str) -> str:
    return _until(question, lambda text: text or None)


def _choice(question: str, choices: Sequence[str]) -> str:
    """Ask a question with few answers; one put off is no answer yet."""
    said = _until(f"{question} {'/'.join(choices)}", lambda text: text if text.casefold() in choices else None)
    return "" if said.casefold() == _LATER else said.casefold()


def _until(question: str, taken: Callable[[str], str | None]) -> str:
    """Ask until an answer is taken."""
    while True:
        text = str(typer.prompt(question)).strip()
        if taken(text) is not None:
            return text
