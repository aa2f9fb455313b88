"""The only place that reads the time.

Everything else takes an instant as an argument. Inside the store and the rules an instant is a whole
number of milliseconds since 1970-01-01 UTC (``…_ms``); towards people it is an aware ``datetime`` (``…_at``).
"""

import time
from collections.abc import Callable
from datetime import UTC, datetime

MS_PER_SECOND = 1_000
MS_PER_MINUTE = 60_000
MS_PER_HOUR = 3_600_000
MS_PER_DAY = 86_400_000

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
