"""``holdwatch person``."""

from pathlib import Path

from typer.testing import Result

from holdwatch.clock import now_ms
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.events import record_event
from holdwatch.storage.tables import EventKind
from tests.support.commands import printed, refused, succeed, typed


def _set_pin(data: Path, name: str, line: str) -> Result:
    return typed(line, "person", "pin", name, "--data", data)


def test_people_are_added_and_listed(data: Path) -> None:
    """What a person is told leads to the next step; no PIN is shown."""
    assert "holdwatch person add" in succeed("person", "list", "--data", data)
    said = succeed("person", "add", "Ines Okafor", "--initials", "io", "--role", "manager", "--data", data)
    assert "holdwatch person pin IO" in said
    done = _set_pin(data, "IO", "2739\n")
    assert (done.exit_code, done.stderr) == (0, "")
    (row,) = printed("person", "list", "--data", data)
    assert (row["name"], row["initials"], row["role"]) == ("Ines Okafor", "IO", "manager")
    assert row["pin_set_at"] is not None
    assert "argon2" not in str(row)


def test_a_pin_that_is_none_is_refused_in_one_line(data: Path) -> None:
    """The store is as it was."""
    succeed("person", "add", "Ines Okafor", "--initials", "IO", "--data", data)
    done = _set_pin(data, "Ines Okafor", "1234\n")
    assert done.exit_code == 1
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


def test_what_waits_for_a_signature_is_listed_and_signed_with_one_pin(data: Path) -> None:
    """Several entries at once; a wrong PIN signs none."""
    succeed("person", "add", "Tomas Ek", "--initials", "TE", "--data", data)
    assert _set_pin(data, "TE", "2739\n").exit_code == 0
    assert "Nothing waits" in succeed("person", "unsigned", "--data", data)
    store = open_store(store_url(data, None))
    with store.write() as session:
        for text in ("poured away", "the second pan as well"):
            record_event(session, EventKind.ACTION, at_ms=now_ms(), now_ms=now_ms(), by="TE", text=text)
    store.close()
    assert "Tomas Ek" in succeed("person", "unsigned", "TE", "--data", data)
    sign = ("person", "sign", "TE", "--data", data)
    wrong = typed("2738\n", *sign)
    assert (wrong.exit_code, "not the PIN of Tomas Ek" in wrong.stderr) == (1, True)
    assert len(printed("person", "unsigned", "--data", data)) == 2
    right = typed("2739\n", *sign)
    assert (right.exit_code, right.stdout) == (0, "2 signed by Tomas Ek.\n")
    assert printed("person", "unsigned", "--data", data) == []
