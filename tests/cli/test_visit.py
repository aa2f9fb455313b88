"""``holdwatch visit``."""

from pathlib import Path

from tests.support.commands import printed, refused, succeed


def test_a_visit_is_recorded_with_all_that_belongs_to_it(kitchen: Path) -> None:
    """Readings, samples, notice, food detained and released, the next visit."""
    said = ("--officer", "J. Ortiz", "--authority", "Denver Public Health", "--data", kitchen)
    words = succeed("visit", "record", *said, "--sample", "custard, 200 g", "--next", "2026-12-01")
    number = words.split()[1]
    assert "no probe spoke" in succeed("visit", "reading", number, "41.5F", "--lot", "L1", "--data", kitchen)
    assert "is detained" in succeed("visit", "detain", number, "L1", "--text", "until Monday", "--data", kitchen)
    assert "record its release first" in refused("batch", "end", "L1", "--outcome", "served", "--data", kitchen)
    assert "say who released it" in refused("visit", "release", "L1", "--data", kitchen)
    assert "is released" in succeed("visit", "release", "L1", "--text", "J. Ortiz", "--data", kitchen)
    (visit,) = printed("visit", "list", "--data", kitchen)
    assert visit["next_visit"] == "2026-12-01"
    assert "sample: custard, 200 g" in visit["lines"]
    assert "no visit 999" in refused("visit", "reading", "999", "41F", "--lot", "L1", "--data", kitchen)
