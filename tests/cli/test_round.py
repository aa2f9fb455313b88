"""``holdwatch round``."""

from pathlib import Path

from tests.support.commands import printed, refused, succeed


def test_closing_is_listed_and_recorded(kitchen: Path) -> None:
    """For a person and for a program; only --done records it."""
    succeed("batch", "start", "--product", "Lemon curd", "--lot", "C1", "--data", kitchen)
    words = succeed("round", "closing", "--back", "05:30", "--data", kitchen)
    assert "Nobody measures it" in words
    assert "Lemon curd C1: no probe is in it" in words
    assert "Not recorded yet" in words
    told = printed("round", "closing", "--data", kitchen)
    assert told["recorded"] is False
    assert ["Nobody measures it", "Lemon curd C1"] in [[row["part"], row["about"]] for row in told["parts"]]
    assert "gone through by Ines" in succeed("round", "closing", "--done", "--by", "Ines", "--data", kitchen)
    assert "Since the closing that Ines went through" in succeed("round", "opening", "--data", kitchen)
    assert "opening gone through by Tomas" in succeed("round", "opening", "--done", "--by", "Tomas", "--data", kitchen)


def test_nothing_cooled_explains_an_empty_day(kitchen: Path) -> None:
    """Not a day on which a batch was started."""
    assert "2026-01-05" in succeed("round", "nothing-cooled", "--day", "2026-01-05", "--data", kitchen)
    assert "recorded already" in refused("round", "nothing-cooled", "--day", "2026-01-05", "--data", kitchen)
    assert "something was cooled: L1" in refused("round", "nothing-cooled", "--data", kitchen)
    assert "is no day" in refused("round", "nothing-cooled", "--day", "yesterday", "--data", kitchen)


def test_a_time_that_is_none_is_refused(kitchen: Path) -> None:
    """With what to write instead."""
    assert "write 06:00" in refused("round", "closing", "--back", "early", "--data", kitchen)
    assert "is over" in refused("round", "closing", "--back", "2020-01-01T06:00", "--data", kitchen)
