"""``holdwatch delivery``."""

from pathlib import Path

from holdwatch.cli.delivery import Came
from holdwatch.storage.said import DELIVERIES
from tests.support.commands import printed, refused, succeed


def test_a_delivery_is_recorded_and_listed(kitchen: Path) -> None:
    """Taken with a lot it begins a batch; refused it begins none."""
    cream = ("Whipping cream", "--supplier", "Front Range Dairy", "--data", kitchen)
    words = succeed("delivery", "record", *cream, "--reading", "39F", "--taken", "--lot", "WC-1")
    assert "is taken" in words
    assert "Batch WC-1 is started" in words
    succeed("delivery", "record", *cream, "--reading", "46F", "--refused", "--why", "46 °F")
    rows = printed("delivery", "list", "--data", kitchen)
    assert [(row["shows"], row["taken"], row["lot"], row["why"]) for row in rows] == [
        ("kept", True, "WC-1", None),
        ("deviation", False, None, "46 °F"),
    ]
    assert "refused: 46 °F" in succeed("delivery", "list", "--data", kitchen)
    assert "No delivery" in succeed("delivery", "list", "--day", "yesterday", "--data", kitchen)


def test_what_cannot_be_is_refused_in_one_line(kitchen: Path) -> None:
    """With what to do instead."""
    cream = ("Whipping cream", "--supplier", "Front Range Dairy", "--data", kitchen)
    assert "refuse it, or say why" in refused("delivery", "record", *cream, "--reading", "46F", "--taken")
    assert "say why it was refused" in refused("delivery", "record", *cream, "--refused")
    assert "its unit" in refused("delivery", "record", *cream, "--reading", "46", "--taken")


def test_the_words_of_the_command_are_those_of_the_store() -> None:
    """Help knows them without a database library."""
    assert tuple(f"receiving-{each.value}" for each in Came if each is not Came.DRY) == DELIVERIES
