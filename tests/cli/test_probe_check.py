"""``holdwatch probe check`` and ``checks``."""

from pathlib import Path

from tests.support.commands import printed, refused, succeed


def test_a_check_is_kept_and_listed(kitchen: Path) -> None:
    """In words with both temperatures, for a person and for a program; a probe that was never checked is due."""
    assert "Due: p1, never checked" in succeed("probe", "checks", "--data", kitchen)
    said = succeed("probe", "check", "p1", "--ice", "32.4F", "--data", kitchen)
    assert "p1: in ice 32.4\u202f°F for 32.0\u202f°F." in said
    assert "Within what is asked" in said
    facts = printed("probe", "checks", "p1", "--data", kitchen)
    assert [(each["probe"], each["outcome"]) for each in facts["checks"]] == [("p1", "within")]
    assert "due" in facts
    assert "within what is asked" in succeed("probe", "checks", "--data", kitchen)


def test_a_wrong_probe_says_what_to_do(kitchen: Path) -> None:
    """And can be corrected in the same word, by two points."""
    said = succeed("probe", "check", "p1", "--ice", "36F", "--data", kitchen)
    assert "Beyond what is asked" in said
    assert "--done corrected" in said
    words = ("--ice", "33F", "--boiling", "203.9F", "--pressure", "834hPa", "--done", "corrected", "--note", "weekly")
    facts = printed("probe", "check", "p1", *words, "--data", kitchen)
    assert facts["done"] == "corrected"
    assert len(facts["points"]) == 2


def test_what_is_no_check_is_refused_in_one_line(kitchen: Path) -> None:
    """What is missing, and how to say it."""
    assert "needs a point" in refused("probe", "check", "p1", "--data", kitchen)
    assert "two figures" in refused("probe", "check", "p1", "--beside", "41F", "--data", kitchen)
    assert "say where" in refused("probe", "check", "p1", "--boiling", "203F", "--data", kitchen)
    assert "not a temperature" in refused("probe", "check", "p1", "--ice", "cold", "--data", kitchen)
    assert "no probe is called 'p9'" in refused("probe", "check", "p9", "--ice", "32F", "--data", kitchen)
