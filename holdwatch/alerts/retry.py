"""When to try again what a channel did not take.

===================================  =============================================================
since it was queued                  next try
===================================  =============================================================
up to 1 h                            after 5 s, 10 s, 20 s … at most 5 min, each ± 25 %
1 h, or at once if the URL is wrong  shown as *undelivered*; tried every hour from then on
3 days, or the matter is over        never again; it stays *undelivered* and shown
===================================  =============================================================

A deviation, and what is not shown, is news also when it is over: only warnings and faults of the system are over.
"""

from dataclasses import dataclass

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE, MS_PER_SECOND

__all__ = ["NextTry", "next_try"]

_FIRST_WAIT_MS = 5 * MS_PER_SECOND
_LONGEST_WAIT_MS = 5 * MS_PER_MINUTE
_UNDELIVERED_AFTER_MS = MS_PER_HOUR
_SLOW_WAIT_MS = MS_PER_HOUR
_NEVER_AFTER_MS = 3 * MS_PER_DAY
_MOST_DOUBLINGS = 10


@dataclass(frozen=True)
class NextTry:
    """When an alert is tried again (``None``: never), and whether it is shown as undelivered meanwhile."""

    at_ms: int | None
    undelivered: bool


def next_try(*, failures: int, queued_ms: int, now_ms: int, retryable: bool, over: bool, jitter: float) -> NextTry:
    """Return when to try again after the `failures`-th failure in a row.

    Parameters
    ----------
    retryable : whether the same URL can work at all.
    over : whether the matter is no longer worth a message.
    jitter : from 0 to 1; it spreads many alerts that failed together.
    """
    age_ms = now_ms - queued_ms
    spread = 0.75 + 0.5 * jitter
    if retryable and age_ms < _UNDELIVERED_AFTER_MS:
        wait_ms = min(_FIRST_WAIT_MS << min(failures - 1, _MOST_DOUBLINGS), _LONGEST_WAIT_MS)
        return NextTry(now_ms + round(wait_ms * spread), undelivered=False)
    if over or age_ms >= _NEVER_AFTER_MS:
        return NextTry(None, undelivered=True)
    return NextTry(now_ms + round(_SLOW_WAIT_MS * spread), undelivered=True)
