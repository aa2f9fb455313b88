"""What may be given by a person: names that exist, names that are free, instants that can be."""

import math
import re
from collections.abc import Iterable
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeVar

from holdwatch.clock import MS_PER_MINUTE, to_iso
from holdwatch.errors import ConfigError, UnknownNameError

__all__ = [
    "check_choice",
    "check_code",
    "check_instant",
    "check_medium",
    "check_name",
    "check_scale",
    "check_span",
    "check_step",
    "check_temperature",
    "check_topic",
    "unknown",
]

FUTURE_MS = 2 * MS_PER_MINUTE
COLDEST_C, HOTTEST_C = -60.0, 300.0
_LONGEST_NAME = 120
_LISTED = 12  # so many names are told whole
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9:./_-]*")  # the letters of a SenML name, RFC 8428, section 4.5.1
_Choice = TypeVar("_Choice", bound=StrEnum)


def unknown(what: str, name: str, known: Iterable[str]) -> UnknownNameError:
    """Return the error for a name that the store does not hold, with the nearest ones that it does."""
    names = sorted(known)
    folded = {each.casefold(): each for each in names}
    near = [folded[each] for each in get_close_matches(name.casefold(), folded, n=3)]
    if near:
        hint = f"did you mean {' or '.join(repr(each) for each in near)}?"
    elif names:
        more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
        hint = f"there are {', '.join(names[:_LISTED])}{more}"
    else:
        hint = f"there is no {what} yet"
    return UnknownNameError(f"no {what} is called {name!r}: {hint}")


def check_name(what: str, name: str) -> str:
    """Return a name without the blanks around it; refuse an empty, overlong or unprintable one."""
    plain = name.strip()
    if not plain or len(plain) > _LONGEST_NAME or not plain.isprintable():
        raise ConfigError(f"{name!r} is no {what}: give 1 to {_LONGEST_NAME} printable characters")
    return plain


def check_code(code: str) -> str:
    """Return a probe's code; it becomes part of a topic, so its letters are few."""
    if not _CODE.fullmatch(code) or len(code) > _LONGEST_NAME:
        raise ConfigError(
            f"{code!r} is no probe code: use letters, digits and - : . _ /, beginning with a letter or digit"
        )
    return code


def check_topic(topic: str) -> str:
    """Return the topic that a probe publishes on; it names one topic, so it holds no wildcard."""
    if not topic or "+" in topic or "#" in topic or not topic.isprintable() or topic.startswith("$"):
        raise ConfigError(f"{topic!r} is no topic of one probe: it may hold no + or #, and not begin with $")
    return topic


def check_choice(what: str, word: str, choices: type[_Choice]) -> _Choice:
    """Return the choice that a word names."""
    try:
        return choices(word)
    except ValueError as exc:
        known = ", ".join(each.value for each in choices)
        raise ConfigError(f"{word!r} is no {what}: use one of {known}") from exc


# The words below belong to rooms that load arrays; a command that only reads the register need not wait for them.


def check_step(word: str) -> str:
    """Return the name of a batch's step."""
    from holdwatch.rules.verdicts import Step

    return check_choice("step", word, Step).value


def check_medium(word: str) -> str:
    """Return what a probe stands in."""
    from holdwatch.readings import Medium

    return check_choice("medium", word, Medium).value


def check_scale(word: str) -> str:
    """Return a unit of temperature."""
    from holdwatch.quantities import Scale

    return check_choice("unit of temperature", word, Scale).value


def check_instant(what: str, at_ms: int, now_ms: int) -> int:
    """Return an instant at which something is said to have been done; it cannot lie ahead."""
    if at_ms > now_ms + FUTURE_MS:
        raise ConfigError(
            f"{what} cannot be at {to_iso(at_ms)}: that is in the future (it is {to_iso(now_ms)} here); check the time given"
        )
    return at_ms


def check_span(what: str, first_ms: int, last_ms: int | None) -> None:
    """Refuse a span that ends before it begins."""
    if last_ms is not None and last_ms < first_ms:
        raise ConfigError(f"{what} ends at {to_iso(last_ms)}, before it begins at {to_iso(first_ms)}: swap the two")


def check_temperature(celsius: float) -> float:
    """Return a temperature that a thermometer in a kitchen can show, in °C."""
    if not math.isfinite(celsius) or not COLDEST_C <= celsius <= HOTTEST_C:
        raise ConfigError(f"{celsius} °C is no temperature of food: give one from {COLDEST_C:g} to {HOTTEST_C:g} °C")
    return celsius
