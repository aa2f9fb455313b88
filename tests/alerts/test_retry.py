"""When a message that was not taken is tried again."""

import pytest

from holdwatch.alerts.retry import NextTry, next_try

SECOND, MINUTE, HOUR, DAY = 1_000, 60_000, 3_600_000, 86_400_000


def _next(failures: int, age_ms: int, *, retryable: bool = True, over: bool = False, jitter: float = 0.5) -> NextTry:
    """Ask for an alert queued at 0."""
    return next_try(failures=failures, queued_ms=0, now_ms=age_ms, retryable=retryable, over=over, jitter=jitter)


@pytest.mark.parametrize(
    ("failures", "wait_ms"),
    [(1, 5 * SECOND), (2, 10 * SECOND), (3, 20 * SECOND), (6, 160 * SECOND), (7, 5 * MINUTE), (500, 5 * MINUTE)],
)
def test_next_try_doubles_up_to_five_minutes(failures: int, wait_ms: int) -> None:
    """Each failure doubles the wait, and no wait is longer than five minutes."""
    assert _next(failures, MINUTE) == NextTry(MINUTE + wait_ms, undelivered=False)


@pytest.mark.parametrize(("jitter", "wait_ms"), [(0.0, 3_750), (1.0, 6_250)])
def test_next_try_is_spread_by_a_quarter(jitter: float, wait_ms: int) -> None:
    """Alerts that failed together do not all come back at once."""
    assert _next(1, 0, jitter=jitter).at_ms == wait_ms


def test_next_try_after_an_hour_shows_undelivered_and_goes_on_hourly() -> None:
    """An alert not taken for an hour is shown, and still tried."""
    assert _next(40, HOUR) == NextTry(2 * HOUR, undelivered=True)


def test_next_try_with_a_wrong_url_shows_undelivered_at_once() -> None:
    """A URL that cannot work is not hidden behind an hour of tries."""
    assert _next(1, 0, retryable=False) == NextTry(HOUR, undelivered=True)


def test_next_try_after_three_days_ends() -> None:
    """Three days later nobody is woken."""
    assert _next(99, 3 * DAY) == NextTry(None, undelivered=True)


def test_next_try_of_what_is_over_ends_after_the_first_hour() -> None:
    """A warning that has passed is not sent hours later."""
    assert _next(40, HOUR, over=True) == NextTry(None, undelivered=True)
    assert _next(1, 0, over=True).at_ms == 5 * SECOND
