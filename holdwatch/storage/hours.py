"""Weekdays and hours as people write them: those of a route, and the quiet hours of the site."""

from datetime import time

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _

__all__ = ["DAYS", "MINUTES_A_DAY", "check_quiet", "clock_of", "quiet_minutes", "read_days", "read_hours"]

DAYS = (N_("mon"), N_("tue"), N_("wed"), N_("thu"), N_("fri"), N_("sat"), N_("sun"))
MINUTES_A_DAY = 1440


def read_days(text: str) -> list[int]:
    """Read weekdays such as ``mon,tue``; Monday is 0, nothing is all.

    Raises
    ------
    ConfigError
        If a word is no weekday.
    """
    found = []
    for word in (part.strip().lower() for part in text.split(",") if part.strip()):
        if word[:3] not in DAYS:
            raise ConfigError(_("{word!r} is no weekday: use {days}").format(word=word, days=", ".join(DAYS)))
        found.append(DAYS.index(word[:3]))
    return found


def read_hours(text: str) -> tuple[int, int]:
    """Read hours such as ``22:00-05:00`` as minutes of the day; nothing is all of it.

    Raises
    ------
    ConfigError
        If it is no span of hours.
    """
    if not text.strip():
        return 0, MINUTES_A_DAY
    first, _dash, last = text.partition("-")
    return _minute(first, text), _minute(last, text) or MINUTES_A_DAY


def check_quiet(text: str) -> str:
    """Return quiet hours as they are kept, ``22:00-05:00``, or nothing for none; `quiet_minutes` reads them.

    Raises
    ------
    ConfigError
        If it is no span of hours, or one that never ends.
    """
    if not text.strip():
        return ""
    first, last = quiet_minutes(text)
    if first == last:
        raise ConfigError(_("{text!r} never ends: leave some of the day to ring in, as 22:00-05:00").format(text=text))
    return f"{clock_of(first)}-{clock_of(last)}"


def quiet_minutes(text: str) -> tuple[int, int]:
    """Read quiet hours as minutes of the day, from 0 to 1439; not before the first means the next morning.

    Raises
    ------
    ConfigError
        If it is no span of hours.
    """
    first, last = read_hours(text)
    return first % MINUTES_A_DAY, last % MINUTES_A_DAY


def _minute(text: str, whole: str) -> int:
    plain = text.strip()
    if plain in {"24", "24:00"}:
        return MINUTES_A_DAY
    try:
        hour, _colon, minute = plain.partition(":")
        at = time(int(hour), int(minute or 0))
    except ValueError:
        raise ConfigError(_("{whole!r} are no hours: write 22:00-05:00").format(whole=whole)) from None
    return at.hour * 60 + at.minute


def clock_of(minute: int) -> str:
    """Write a minute of the day, as ``22:00``."""
    return f"{minute // 60:02}:{minute % 60:02}"
