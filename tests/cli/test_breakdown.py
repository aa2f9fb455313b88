"""``holdwatch breakdown``."""

from pathlib import Path

from tests.support.commands import printed, refused, succeed


def _kitchen(kitchen: Path) -> Path:
    succeed("unit", "add", "Walk-in 2", "--kind", "walk-in", "--data", kitchen)
    for lot in ("M1", "M2", "M3"):
        succeed("batch", "start", "--product", "Mousse", "--lot", lot, "--data", kitchen)
        succeed("batch", "note", lot, "moved", "--unit", "Walk-in 1", "--data", kitchen)
    return kitchen


def test_a_sheet_is_printed_filled_in_and_recorded(kitchen: Path, tmp_path: Path) -> None:
    """A line without disposition waits; what is discarded has ended."""
    data = _kitchen(kitchen)
    text = succeed("breakdown", "sheet", "Walk-in 1", "--data", data)
    assert text.splitlines()[0] == "lot,product,vessel,reading,disposition,place,text"
    assert "M2,Mousse,,,,," in text.splitlines()
    sheet = tmp_path / "sheet.csv"
    filled = text.replace("M1,Mousse,,,,,", "M1,Mousse,,48F,discard,,").replace(
        "M2,Mousse,,,,,", "M2,Mousse,,40F,hold,Walk-in 2,still cold"
    )
    sheet.write_text(filled, encoding="utf-8")
    said = succeed("breakdown", "record", "Walk-in 1", "--sheet", sheet, "--by", "Ines", "--data", data)
    assert "2 batches: 1 discard, 1 hold; not decided yet: M3" in said
    rows = printed("breakdown", "show", "Walk-in 1", "--data", data)
    assert [(row["lot"], row["perhaps"]) for row in rows] == [("M3", False), ("L1", True)]
    one = ("--lot", "M3", "--disposition", "discard", "--reading", "47F", "--by", "Ines", "--data", data)
    assert "1 batch: 1 discard." in succeed("breakdown", "record", "Walk-in 1", *one)


def test_what_cannot_be_read_is_told_with_its_row(kitchen: Path, tmp_path: Path) -> None:
    """And nothing is recorded."""
    data, sheet = _kitchen(kitchen), tmp_path / "sheet.csv"
    for text, says in (
        ("lot,disposition\nM1,discard\nM2,eat\n", "row 3: 'eat' is no disposition"),
        ("lot,disposition,reading\nM1,discard,warm\n", "row 2: 'warm' is no temperature"),
        ("lot,disposition,vessel\nM1,discard,two\n", "row 2: 'two' is no vessel"),
        ("lot,product\nM1,Mousse\n", "no column 'disposition'"),
        ("lot,disposition\nM1,\n", "nothing is decided"),
    ):
        sheet.write_text(text, encoding="utf-8")
        assert says in refused("breakdown", "record", "Walk-in 1", "--sheet", sheet, "--data", data)
    assert "cannot be read" in refused("breakdown", "record", "Walk-in 1", "--sheet", tmp_path, "--data", data)
    assert "--sheet, or one batch" in refused("breakdown", "record", "Walk-in 1", "--data", data)
    assert "say what becomes of M1" in refused("breakdown", "record", "Walk-in 1", "--lot", "M1", "--data", data)
    assert len(printed("breakdown", "show", "Walk-in 1", "--data", data)) == 4
