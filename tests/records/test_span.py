"""Spans as people write them, and the local days in them."""

import itertools
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from holdwatch.clock import to_ms
from holdwatch.errors import ConfigError
from holdwatch.records.span import Span, local_days, parse_span, start_of_day

DENVER = ZoneInfo("America/Denver")
NOW = to_ms(datetime(2026, 11, 24, 21, 7, tzinfo=UTC))


def _utc(*parts: int) -> int:
    """Return an instant in UTC."""
    return to_ms(datetime(*parts, tzinfo=UTC))  # type: ignore[misc,arg-type]


def test_parse_span_days_cover_both_days_whole() -> None:
    """From the first local midnight to the last millisecond of the last day."""
    span = parse_span("2026-11-10", "2026-11-24", "America/Denver", NOW)
    assert span == Span(_utc(2026, 11, 10, 7), _utc(2026, 11, 25, 7) - 1)


def test_parse_span_instants_are_taken_as_written() -> None:
    """An instant with its offset needs no zone."""
    span = parse_span("2026-11-10T00:30-07:00", "2026-11-10T08:00Z", "America/Denver", NOW)
    assert span == Span(_utc(2026, 11, 10, 7, 30), _utc(2026, 11, 10, 8))


def test_parse_span_today_and_yesterday_are_the_days_of_the_site() -> None:
    """At nine in the evening in Greenwich it is still the afternoon of the same day in Denver."""
    assert parse_span("yesterday", "today", "America/Denver", NOW) == parse_span(
        "2026-11-23", "2026-11-24", "America/Denver", NOW
    )


def test_parse_span_without_ends_reaches_from_the_beginning_to_now() -> None:
    """What is not given leaves nothing out."""
    assert parse_span(None, None, "America/Denver", NOW) == Span(0, NOW)


@pytest.mark.parametrize(
    ("first", "last", "says"),
    [
        ("2026-11-24", "2026-11-10", "ends .* before it begins"),
        ("24.11.2026", None, "no day or instant"),
        ("2026-13-01", None, "no day or instant"),
        ("", None, "no day or instant"),
        ("2026-11-01T01:30", None, "happens twice in America/Denver"),
        ("2026-03-08T02:30", None, "does not exist in America/Denver"),
    ],
)
def test_parse_span_unusable_ends_say_what_to_do(first: str, last: str | None, says: str) -> None:
    """One clear line, and no guess at what was meant."""
    with pytest.raises(ConfigError, match=says):
        parse_span(first, last, "America/Denver", NOW)


@pytest.mark.parametrize(("day", "hours"), [("2026-11-01", 25), ("2026-03-08", 23), ("2026-11-24", 24)])
def test_local_days_have_the_length_of_their_clocks(day: str, hours: int) -> None:
    """A day on which the clocks are changed has 23 or 25 hours."""
    first = start_of_day(date.fromisoformat(day), DENVER)
    (only,) = local_days(Span(first, first + 3_600_000), DENVER)
    assert (only.day.isoformat(), only.hours) == (day, hours)


def test_local_days_touch_without_a_hole() -> None:
    """Each day ends where the next begins, over a whole year of a zone with half-hour offsets."""
    zone = ZoneInfo("Australia/Adelaide")
    days = list(local_days(Span(_utc(2026, 1, 1), _utc(2026, 12, 31)), zone))
    assert len(days) == 365
    assert all(a.last_ms + 1 == b.first_ms for a, b in itertools.pairwise(days))


def test_start_of_day_where_midnight_is_skipped_is_the_jump() -> None:
    """In Cairo the clocks go forward at midnight: the day begins at 01:00."""
    assert start_of_day(date(2026, 4, 24), ZoneInfo("Africa/Cairo")) == _utc(2026, 4, 23, 22)


def test_span_of_named_days_is_the_sites_own() -> None:
    """Today and yesterday are days of the site's calendar, not of UTC's."""
    now_ms = to_ms(datetime(2026, 11, 25, 3, 0, tzinfo=UTC))  # 20:00 of the 24th in Denver
    named = parse_span("yesterday", "today", "America/Denver", now_ms)
    assert named == parse_span("2026-11-23", "2026-11-24", "America/Denver", now_ms)
