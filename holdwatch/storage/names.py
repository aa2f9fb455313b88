"""What may be given by a person: names that exist, names that are free, instants that can be."""

import math
import re
from collections.abc import Iterable
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeVar

from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.language import LANGUAGES, N_, _, decimals
from holdwatch.storage.spoken import on_site_clock

__all__ = [
    "check_choice",
    "check_code",
    "check_instant",
    "check_language",
    "check_medium",
    "check_name",
    "check_scale",
    "check_step",
    "check_temperature",
    "check_topic",
    "nearest",
    "unknown",
]

FUTURE_MS = 2 * MS_PER_MINUTE
COLDEST_C, HOTTEST_C = -60.0, 300.0
_LONGEST_NAME = 120
_LISTED = 12  # so many names are told whole
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9:./_-]*")  # the letters of a SenML name, RFC 8428, section 4.5.1
_Choice = TypeVar("_Choice", bound=StrEnum)


def nearest(name: str, known: Iterable[str]) -> str:
    """Ask whether one of the names most like it was meant; empty where none is like it."""
    folded = {each.casefold(): each for each in sorted(known)}
    near = [folded[each] for each in get_close_matches(name.casefold(), folded, n=3)]
    return _("did you mean {names}?").format(names=_(" or ").join(repr(each) for each in near)) if near else ""


def unknown(what: str, name: str, known: Iterable[str]) -> UnknownNameError:
    """Return the error for a name that the store does not hold, with the nearest ones that it does."""
    names = sorted(known)
    if near := nearest(name, names):
        hint = near
    elif len(names) > _LISTED:
        hint = _("there are {names} and {count} more").format(
            names=", ".join(names[:_LISTED]), count=len(names) - _LISTED
        )
    elif names:
        hint = _("there are {names}").format(names=", ".join(names))
    else:
        hint = _("there is no {what} yet").format(what=_(what))
    return UnknownNameError(_("no {what} is called {name!r}: {hint}").format(what=_(what), name=name, hint=hint))


def check_name(what: str, name: str) -> str:
    """Return a name without the blanks around it; refuse an empty, overlong or unprintable one."""
    plain = name.strip()
    if not plain or len(plain) > _LONGEST_NAME or not plain.isprintable():
        raise ConfigError(
            _("{name!r} is no {what}: give 1 to {longest} printable characters").format(
                name=name, what=_(what), longest=_LONGEST_NAME
            )
        )
    return plain


def check_code(code: str) -> str:
    """Return a probe's code; it becomes part of a topic, so its letters are few."""
    if not _CODE.fullmatch(code) or len(code) > _LONGEST_NAME:
        raise ConfigError(
            _("{code!r} is no probe code: use letters, digits and - : . _ /, beginning with a letter or digit").format(
                code=code
            )
        )
    return code


def check_topic(topic: str) -> str:
    """Return the topic that a probe publishes on; it names one topic, so it holds no wildcard."""
    if not topic or "+" in topic or "#" in topic or not topic.isprintable() or topic.startswith("$"):
        raise ConfigError(
            _("{topic!r} is no topic of one probe: it may hold no + or #, and not begin with $").format(topic=topic)
        )
    return topic


def check_choice(what: str, word: str, choices: type[_Choice]) -> _Choice:
    """Return the choice that a word names."""
    try:
        return choices(word)
    except ValueError as exc:
        known = ", ".join(each.value for each in choices)
        raise ConfigError(
            _("{word!r} is no {what}: use one of {known}").format(word=word, what=_(what), known=known)
        ) from exc


def check_language(language: str) -> str:
    """Return a language that can be spoken."""
    code = language.strip().casefold()
    if code not in LANGUAGES:
        known = ", ".join(f"{each} ({name})" for each, name in LANGUAGES.items())
        raise ConfigError(
            _("{language!r} is no language that is spoken here: {known}").format(language=language, known=known)
        )
    return code


# The words below belong to rooms that load arrays; a command that only reads the register need not wait for them.


def check_step(word: str) -> str:
    """Return the name of a batch's step."""
    from holdwatch.rules.verdicts import Step

    return check_choice(N_("step"), word, Step).value


def check_medium(word: str) -> str:
    """Return what a probe stands in."""
    from holdwatch.readings import Medium

    return check_choice(N_("medium"), word, Medium).value


def check_scale(word: str) -> str:
    """Return a unit of temperature."""
    from holdwatch.quantities import Scale

    return check_choice(N_("unit of temperature"), word, Scale).value


def check_instant(session: Session, what: str, at_ms: int, now_ms: int) -> int:
    """Return an instant at which something is said to have been done; it cannot lie ahead."""
    if at_ms > now_ms + FUTURE_MS:
        raise ConfigError(
            _("{what} cannot be at {time}: that is in the future (it is {now} here); check the time given").format(
                what=_(what), time=on_site_clock(session, at_ms), now=on_site_clock(session, now_ms)
            )
        )
    return at_ms


def check_temperature(celsius: float) -> float:
    """Return a temperature that a thermometer in a kitchen can show, in °C."""
    if not math.isfinite(celsius) or not COLDEST_C <= celsius <= HOTTEST_C:
        raise ConfigError(
            _("{celsius} °C is no temperature of food: give one from {coldest:g} to {hottest:g} °C").format(
                celsius=decimals(f"{celsius:g}"), coldest=COLDEST_C, hottest=HOTTEST_C
            )
        )
    return celsius
