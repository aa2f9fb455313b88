"""``holdwatch person``."""

import subprocess
import sys
from pathlib import Path

from tests.support.commands import printed, refused, succeed


def _set_pin(data: Path, name: str, line: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "holdwatch", "person", "pin", name, "--data", str(data)]
    return subprocess.run(command, input=line, capture_output=True, text=True, check=False)


def test_people_are_added_and_listed(data: Path) -> None:
    """What a person is told leads to the next step; no PIN is shown."""
    assert "holdwatch person add" in succeed("person", "list", "--data", data)
    said = succeed("person", "add", "Ines Okafor", "--initials", "io", "--role", "manager", "--data", data)
    assert "holdwatch person pin IO" in said
    done = _set_pin(data, "IO", "2739\n")
    assert (done.returncode, done.stderr) == (0, "")
    (row,) = printed("person", "list", "--data", data)
    assert (row["name"], row["initials"], row["role"]) == ("Ines Okafor", "IO", "manager")
    assert row["pin_set_at"] is not None
    assert "argon2" not in str(row)


def test_a_pin_that_is_none_is_refused_in_one_line(data: Path) -> None:
    """The store is as it was."""
    succeed("person", "add", "Ines Okafor", "--initials", "IO", "--data", data)
    done = _set_pin(data, "Ines Okafor", "1234\n")
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "tried first" in done.stderr
    assert printed("person", "list", "--data", data)[0]["pin_set_at"] is None


def test_the_last_manager_is_not_ended(data: Path) -> None:
    """The command says what to do first."""
    succeed("person", "add", "Ines Okafor", "--initials", "IO", "--role", "manager", "--data", data)
    assert "name another one first" in refused("person", "end", "IO", "--data", data)
    succeed("person", "add", "Tomas Ek", "--initials", "TE", "--data", data)
    succeed("person", "role", "TE", "manager", "--data", data)
    assert "signs no more" in succeed("person", "end", "IO", "--data", data)
    assert [row["name"] for row in printed("person", "list", "--data", data)] == ["Tomas Ek"]
