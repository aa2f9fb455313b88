"""What is typed into the fields is read as the site's local time."""

from datetime import datetime
from types import SimpleNamespace
from typing import cast

import pytest

from dashboards.parts.forms import read_celsius, read_time
from holdwatch.clock import to_iso, to_ms
from holdwatch.errors import ConfigError
from holdwatch.quantities import Scale
from holdwatch.views.model import SiteView
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
        ("9:05", "2026-10-14T15:05:00Z"),
        ("905", "2026-10-14T15:05:00Z"),
        ("9.05", "2026-10-14T15:05:00Z"),  # by ISO 8601 a twentieth of the tenth hour: nobody means that
        ("9h05", "2026-10-14T15:05:00Z"),
        ("9:05 am", "2026-10-14T15:05:00Z"),
        ("2026-10-13 2:05 p.m.", "2026-10-13T20:05:00Z"),
        ("12:10 AM", "2026-10-14T06:10:00Z"),
    ],
)
def test_read_time_of_the_clock_on_the_wall(typed: str, utc: str) -> None:
    """A time of day is the latest one not in the future; a date and time is the site's own."""
    assert to_iso(read_time(typed, DENVER, NOW)) == utc


@pytest.mark.parametrize(
    "typed",
    [
        "soon",
        "25:00",
        "14.5",
        "13:05 pm",
        "2026-11-01 01:30",
        "2026-03-08 02:30",
        "9999-12-31 23:59",
        "0001-01-01 00:00",
    ],
)
def test_read_time_refuses_what_is_no_single_instant(typed: str) -> None:
    """No time at all, the hour that comes twice, and the hour that is left out are refused in words."""
    with pytest.raises(ConfigError, match="write"):
        read_time(typed, DENVER, NOW)


@pytest.mark.parametrize(
    ("scale", "typed"), [(Scale.F, "1000"), (Scale.F, "-500"), (Scale.C, "301"), (Scale.F, "301C")]
)
def test_a_temperature_of_no_food_is_refused_as_it_was_typed(scale: Scale, typed: str) -> None:
    """Who writes °F is told of °F; the ends are those of a thermometer of a kitchen, −60 to 300 °C, which is 572 °F."""
    ends = {Scale.F: "−76.°F to 572.°F", Scale.C: "−60.°C to 300.°C"}
    site = cast("SiteView", SimpleNamespace(scale=scale))
    with pytest.raises(ConfigError, match=f"“{typed}” is no temperature of food: write one from {ends[scale]}"):
        read_celsius(typed, site)
    assert read_celsius("300C", site) == 300.0


def test_the_morning_is_what_it_says() -> None:
    """The instant above is 11:42 in Denver, six hours behind UTC in October (IANA time zone database)."""
    assert to_iso(NOW) == "2026-10-14T17:42:00Z"
    assert to_ms(datetime.fromisoformat("2026-10-14T11:42:00-06:00")) == NOW
