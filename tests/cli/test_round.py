"""``holdwatch round``."""

from pathlib import Path

from holdwatch.cli.unit_rest import Why
from holdwatch.storage.out_of_use import Purpose
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


def test_a_unit_is_taken_out_of_use_and_comes_back(kitchen: Path) -> None:
    """Whoever forgets food in it is warned at once."""
    succeed("batch", "note", "L1", "moved", "--unit", "Walk-in 1", "--data", kitchen)
    words = succeed("unit", "out-of-use", "Walk-in 1", "--why", "defrosted", "--data", kitchen)
    assert "Pastry cream L1 is recorded as standing in it" in words
    assert "Walk-in 1: out of use since" in succeed("round", "closing", "--data", kitchen)
    assert "back in use" in succeed("unit", "in-use", "Walk-in 1", "--data", kitchen)
    assert "was not out of use" in refused("unit", "in-use", "Walk-in 1", "--data", kitchen)
    ahead = ("--from", "2099-01-01T10:00", "--data", kitchen)
    assert "more than a year ahead" in refused("unit", "out-of-use", "--all", *ahead)
    assert "name one unit" in refused("unit", "out-of-use", "--data", kitchen)
    assert "name one unit" in refused("unit", "out-of-use", "Walk-in 1", "--all", "--data", kitchen)


def test_the_words_of_the_command_are_those_of_the_store() -> None:
    """Help knows them without a database library."""
    assert [each.value for each in Why] == [each.value for each in Purpose]
