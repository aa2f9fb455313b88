"""What is typed into the fields is read as the site's local time."""

from datetime import datetime

import pytest

from dashboards.parts.forms import read_time
from holdwatch.clock import to_iso, to_ms
from holdwatch.errors import ConfigError
from tests.charts.kitchen import at

DENVER = "America/Denver"
NOW = at(2026, 10, 14, 11, 42)


@pytest.mark.parametrize(
    ("typed", "utc"),
    [
        ("11:30", "2026-10-14T17:30:00Z"),  # MDT is UTC−6
        ("11:42", "2026-10-14T17:42:00Z"),
        ("23:50", "2026-10-14T05:50:00Z"),  # later than now: the evening before
        ("2026-10-13 08:00", "2026-10-13T14:00:00Z"),
        ("2026-10-13T08:00-06:00", "2026-10-13T14:00:00Z"),
    ],
)
def test_read_time_of_the_clock_on_the_wall(typed: str, utc: str) -> None:
    """A time of day is the latest one not in the future; a date and time is the site's own."""
    assert to_iso(read_time(typed, DENVER, NOW)) == utc


@pytest.mark.parametrize("typed", ["soon", "25:00", "2026-11-01 01:30", "2026-03-08 02:30"])
def test_read_time_refuses_what_is_no_single_instant(typed: str) -> None:
    """No time at all, the hour that comes twice, and the hour that is left out are refused in words."""
    with pytest.raises(ConfigError, match="write"):
        read_time(typed, DENVER, NOW)


def test_the_morning_is_what_it_says() -> None:
    """The instant above is 11:42 in Denver, six hours behind UTC in October (IANA time zone database)."""
    assert to_iso(NOW) == "2026-10-14T17:42:00Z"
    assert to_ms(datetime.fromisoformat("2026-10-14T11:42:00-06:00")) == NOW
