"""The site's own local days, cut with its time zone: 23, 24 or 25 hours long."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE, to_datetime, to_ms

__all__ = ["SETTLED_AFTER_MS", "STOOD_MS", "day_after", "day_of", "day_span", "days_between"]

SETTLED_AFTER_MS = 15 * MS_PER_MINUTE
"""Ours: a day is judged for good so long after its end. What comes by then still shows what its last readings were."""

STOOD_MS = 2 * MS_PER_HOUR
"""Ours: for so long a unit must have kept the limit, without a hole, to show that what stood in it was cold."""


def day_of(at_ms: int, timezone: str) -> str:
    """Return the local day of an instant, as ``2026-11-24``."""
    return to_datetime(at_ms).astimezone(ZoneInfo(timezone)).date().isoformat()


def day_span(day: str, timezone: str) -> tuple[int, int]:
    """Return the first and the last millisecond of a local day."""
    begins = date.fromisoformat(day)
    return _midnight(begins, timezone), _midnight(begins + timedelta(days=1), timezone) - 1


def day_after(name: str, days: int = 1) -> str:
    """Return the local day so many days after one."""
    return (date.fromisoformat(name) + timedelta(days=days)).isoformat()


def days_between(first_ms: int, last_ms: int, timezone: str) -> list[str]:
    """Return the local days that a span touches, in order."""
    if last_ms < first_ms:
        return []
    first, last = (date.fromisoformat(day_of(at, timezone)) for at in (first_ms, last_ms))
    return [(first + timedelta(days=n)).isoformat() for n in range((last - first).days + 1)]


def _midnight(day: date, timezone: str) -> int:
    return to_ms(datetime.combine(day, time(0), ZoneInfo(timezone)))
