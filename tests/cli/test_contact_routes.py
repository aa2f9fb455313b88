"""``holdwatch contact route``: who is told when, set and read on a console."""

from pathlib import Path

import pytest

from holdwatch.cli.routes import read_days, read_hours
from holdwatch.errors import ConfigError
from tests.support.commands import printed, refused, succeed


@pytest.fixture
def told(kitchen: Path) -> Path:
    """A kitchen with somebody who is told."""
    succeed("contact", "add", "mgr", "--url", "json://127.0.0.1:9/hook", "--data", kitchen)
    return kitchen


def test_routes_are_set_read_and_ended(told: Path) -> None:
    """What was set is read back in words and for a program."""
    assert "everything, at once" in succeed("contact", "routes", "--data", told)
    where = ("--kind", "deviation", "--unit", "Walk-in 1", "--days", "fri,sat", "--hours", "22:00-05:00")
    succeed("contact", "route", "mgr", *where, "--data", told)
    succeed("contact", "route", "mgr", "--after", "15", "--data", told)
    words = succeed("contact", "routes", "--data", told)
    assert "deviation, of Walk-in 1, on fri, sat, 22:00–05:00, at once" in words
    assert "everything, if nobody has seen it for 15 min" in words
    ((first, second),) = [row["routes"] for row in printed("contact", "routes", "--data", told)]
    assert (first["days"], first["from_min"], first["to_min"], second["after_ms"]) == ([4, 5], 1320, 300, 900_000)
    assert "2 ended" in succeed("contact", "route", "mgr", "--clear", "--data", told)
    assert "everything, at once" in succeed("contact", "routes", "--data", told)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--kind", "deviations"), "is no kind of finding"),
        (("--unit", "Walk-in 9"), "did you mean 'Walk-in 1'"),
        (("--days", "fry"), "is no weekday"),
        (("--hours", "22-"), "are no hours"),
        (("--hours", "08:00-08:00"), "would never be on"),
    ],
)
def test_what_cannot_be_a_route_is_refused_in_one_line(told: Path, words: tuple[str, ...], said: str) -> None:
    """And nothing is set."""
    assert said in refused("contact", "route", "mgr", *words, "--data", told)
    assert "everything, at once" in succeed("contact", "routes", "--data", told)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("", (0, 1440)),
        ("22:00-05:00", (1320, 300)),
        ("5-22", (300, 1320)),
        ("14:30-24:00", (870, 1440)),
        ("8-0", (480, 1440)),
    ],
)
def test_hours_as_people_write_them(text: str, minutes: tuple[int, int]) -> None:
    """Midnight is the end of a day as well as its beginning."""
    assert read_hours(text) == minutes


def test_days_as_people_write_them() -> None:
    """Whole or short, in any order."""
    assert read_days("Monday, sun") == [0, 6]
    with pytest.raises(ConfigError, match="no weekday"):
        read_days("someday")
