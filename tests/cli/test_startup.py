"""Nothing heavy is imported before it is used, so that commands start at once; and they end at once."""

import subprocess
import sys
from pathlib import Path

import pytest

SCREENS_AND_PAPERS = {"altair", "apprise", "pandas", "scipy", "streamlit", "typst", "vl_convert"}
DATABASE = {"alembic", "pydantic", "sqlalchemy", "sqlmodel"}
NETWORK = {"paho", "iotcore"}
HEAVY = SCREENS_AND_PAPERS | DATABASE | NETWORK

_LOOK = """
import sys
sys.argv = ["holdwatch", *sys.argv[1:]]
from holdwatch.cli.main import main
try:
    main()
finally:
    print("IMPORTED", *sorted({name.partition(".")[0] for name in sys.modules}))
"""

CSV = "time,temperature_c\n2026-11-24T10:00:00Z,80\n2026-11-24T10:30:00Z,50\n2026-11-24T11:00:00Z,20\n"


def imported_by(*words: object) -> set[str]:
    """Return the top-level packages that a command has imported when it ends."""
    command = [sys.executable, "-c", _LOOK, *(str(word) for word in words)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    lines = [line for line in done.stdout.splitlines() if line.startswith("IMPORTED ")]
    assert lines, done.stderr
    return set(lines[-1].split()[1:])


def test_help_imports_nothing_heavy() -> None:
    """Help needs neither arrays nor a database."""
    assert imported_by("--help") & (HEAVY | {"numpy"}) == set()


def test_no_garbage_is_looked_for_in_a_short_command(data: Path) -> None:
    """What was loaded is no garbage, and goes with the process: the interpreter's last searches find nothing either."""
    look = "import atexit, gc; atexit.register(lambda: print('LEFT', len(gc.get_objects()), len(searches)))\n"
    look += "searches = []; import holdwatch.cli.main; gc.callbacks.append(lambda *_: searches.append(1))\n" + _LOOK
    command = [sys.executable, "-c", look, "batch", "list", "--data", str(data)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    last, left, searches = done.stdout.splitlines()[-1].split()
    assert last == "LEFT"
    assert int(left) < 100
    assert int(searches) == 0


def test_assess_imports_neither_database_nor_network(tmp_path: Path) -> None:
    """Judging a file needs arrays and nothing else."""
    path = tmp_path / "custard.csv"
    path.write_text(CSV, encoding="utf-8")
    imported = imported_by("assess", path, "--process", "cooling", "--limits", "us-food-code-2022", "--json")
    assert imported & HEAVY == set()
    assert "numpy" in imported


@pytest.mark.parametrize(
    "words", [("probe", "list"), ("unit", "list"), ("batch", "list"), ("findings",), ("contact", "list")]
)
def test_list_commands_import_the_database_alone(words: tuple[str, ...], data: Path) -> None:
    """Looking into the record needs no screens, papers, network or signatures."""
    imported = imported_by(*words, "--data", data)
    assert "sqlmodel" in imported
    assert imported & (SCREENS_AND_PAPERS | NETWORK | {"alembic", "cryptography"}) == set()


def test_a_paper_is_printed_without_what_the_screens_need(data: Path, tmp_path: Path) -> None:
    """The typesetter is in a process of its own, and a short paper needs no joining."""
    imported = imported_by("paper", "day", "today", "--data", data, "-o", tmp_path / "day.pdf")
    assert imported & (SCREENS_AND_PAPERS | NETWORK | {"alembic", "babel", "cryptography", "pikepdf"}) == set()
