"""``holdwatch contact route``: who is told when, set and read on a console."""

from pathlib import Path

import pytest

from holdwatch.errors import ConfigError
from holdwatch.storage.hours import check_quiet, read_days, read_hours
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


@pytest.mark.parametrize(
    ("text", "kept"),
    [("", ""), ("22-5", "22:00-05:00"), (" 22:30-05:00 ", "22:30-05:00"), ("22:00-24:00", "22:00-00:00")],
)
def test_quiet_hours_are_kept_in_one_form(text: str, kept: str) -> None:
    """However they were typed; what was kept is read again as it is."""
    assert check_quiet(text) == kept == check_quiet(kept)


@pytest.mark.parametrize("hours", ["25:00-05:00", "22:00", "05:00-05:00", "00:00-24:00", "ten to five"])
def test_what_cannot_be_quiet_hours_is_refused(told: Path, hours: str) -> None:
    """None are set."""
    assert "22:00-05:00" in refused("contact", "quiet", hours, "--data", told)
    assert succeed("contact", "quiet", "--data", told) == "No quiet hours: everything rings at once.\n"


def test_quiet_hours_are_set_and_taken_back_with_their_history(told: Path) -> None:
    """With who set them; another change of the site leaves them as they are."""
    assert succeed("contact", "quiet", "22-5", "--by", "Ines", "--data", told).startswith("Quiet hours: 22:00-05:00.")
    succeed("site", "--unit", "C", "--data", told)
    succeed("contact", "quiet", "--clear", "--by", "Mara", "--data", told)
    found = printed("contact", "quiet", "--data", told)
    assert found["quiet"] == ""
    assert [(each["quiet"], each["by"]) for each in found["changes"]] == [("", "Mara"), ("22:00-05:00", "Ines")]
    assert "not both" in refused("contact", "quiet", "22-5", "--clear", "--data", told)


def test_who_is_told_no_more_is_on_no_list(told: Path) -> None:
    """The name stays taken: the record says whom it meant."""
    assert succeed("contact", "end", "mgr", "--data", told) == "mgr is told no more.\n"
    assert "Nobody is told yet" in succeed("contact", "routes", "--data", told)
    assert "mgr" in refused("contact", "route", "mgr", "--after", "5", "--data", told)
    assert "another name" in refused("contact", "add", "mgr", "--url", "json://127.0.0.1:9/x", "--data", told)
