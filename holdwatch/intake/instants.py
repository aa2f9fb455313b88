"""Which instant a reading gets, and where a reading without a known one is kept.

The device's own instant counts when it is plausible: from thirty days before to two minutes after its arrival.
A value without an instant takes its arrival if it came live; retained by the broker, or queued there while we
were away, its instant is unknown: it is kept, and never judged.
"""

from collections.abc import Callable
from dataclasses import dataclass

from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.intake.decoded import Decoded
from holdwatch.storage.tables import ReadingFlag

__all__ = ["EARLIEST_MS", "LATEST_MS", "Dated", "date", "free_after", "free_before", "is_plausible"]

EARLIEST_MS = 30 * MS_PER_DAY
LATEST_MS = 2 * MS_PER_MINUTE


@dataclass(frozen=True, slots=True)
class Dated:
    """The instant of a reading, and what is known of it."""

    at_ms: int
    flag: ReadingFlag


def date(value: Decoded, arrival_ms: int, *, live: bool) -> Dated:
    """Decide the instant of a value that arrived at `arrival_ms`."""
    if value.at_ms is not None:
        if is_plausible(value.at_ms, arrival_ms):
            return Dated(value.at_ms, ReadingFlag.OWN_INSTANT)
        return Dated(arrival_ms, ReadingFlag.IMPLAUSIBLE_INSTANT)
    if not live:
        return Dated(arrival_ms, ReadingFlag.UNKNOWN_INSTANT)
    at_ms = arrival_ms + value.offset_ms
    if is_plausible(at_ms, arrival_ms):
        return Dated(at_ms, ReadingFlag.ARRIVAL_INSTANT)
    return Dated(arrival_ms, ReadingFlag.IMPLAUSIBLE_INSTANT)


def is_plausible(at_ms: int, arrival_ms: int) -> bool:
    """Return whether a stated instant can be; both ends are included."""
    return arrival_ms - EARLIEST_MS <= at_ms <= arrival_ms + LATEST_MS


def free_after(at_ms: int, is_taken: Callable[[int], bool]) -> int:
    """Return the first millisecond from `at_ms` on that no other reading of the probe has."""
    while is_taken(at_ms):
        at_ms += 1
    return at_ms


def free_before(at_ms: int, is_taken: Callable[[int], bool]) -> int:
    """Return the last millisecond up to `at_ms` that no other reading of the probe has.

    What has no known instant is laid down backwards, so that a burst of it never pushes a live reading aside.
    """
    while is_taken(at_ms):
        at_ms -= 1
    return at_ms
