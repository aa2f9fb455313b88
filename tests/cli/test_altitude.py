"""The altitude of the kitchen is kept with the site, and taken where no option says another."""

from pathlib import Path

import pytest

from tests.support.commands import SITE, printed, refused, succeed


@pytest.fixture
def denver(tmp_path: Path) -> Path:
    """A kitchen a mile up."""
    data = tmp_path / "kitchen"
    succeed("init", "--data", data, *SITE, "--altitude", "5280ft")
    succeed("probe", "add", "p1", "--medium", "food", "--data", data)
    return data


def test_what_was_said_once_is_taken(denver: Path) -> None:
    """By the boiling point, the stages of sugar and a check of a probe; an option says another."""
    said = printed("boil", "--data", denver)
    assert said == printed("boil", "--altitude", "5280ft")
    assert said["boils_at_c"] < 96
    assert printed("boil", "--altitude", "0ft", "--data", denver)["boils_at_c"] > 99
    assert printed("boil", "--pressure", "1013hPa", "--data", denver)["boils_at_c"] > 99
    assert printed("syrup", "--data", denver) == printed("syrup", "--altitude", "5280ft")
    check = printed("probe", "check", "p1", "--boiling", "212F", "--data", denver)
    assert check["outcome"] == "beyond"


def test_a_kitchen_that_did_not_say_is_asked(kitchen: Path) -> None:
    """As without a kitchen."""
    assert "say where" in refused("boil", "--data", kitchen)


def test_what_is_no_altitude_of_a_kitchen_is_refused(tmp_path: Path) -> None:
    """In one line, and no site is made."""
    for text in ("high", "30000ft"):
        refused("init", "--data", tmp_path / text, *SITE, "--altitude", text)
