"""What a closing and an opening have to look at: lists that somebody goes through, nothing judged anew.

What falls due at night is decided before the last person leaves: nobody splits a pan at two in the morning.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, to_datetime, to_ms
from holdwatch.errors import ConfigError
from holdwatch.language import _

__all__ = ["Line", "Part", "back_by", "day_bounds", "local_date", "next_time", "read_back", "stood", "when_started"]

_OPENS_AT = time(6)
"""Ours: when somebody is taken to be there again while no opening was ever recorded."""
_LOOKS_BACK_MS = 16 * MS_PER_HOUR
"""Ours: so far an opening looks back where no closing was recorded."""


@dataclass(frozen=True)
class Line:
    """One thing to look at."""

    about: str
    words: str
    """What is the matter with it."""
    todo: str = ""
    """What to do about it now."""
    link: str = ""
    """The page that it is decided on."""


@dataclass(frozen=True)
class Part:
    """Some lines under a title."""

    title: str
    none: str
    """What is said where there is no line."""
    lines: tuple[Line, ...] = ()


def stood(parts: Iterable[Part]) -> list[list[str]]:
    """Return what stands on a list, as it is kept when somebody has gone through it."""
    return [[part.title, line.about, line.words, line.todo] for part in parts for line in part.lines]


def local_date(at_ms: int, zone: str) -> date:
    """Return the site's local day of an instant. [ms]."""
    return to_datetime(at_ms).astimezone(ZoneInfo(zone)).date()


def day_bounds(day: date, zone: str) -> tuple[int, int]:
    """Return the first and the last instant of a local day. [ms]."""
    first, after = (to_ms(datetime.combine(each, time(0), ZoneInfo(zone))) for each in (day, day + timedelta(days=1)))
    return first, after - 1


def back_by(opened_ms: int | None, now_ms: int, zone: str) -> int:
    """Return when somebody is to be there again [ms]: at the time of day of the last opening, or at six."""
    if opened_ms is None:
        return next_time(_OPENS_AT, now_ms, zone)
    return next_time(to_datetime(opened_ms).astimezone(ZoneInfo(zone)).time().replace(microsecond=0), now_ms, zone)


def next_time(at: time, now_ms: int, zone: str) -> int:
    """Return the next instant at which the site's clocks show a time of day. [ms]."""
    today = local_date(now_ms, zone)
    days = (to_ms(datetime.combine(today + timedelta(days=n), at, ZoneInfo(zone))) for n in range(3))
    return next(found for found in days if found > now_ms)


def read_back(text: str, now_ms: int, zone: str) -> int:
    """Read when somebody is there again: a time of day, the next one, or a whole instant. [ms].

    Raises
    ------
    ConfigError
        If it is neither, or over.
    """
    try:
        return next_time(time.fromisoformat(text.strip()), now_ms, zone)
    except ValueError:
        pass
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError as exc:
        raise ConfigError(_("{text!r} is not a time: write 06:00, or 2026-11-24T06:00").format(text=text)) from exc
    found = to_ms(at if at.tzinfo is not None else at.replace(tzinfo=ZoneInfo(zone)))
    if found <= now_ms:
        raise ConfigError(_("{text!r} is over: say when somebody is there again").format(text=text))
    return found


def when_started(closed_ms: int | None, now_ms: int) -> tuple[int, bool]:
    """Return since when an opening looks back [ms], and whether that is a closing that was recorded.

    Parameters
    ----------
    closed_ms : the last closing, ``None`` if there was none. [ms]
    now_ms : the present. [ms]
    """
    recorded = closed_ms is not None and now_ms - closed_ms <= 7 * MS_PER_DAY
    return (closed_ms or 0, True) if recorded else (now_ms - _LOOKS_BACK_MS, False)
