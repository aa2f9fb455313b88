"""The site's clock in words."""

from datetime import UTC, datetime

import pytest

from holdwatch.charts.layers import both_units
from holdwatch.charts.theme import Look
from holdwatch.clock import MS_PER_HOUR, clock_time, clock_words, is_repeated, span_words, to_ms, zone_words
from holdwatch.language import speaking
from tests.charts.kitchen import ZONE, at


def test_clock_time_in_the_repeated_hour_names_its_zone() -> None:
    """01:30 comes twice on 1 November 2026 in Denver, and each says which it is."""
    first, second = at(2026, 11, 1, 1, 30), at(2026, 11, 1, 1, 30, fold=1)
    assert second - first == MS_PER_HOUR
    assert (clock_time(first, ZONE), clock_time(second, ZONE)) == ("01:30 MDT", "01:30 MST")
    assert is_repeated(first, ZONE)
    assert clock_time(at(2026, 11, 1, 2, 30), ZONE) == "02:30"


def test_span_words_over_midnight_tells_the_second_day() -> None:
    """A stretch that ends on another day says so."""
    assert span_words(at(2026, 10, 14, 23, 50), at(2026, 10, 15, 0, 40), ZONE) == "23:50–Thu 15 Oct 00:40"


def test_span_words_within_a_minute_tell_it_once() -> None:
    """One reading is no stretch; the two hours of a clock change are."""
    assert span_words(at(2026, 10, 14, 9, 19), at(2026, 10, 14, 9, 19) + 59_000, ZONE) == "09:19"
    assert span_words(at(2026, 11, 1, 1, 30), at(2026, 11, 1, 1, 30, fold=1), ZONE) == "01:30 MDT–01:30 MST"


def test_clock_words_tell_day_time_and_zone() -> None:
    """An instant that stands alone carries its day and zone."""
    assert clock_words(at(2026, 10, 14, 9, 5), ZONE) == "Wed 14 Oct 09:05 MDT"


def test_zone_words_over_a_change_name_both() -> None:
    """An axis over the change of clocks names both zones."""
    assert zone_words(at(2026, 10, 31, 22), at(2026, 11, 1, 6), ZONE) == "Denver time (MDT, then MST)"


@pytest.mark.parametrize(
    ("hour", "minute", "words"),
    [(7, 59, "Sun 1 Nov 01:59 MDT"), (8, 59, "Sun 1 Nov 01:59 MST")],
)
def test_clock_words_tell_the_two_hours_of_a_clock_change_apart(hour: int, minute: int, words: str) -> None:
    """At the end of summer time the same clock time comes twice; the zone tells which."""
    assert clock_words(to_ms(datetime(2026, 11, 1, hour, minute, tzinfo=UTC)), ZONE) == words


def test_a_zone_without_letters_is_named_by_its_offset() -> None:
    """The tz database gives São Paulo no abbreviation but ``-03``; an axis names it likewise."""
    assert clock_words(0, "America/Sao_Paulo", year=True) == "Wed 31 Dec 1969 21:00 UTC-03"
    assert zone_words(0, 1, "America/Sao_Paulo") == "Sao Paulo time (UTC-03)"


def test_an_instant_and_a_temperature_are_written_in_the_language_of_the_moment() -> None:
    """The same ones again, in another language: what was written before is not taken for it."""
    instant, look = at(2026, 10, 14, 9, 5), Look(ZONE)
    for _again in range(2):
        assert clock_words(instant, ZONE) == "Wed 14 Oct 09:05 MDT"
        assert both_units(3.5, look).startswith("38.3")
        with speaking("fr"):
            assert clock_words(instant, ZONE) == "mer. 14 oct. 09:05 MDT"
            assert both_units(3.5, look).startswith("38,3")
