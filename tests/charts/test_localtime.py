"""The site's clock on an axis."""

from datetime import datetime
from itertools import pairwise

import pytest

from holdwatch.charts.localtime import TimeAxis
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, to_iso, to_ms
from tests.charts.kitchen import ZONE, at


def test_ticks_over_the_spring_change_leave_out_the_missing_hour() -> None:
    """On 8 March 2026 there is no 02:00 in Denver."""
    axis = TimeAxis(at(2026, 3, 8, 0), at(2026, 3, 8, 6), ZONE)
    ticks = axis.ticks(8)
    assert [tick.label[0] for tick in ticks] == ["00:00", "01:00", "03:00", "04:00", "05:00", "06:00"]
    assert {b.minutes - a.minutes for a, b in pairwise(ticks)} == {60}


@pytest.mark.parametrize("most", [2, 4, 8, 12])
@pytest.mark.parametrize("span_ms", [20 * 60_000, 3 * MS_PER_HOUR, 9 * MS_PER_HOUR, MS_PER_DAY, 9 * MS_PER_DAY])
def test_ticks_are_few_and_on_whole_local_times(span_ms: int, most: int) -> None:
    """No more ticks than there is room for, each at its place."""
    begin = at(2026, 10, 14, 10, 12)
    ticks = TimeAxis(begin, begin + span_ms, ZONE).ticks(most)
    assert 1 <= len(ticks) <= most + 1
    assert [t.minutes for t in ticks] == sorted({t.minutes for t in ticks})


def test_ticks_of_a_zone_with_a_half_hour_stand_on_its_hours() -> None:
    """Adelaide's hours are half past those of UTC."""
    begin = at(2026, 6, 1, 10, 0)
    axis = TimeAxis(begin, begin + 6 * MS_PER_HOUR, "Australia/Adelaide")
    assert {tick.label[0][-2:] for tick in axis.ticks(8)} == {"00"}
    assert {tick.minutes % 60 for tick in axis.ticks(8)} == {30}


def test_ticks_of_a_year_are_months() -> None:
    """A year's trace is marked by months."""
    axis = TimeAxis(at(2026, 1, 1, 0), at(2026, 12, 31, 0), ZONE)
    assert [tick.label[0] for tick in axis.ticks(12)][:3] == ["Jan", "Feb", "Mar"]


@pytest.mark.parametrize(
    ("zone", "from_ms", "until_ms", "expected"),
    [
        # Nepal is at UTC+5:45: its midnights stand on no half hour of UTC
        ("Asia/Kathmandu", "2026-01-01T00:00:00Z", "2026-12-31T00:00:00Z", "2026-01-31T18:15:00Z"),
        # tz database, southamerica: Chile's clocks went from 24:00 of 7 September 2024 to 01:00, so the 8th has no midnight
        ("America/Santiago", "2024-09-07T12:00:00Z", "2024-09-10T12:00:00Z", "2024-09-09T03:00:00Z"),
        # and from 24:00 of 6 April 2024 back to 23:00; the 7th has one midnight, the later
        ("America/Santiago", "2024-04-06T12:00:00Z", "2024-04-09T12:00:00Z", "2024-04-07T04:00:00Z"),
    ],
)
def test_midnights_of_zones_that_are_unlike_denver(zone: str, from_ms: str, until_ms: str, expected: str) -> None:
    """A day or month is marked where the zone's clock really showed midnight."""
    axis = TimeAxis(*(to_ms(datetime.fromisoformat(each)) for each in (from_ms, until_ms)), zone)
    first = axis._midnights(lambda at: at.day == 1 or axis.until_ms - axis.from_ms < 4 * MS_PER_DAY)[0]
    assert to_iso(first) == expected
