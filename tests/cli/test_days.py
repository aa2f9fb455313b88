"""``holdwatch days``."""

from pathlib import Path

from tests.support.commands import printed, refused, succeed


def test_a_day_is_gone_over_and_reviewed(kitchen: Path) -> None:
    """What is not in order, by whom it was reviewed, and that it was not signed."""
    said = succeed("days", "yesterday", "--data", kitchen)
    assert "Nobody has reviewed these days" in said
    said = succeed("days", "yesterday", "--reviewed", "--by", "Ines", "--data", kitchen)
    assert "Reviewed by Ines, unsigned" in said
    facts = printed("days", "--data", kitchen)
    assert (facts["reviewed"]["by"], facts["reviewed"]["signed"], facts["changed_since"]) == ("Ines", False, [])


def test_what_changes_afterwards_is_told(kitchen: Path) -> None:
    """An entry for yesterday that was made after the review."""
    from datetime import datetime, timedelta
    from zoneinfo import ZoneInfo

    noon = (datetime.now(ZoneInfo("America/Denver")) - timedelta(days=1)).strftime("%Y-%m-%dT12:00")
    succeed("days", "yesterday", "--reviewed", "--by", "Ines", "--data", kitchen)
    succeed("batch", "note", "L1", "note", "door", "--at", noon, "--data", kitchen)
    assert "CHANGED SINCE  note" in succeed("days", "yesterday", "--data", kitchen)


def test_what_is_no_day_is_refused(kitchen: Path) -> None:
    """In one line."""
    assert "is no day" in refused("days", "lately", "--data", kitchen)
    assert "not over yet" in refused("days", "2999-01-01", "--reviewed", "--by", "Ines", "--data", kitchen)
    assert "say --reviewed" in refused("days", "--sign", "--data", kitchen)
