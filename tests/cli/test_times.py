"""Instants and temperatures as people write them."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.cli.times import celsius_of, instant, local
from holdwatch.clock import to_datetime, to_ms
from holdwatch.errors import ConfigError

DENVER = "America/Denver"
NOW_MS = to_ms(datetime(2026, 11, 24, 22, 0, tzinfo=UTC))  # 15:00 in Denver


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("2026-11-24T14:30-07:00", datetime(2026, 11, 24, 21, 30, tzinfo=UTC)),
        ("2026-11-24T21:30Z", datetime(2026, 11, 24, 21, 30, tzinfo=UTC)),
        ("2026-11-24T14:30", datetime(2026, 11, 24, 21, 30, tzinfo=UTC)),
        ("2026-11-24 14:30", datetime(2026, 11, 24, 21, 30, tzinfo=UTC)),
        ("14:30", datetime(2026, 11, 24, 21, 30, tzinfo=UTC)),
        ("14:30:15.250", datetime(2026, 11, 24, 21, 30, 15, 250_000, tzinfo=UTC)),
        ("now", to_datetime(NOW_MS)),
        ("Now", to_datetime(NOW_MS)),
    ],
)
def test_instant_is_read_as_people_write_it(written: str, meant: datetime) -> None:
    """With an offset, by the site's clock, as a time of today, or now."""
    assert instant(written, DENVER, NOW_MS) == to_ms(meant)


def test_instant_of_summer_uses_the_offset_of_summer() -> None:
    """The zone decides the offset of the day that is meant, not of today."""
    assert instant("2026-07-01T12:00", DENVER, NOW_MS) == to_ms(datetime(2026, 7, 1, 18, tzinfo=UTC))


def test_instant_that_the_clocks_showed_twice_is_refused() -> None:
    """On 2026-11-01 the hour from 1:00 came twice in Denver."""
    with pytest.raises(ConfigError, match=r"was twice on the clocks of America/Denver.*-06:00 or -07:00"):
        instant("2026-11-01T01:30", DENVER, NOW_MS)
    early = instant("2026-11-01T01:30-06:00", DENVER, NOW_MS)
    assert instant("2026-11-01T01:30-07:00", DENVER, NOW_MS) - early == 3_600_000


def test_instant_that_the_clocks_never_showed_is_refused() -> None:
    """On 2026-03-08 the hour from 2:00 was skipped in Denver."""
    with pytest.raises(ConfigError, match=r"was never on the clocks of America/Denver"):
        instant("2026-03-08T02:30", DENVER, NOW_MS)


@pytest.mark.parametrize("written", ["", "yesterday", "2026-11-24", "25:00", "2026-13-01T10:00", "24 Nov", "12"])
def test_instant_that_is_none_is_refused(written: str) -> None:
    """A day alone is no instant either."""
    with pytest.raises(ConfigError, match="is no instant: write"):
        instant(written, DENVER, NOW_MS)


def test_instant_in_the_future_is_refused() -> None:
    """What has not happened is not recorded; a clock may differ by two minutes."""
    assert instant("15:02", DENVER, NOW_MS) == NOW_MS + 120_000
    with pytest.raises(ConfigError, match="lies in the future"):
        instant("15:03", DENVER, NOW_MS)


@given(
    at_ms=st.integers(min_value=0, max_value=NOW_MS),
    offset_min=st.integers(min_value=-14 * 60, max_value=14 * 60),
)
def test_instant_with_an_offset_is_read_exactly(at_ms: int, offset_min: int) -> None:
    """Whatever the offset, the instant is the same."""
    written = to_datetime(at_ms).astimezone(timezone(timedelta(minutes=offset_min))).isoformat()
    assert instant(written, DENVER, NOW_MS) == at_ms


def test_local_names_the_zone() -> None:
    """A time shown to a person says by which clock."""
    assert local(NOW_MS, DENVER) == "2026-11-24 15:00 MST"


@pytest.mark.parametrize(
    ("written", "celsius"), [("68F", 20.0), ("20.5C", 20.5), ("41 °F", 5.0), ("-18C", -18.0), ("\u221218 °C", -18.0)]
)
def test_celsius_of_reads_a_figure_and_its_unit(written: str, celsius: float) -> None:
    """As it is printed, or as it is typed."""
    assert celsius_of(written) == celsius


@pytest.mark.parametrize("written", ["68", "F", "68K", "sixty F", "nanC", "infF"])
def test_celsius_of_what_is_no_temperature_is_refused(written: str) -> None:
    """A figure without its unit is never guessed at."""
    with pytest.raises(ConfigError, match="is no temperature"):
        celsius_of(written)


def test_celsius_of_what_no_food_has_is_refused() -> None:
    """A slip of the finger is said back."""
    with pytest.raises(ConfigError, match="no temperature of food"):
        celsius_of("680F")
