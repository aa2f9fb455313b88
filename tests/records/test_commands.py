"""``holdwatch export`` and ``holdwatch log`` as a person types them."""

import json
import subprocess
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from holdwatch.cli.main import app
from holdwatch.storage.engine import Store
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.register import add_probe
from tests.records.kitchen import HOUR, T0


def _type(store: Store, *words: str) -> Result:
    """Run a command on the store of the test."""
    return CliRunner().invoke(app, [*words, "--data", str(store.data_dir)])


@pytest.fixture
def read(store: Store) -> Store:
    """Keep two readings of one probe."""
    with store.write() as session:
        probe = add_probe(session, "p1", medium="food", now_ms=T0, by="ana")
        assert probe.id is not None
        write_readings(session, [NewReading(probe.id, T0 + n, 4.0 + n, T0 + HOUR) for n in range(2)], T0 + HOUR)
    return store


def test_export_readings_prints_what_other_programs_rely_on(read: Store) -> None:
    """The four fields stand first, in their order."""
    done = _type(read, "export", "readings", "--format", "jsonl")
    assert done.exit_code == 0
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert list(rows[0])[:4] == ["probe", "at", "celsius", "received_at"]
    assert [row["celsius"] for row in rows] == [4.0, 5.0]


def test_export_to_a_file_writes_it_whole(read: Store, tmp_path: Path) -> None:
    """The file appears when it is complete, and replaces an older one."""
    out = tmp_path / "readings.csv"
    out.write_text("old")
    done = _type(read, "export", "readings", "--since", "2026-10-31", "--until", "2026-10-31", "-o", str(out))
    assert (done.exit_code, done.stdout) == (0, "")
    assert out.read_text().splitlines()[1].startswith("p1,2026-10-31T06:00:00Z,4.0,2026-10-31T07:00:00Z")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("export", "readings", "--since", "last week"), "no day or instant"),
        (("export", "readings", "--since", "2026-11-02", "--until", "2026-11-01"), "before it begins"),
        (("export", "readings", "--probe", "p9"), "p9"),
        (("export", "events", "-o", "/nowhere/at/all.csv"), "cannot be written"),
        (("log", "--from", "2026-11-02", "--to", "2026-11-01"), "before it begins"),
        (("log", "--from", "2099-01-01", "--to", "2099-01-02"), "lies ahead"),
        (("log", "--from", "2026-10-31", "--to", "2026-10-31", "-o", "/nowhere/log.pdf"), "cannot be written"),
        (("log", "--from", "2026-10-31", "--unit", "Walk-in 9"), "Walk-in 9"),
        (("paper", "batch", "L-999"), "L-999"),
        (("paper", "day", "2099-01-01"), "lies ahead"),
        (("paper", "findings", "--from", "soon"), "no day or instant"),
        (("paper", "blank", "--pages", "99"), "99 ruled pages cannot be"),
    ],
)
def test_command_bad_input_is_one_line_and_no_success(read: Store, words: tuple[str, ...], says: str) -> None:
    """What was wrong and what to do, on standard error."""
    done = _type(read, *words)
    assert done.exit_code == 1
    assert says in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.pdf
def test_log_writes_the_pdf_and_says_so(read: Store, tmp_path: Path) -> None:
    """One command, one paper, printed by whom it was said."""
    out = tmp_path / "log.pdf"
    done = _type(read, "log", "--from", "2026-10-31", "--to", "2026-10-31", "--by", "Ana", "-o", str(out))
    assert (done.exit_code, done.stdout) == (0, f"{out} is written.\n")
    text = subprocess.run(["pdftotext", out, "-"], check=True, capture_output=True, text=True).stdout
    assert "by Ana" in text


@pytest.mark.pdf
@pytest.mark.parametrize(
    ("words", "heading"),
    [
        (("paper", "day", "2026-10-31"), "Daily sheet"),
        (("paper", "findings", "--from", "2026-10-31"), "Findings and actions"),
        (("paper", "checks", "--from", "2026-10-31"), "Calibration log"),
        (("paper", "blank"), "Log sheet, to be written by hand"),
    ],
)
def test_papers_are_written_and_say_so(read: Store, tmp_path: Path, words: tuple[str, ...], heading: str) -> None:
    """Each under its own heading, also where nothing happened."""
    out = tmp_path / "paper.pdf"
    done = _type(read, *words, "-o", str(out))
    assert (done.exit_code, done.stdout) == (0, f"{out} is written.\n")
    text = subprocess.run(["pdftotext", out, "-"], check=True, capture_output=True, text=True).stdout
    assert text.startswith(heading)
