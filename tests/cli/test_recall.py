"""``holdwatch recall``."""

from pathlib import Path

from tests.support.commands import printed, refused, succeed


def test_a_recall_is_answered_in_one_step(kitchen: Path) -> None:
    """By lot and by unit, for a person and for a program."""
    succeed("batch", "start", "--product", "Cake", "--lot", "C1", "--data", kitchen)
    succeed("batch", "add", "C1", "L1", "--data", kitchen)
    succeed("batch", "note", "L1", "moved", "--unit", "Walk-in 1", "--data", kitchen)
    assert [(row["lot"], row["why"]) for row in printed("recall", "--lot", "L1", "--data", kitchen)] == [
        ("L1", "itself"),
        ("C1", "contains it"),
    ]
    words = succeed("recall", "--unit", "Walk-in 1", "--from", "today", "--data", kitchen)
    assert "stood there" in words
    assert "may have stood there" in words


def test_a_question_that_is_none_is_refused_in_one_line(kitchen: Path) -> None:
    """What to ask instead."""
    assert "ask of one thing" in refused("recall", "--data", kitchen)
    assert "ask of one thing" in refused("recall", "--lot", "L1", "--unit", "Walk-in 1", "--data", kitchen)
    assert "say from when on" in refused("recall", "--unit", "Walk-in 1", "--data", kitchen)
    assert "no batch is called 'L9'" in refused("recall", "--lot", "L9", "--data", kitchen)
