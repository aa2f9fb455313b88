"""The language in which people are spoken to, and how it writes numbers and days.

Words stand in the code in English, inside `_`, `many` or `N_`, and are looked up where they are said: English needs no
catalog and costs nothing. The catalogs are ``locale/LANGUAGE/LC_MESSAGES/holdwatch.po``, read once a process.

Who decides: the watch, alerts and papers speak the site's language, a screen that of the person before it. What was
kept stays as it was written. docs/languages.md tells how a language is added.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from functools import lru_cache
from gettext import GNUTranslations
from importlib.resources import files
from io import BytesIO

__all__ = [
    "ENGLISH",
    "LANGUAGES",
    "N_",
    "_",
    "decimals",
    "degrees",
    "explained",
    "many",
    "sense",
    "short_day",
    "short_month",
    "short_weekday",
    "speak",
    "speaking",
    "spoken",
    "thousands",
    "written_day",
]

ENGLISH = "en"
LANGUAGES = {ENGLISH: "English", "es": "Español", "fr": "Français"}
"""Every language that can be spoken, with its own name."""

_spoken: ContextVar[str] = ContextVar("spoken", default=ENGLISH)
_degrees: ContextVar[str] = ContextVar("degrees", default="")


def spoken() -> str:
    """Return the language that is spoken at present, as in ``es``."""
    return _spoken.get()


def degrees() -> str:
    """Return in which degrees whoever is spoken to wants temperatures, F or C; empty where the site's hold."""
    return _degrees.get()


def speak(language: str, degrees: str = "") -> None:
    """Speak a language from now on in this thread or task; one that is not known is English."""
    _spoken.set(language if language in LANGUAGES else ENGLISH)
    _degrees.set(degrees)


@contextmanager
def speaking(language: str, degrees: str = "") -> Iterator[None]:
    """Speak a language for a while, in the site's degrees or in those named; one that is not known is English.

    Before a function it holds for each call of it.
    """
    before, shown = _spoken.set(language if language in LANGUAGES else ENGLISH), _degrees.set(degrees)
    try:
        yield
    finally:
        _spoken.reset(before)
        _degrees.reset(shown)


def _(message: str) -> str:
    """Return a message in the language that is spoken; ``{fields}`` in it are filled in afterwards."""
    language = _spoken.get()
    return message if language == ENGLISH or not message else _catalog(language).gettext(message)


def many(one: str, more: str, count: int, **fields: object) -> str:
    """Return the form of a message that belongs to a count, with ``{count}`` and the other fields filled in."""
    language = _spoken.get()
    form = (one if count == 1 else more) if language == ENGLISH else _catalog(language).ngettext(one, more, count)
    return form.format(count=count, **fields)


def sense(which: str, message: str) -> str:
    """Return a message that means several things in one of its senses, as *cook* the step and not the person."""
    language = _spoken.get()
    return message if language == ENGLISH else _catalog(language).pgettext(which, message)


def explained(what: str, more: str) -> str:
    """Return something and what is said of it with the colon of the language between; what is empty is left out."""
    return _("{what}: {more}").format(what=what, more=more) if what and more else what or more


def N_(message: str) -> str:  # noqa: N802 - the name that translators' tools know
    """Mark a message of a table, which is looked up with `_` where it is said."""
    return message


def decimals(figures: str) -> str:
    """Write figures with the decimal sign of the language, as in ``3,5``."""
    language = _spoken.get()
    return figures if language == ENGLISH else figures.replace(".", _decimal_sign(language))


def thousands(count: int) -> str:
    """Write a count with its thousands apart, as in ``2,880`` or ``2 880``."""
    language = _spoken.get()
    if language == ENGLISH:
        return f"{count:,}"
    from babel.numbers import format_decimal

    return str(format_decimal(count, locale=language))


def short_day(day: date, *, weekday: bool = True, year: bool = False) -> str:
    """Write a day, at first without its year, as in ``Sun 1 Nov`` or ``dim. 1 nov.``."""
    language = _spoken.get()
    if language == ENGLISH:
        return f"{f'{day:%a} ' if weekday else ''}{day.day} {day:%b}{f' {day.year}' if year else ''}"
    return _day(language, f"{'y' if year else ''}MMM{'E' if weekday else ''}d", day)


def written_day(day: date | str) -> str:
    """Write a day that stands in the calendar, also one kept as ``2026-11-01``: ``1 Nov 2026`` or ``1 nov. 2026``."""
    return short_day(date.fromisoformat(day) if isinstance(day, str) else day, weekday=False, year=True)


def short_month(day: date) -> str:
    """Write the month of a day, as in ``Nov`` or ``nov.``."""
    return _short(day, "%b", "LLL")


def short_weekday(day: date) -> str:
    """Write the day of the week, as in ``Sun`` or ``dim.``."""
    return _short(day, "%a", "ccc")


def _short(day: date, english: str, pattern: str) -> str:
    language = _spoken.get()
    if language == ENGLISH:
        return format(day, english)
    from babel.dates import format_date

    return format_date(day, pattern, locale=language)


@lru_cache(maxsize=1024)
def _day(language: str, parts: str, day: date) -> str:
    """Write a day; it is kept, since a paper writes the same few days many thousand times, at a tenth of a ms each."""
    from babel.dates import format_skeleton

    return format_skeleton(parts, day, locale=language)


@lru_cache(maxsize=8)
def _decimal_sign(language: str) -> str:
    from babel.numbers import get_decimal_symbol

    return str(get_decimal_symbol(language))


@lru_cache(maxsize=8)
def _catalog(language: str) -> GNUTranslations:
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    written = files("holdwatch").joinpath("locale", language, "LC_MESSAGES", "holdwatch.po")
    with written.open("rb") as file:
        catalog = read_po(file, locale=language)
    compiled = BytesIO()
    write_mo(compiled, catalog)
    compiled.seek(0)
    return GNUTranslations(compiled)
