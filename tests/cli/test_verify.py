"""``holdwatch verify``, and the file that can be checked without Holdwatch."""

import json
import sqlite3
import subprocess
import sys
from pathlib import Path

from holdwatch.records.check_record import FORM
from tests.support.commands import holdwatch, printed, refused, succeed


def test_an_untouched_record_is_whole(kitchen: Path) -> None:
    """It says up to where, and that nothing outside says that this is the last line."""
    said = succeed("verify", "--data", kitchen)
    assert "Whole up to line" in said
    assert "Nothing outside says that it is the last." in said
    facts = printed("verify", "--data", kitchen)
    assert (facts["whole"], facts["problems"], facts["held_until"]) == (True, [], 0)
    said = succeed("verify", "--digest", facts["head"], "--data", kitchen)
    assert f"A digest from outside is of line {facts['lines']:,}" in said
    assert "Nothing outside" not in said


def test_a_changed_record_is_not(kitchen: Path) -> None:
    """Exit status 1, the place, and no traceback."""
    with sqlite3.connect(kitchen / "holdwatch.db") as store:
        store.execute("UPDATE batch SET lot = 'L2'")
    result = holdwatch("verify", "--data", kitchen)
    assert result.exit_code == 1
    assert "NOT WHOLE  altered: batch 1: not what was recorded: lot" in result.stdout


def test_a_witness_file_is_held_against_it(kitchen: Path, tmp_path: Path) -> None:
    """Named on the command line, or by the settings; a line of something else is refused."""
    head = printed("verify", "--data", kitchen)["head"]
    witness = tmp_path / "witness.jsonl"
    witness.write_text(json.dumps({"at": "2026-11-25T03:00:00Z", "position": 1, "digest": head}) + "\n")
    assert printed("verify", "--witness", witness, "--data", kitchen)["held_until"] > 0
    (kitchen / "holdwatch.toml").write_text(f"witness = {json.dumps(str(witness))}\n")
    assert printed("verify", "--data", kitchen)["held_until"] > 0
    witness.write_text("nothing\n")
    assert "line 1: it is no line of a witness file" in refused("verify", "--data", kitchen)
    assert "cannot be read" in refused("verify", "--witness", tmp_path / "none", "--data", kitchen)


def test_the_record_and_its_checker_are_handed_over(kitchen: Path, tmp_path: Path) -> None:
    """Two files for a technician."""
    record, checker = tmp_path / "record.jsonl", tmp_path / "check_record.py"
    succeed("export", "record", "-o", record, "--data", kitchen)
    succeed("export", "checker", "-o", checker)
    assert json.loads(record.read_text().splitlines()[0]) == FORM
    head = printed("verify", "--data", kitchen)["head"]
    done = subprocess.run(
        [sys.executable, "-I", checker, record, head], capture_output=True, text=True, check=False, cwd=tmp_path
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "The file is whole" in done.stdout
