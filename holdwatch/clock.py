"""The only place that reads the time, and how an instant is written, for programs and for people.

Everything else takes an instant as an argument. Inside the store and the rules an instant is a whole
number of milliseconds since 1970-01-01 UTC (``…_ms``). Programs get it as ISO 8601 in UTC; people as the site's own
clock shows it, and an hour that comes twice in autumn says which it is.
"""

import time
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo

from holdwatch.language import _, short_day, spoken

MS_PER_SECOND = 1_000
MS_PER_MINUTE = 60_000
MS_PER_HOUR = 3_600_000
MS_PER_DAY = 86_400_000
_DASH = "\u2013"

Clock = Callable[[], int]
"""Anything that answers with the present instant in milliseconds; tests pass their own."""


def now_ms() -> int:
    """Return the present instant in milliseconds since 1970-01-01 UTC."""
    return time.time_ns() // 1_000_000


def monotonic_ms() -> int:
    """Return a clock that never goes back, in milliseconds from an arbitrary start."""
    return time.monotonic_ns() // 1_000_000


def to_ms(at: datetime) -> int:
    """Round an aware instant to whole milliseconds since 1970-01-01 UTC.

    Raises
    ------
    ValueError
        If `at` has no time zone.
    """
    if at.tzinfo is None:
        message = f"{at!r} has no time zone"
        raise ValueError(message)
    delta = at - datetime(1970, 1, 1, tzinfo=UTC)
    micros = (delta.days * 86_400 + delta.seconds) * 1_000_000 + delta.microseconds
    return (micros + 500) // 1_000


def to_datetime(at_ms: int) -> datetime:
    """Return the aware UTC datetime of an instant in milliseconds."""
    seconds, ms = divmod(at_ms, MS_PER_SECOND)
    return datetime.fromtimestamp(seconds, tz=UTC).replace(microsecond=ms * 1_000)


def to_iso(at_ms: int) -> str:
    """Write an instant as ISO 8601 in UTC, with milliseconds only where there are any."""
    at = to_datetime(at_ms)
    return at.isoformat(timespec="milliseconds" if at.microsecond else "seconds").replace("+00:00", "Z")


# ---------------------------------------------------------------- as the site's own clock shows it


@lru_cache(maxsize=64)
def zone_of(name: str) -> tzinfo:
    """Return a time zone by its name; making one anew takes longer than all the rest."""
    return ZoneInfo(name)


def local(at_ms: int, zone: str) -> datetime:
    """Return an instant on the site's clock."""
    return to_datetime(at_ms).astimezone(zone_of(zone))


def is_repeated(at_ms: int, zone: str) -> bool:
    """Tell whether the site's clock shows this time twice, in the night the clocks go back."""
    return _is_repeated(local(at_ms, zone))


def _is_repeated(at: datetime) -> bool:
    return at.replace(fold=0).utcoffset() != at.replace(fold=1).utcoffset()


def clock_time(at_ms: int, zone: str, *, seconds: bool = False) -> str:
    """Write the time of day; one that comes twice says which it is, as in ``01:30 MDT``."""
    at = local(at_ms, zone)
    written = at.strftime("%H:%M:%S" if seconds else "%H:%M")
    return f"{written} {zone_name(at)}" if _is_repeated(at) else written


def day_words(at_ms: int, zone: str) -> str:
    """Write the local day, as in ``Sun 1 Nov``."""
    return short_day(local(at_ms, zone).date())


def clock_words(at_ms: int, zone: str, *, seconds: bool = False, year: bool = False) -> str:
    """Write day and time with the zone told, as in ``Sun 1 Nov 01:30 MDT``."""
    return _clock_words(at_ms, zone, seconds, year, spoken())


@lru_cache(maxsize=4096)
def _clock_words(at_ms: int, zone: str, seconds: bool, year: bool, _language: str) -> str:
    """Write it once: a chart that draws itself again names the same hundreds of instants."""
    at = local(at_ms, zone)
    return f"{short_day(at.date(), year=year)} {at:%H:%M}{f':{at:%S}' if seconds else ''} {zone_name(at)}"


def span_words(from_ms: int, until_ms: int, zone: str) -> str:
    """Write a stretch of time, as in ``02:10–02:40``, ``02:10`` within a minute; over midnight the second day is told."""
    begin, until = clock_time(from_ms, zone), clock_time(until_ms, zone)
    if local(from_ms, zone).date() != local(until_ms, zone).date():
        until = f"{day_words(until_ms, zone)} {until}"
    return begin if begin == until else f"{begin}{_DASH}{until}"


def zone_words(from_ms: int, until_ms: int, zone: str) -> str:
    """Name the zone and what it is called over a stretch, as in ``Denver time (MDT, from 01:00 MST)``."""
    place = zone.rsplit("/", maxsplit=1)[-1].replace("_", " ")
    names = list(dict.fromkeys(zone_name(local(at, zone)) for at in (from_ms, until_ms)))
    return _("{place} time ({names})").format(place=place, names=_(", then ").join(names))


def zone_name(at: datetime) -> str:
    """Name the zone of an instant as its clocks do, as in ``MDT``; one without a name is told as ``UTC+0545``."""
    name = at.tzname() or ""
    return f"UTC{name}" if name.startswith(("+", "-")) else name
