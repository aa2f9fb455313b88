"""``holdwatch finding``: from seen to verified, on a console."""

import json
from pathlib import Path

import pytest
from typer.testing import Result

from holdwatch.clock import now_ms
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.findings import open_finding
from holdwatch.storage.signing import tries
from holdwatch.storage.tables import FindingKind
from tests.support.commands import printed, refused, succeed, typed


def _typed(data: Path, line: str, *command: str) -> Result:
    """Run a command with something typed."""
    return typed(line, *command, "--data", data)


@pytest.fixture
def found(data: Path) -> Path:
    """A data directory with a cook, a manager and one deviation, number 1."""
    for name, initials, role, pin in (
        ("Ines Okafor", "IO", "manager", "8046"),
        ("Tomas Ek", "TE", "cook", "2739"),
    ):
        succeed("person", "add", name, "--initials", initials, "--role", role, "--data", data)
        assert _typed(data, f"{pin}\n", "person", "pin", initials).exit_code == 0
    store = open_store(store_url(data, None))
    with store.write() as session:
        open_finding(
            session,
            key="batch:1:1 clause",
            kind=FindingKind.DEVIATION,
            subject="batch:1:1",
            title="Pastry cream L1",
            reason="above 70 °F after 2 h",
            since_ms=now_ms(),
            now_ms=now_ms(),
        )
    store.close()
    return data


def test_a_finding_is_seen_dealt_with_checked_and_verified(found: Path) -> None:
    """Each step says where it stands now; the whole life is shown for a program."""
    assert "is seen" in succeed("finding", "seen", "1", "--by", "TE", "--data", found)
    act = ("finding", "act", "1", "--disposition", "re-chill", "--text", "ice bath", "--check-in", "20", "--by", "TE")
    done = _typed(found, "2739\n", *act, "--sign")
    assert (done.exit_code, done.stderr) == (0, "")
    assert "is check promised; recorded by Tomas Ek." in done.stdout
    done = _typed(found, "2739\n", "finding", "check", "1", "--good", "--by", "TE", "--sign")
    assert "is handled" in done.stdout
    own = _typed(found, "2739\n", "finding", "verify", "1", "--by", "TE", "--sign")
    assert (own.exit_code, own.stdout) == (1, "")
    assert "somebody else verifies" in own.stderr
    done = _typed(found, "8046\n", "finding", "verify", "1", "--by", "IO", "--sign")
    assert "is verified" in done.stdout
    shown = json.loads(succeed("finding", "show", "1", "--json", "--data", found))
    assert (shown["stage"], shown["seen_by"], shown["handled_by"], shown["verified_by"], shown["unsigned"]) == (
        "verified",
        "Tomas Ek",
        ["Tomas Ek"],
        "Ines Okafor",
        0,
    )
    assert [entry["act"] for entry in shown["entries"]] == ["seen", "promise", "check-kept", "verified"]


def test_a_discard_without_a_pin_is_signed_later(found: Path) -> None:
    """It is recorded at once, counted as unsigned, and signed by the one in whose name it was made."""
    said = succeed("finding", "act", "1", "--disposition", "discard", "--by", "TE", "--data", found)
    assert "recorded by Tomas Ek, unsigned" in said
    assert "1 to be signed" in succeed("finding", "show", "1", "--data", found)
    other = _typed(found, "8046\n", "finding", "sign", "1", "--by", "IO")
    assert "Nothing of finding 1 waits for Ines Okafor" in other.stdout
    assert "1 signed by Tomas Ek" in _typed(found, "2739\n", "finding", "sign", "1", "--by", "TE").stdout
    assert json.loads(succeed("finding", "show", "1", "--json", "--data", found))["unsigned"] == 0


def test_a_wrong_pin_records_nothing_but_the_try(found: Path) -> None:
    """The third one in a row says how long to wait."""
    command = ("finding", "act", "1", "--disposition", "discard", "--by", "TE", "--sign")
    for _ in range(2):
        assert "not the PIN of Tomas Ek" in _typed(found, "1111\n", *command).stderr
    assert "looked at in 30 s" in _typed(found, "1111\n", *command).stderr
    assert "too many wrong PINs" in _typed(found, "2739\n", *command).stderr
    assert json.loads(succeed("finding", "show", "1", "--json", "--data", found))["entries"] == []
    store = open_store(store_url(found, None))
    with store.read() as session:
        outcomes = [each.outcome for each in tries(session) if each.place == "console"]
    store.close()
    assert outcomes == ["wrong", "wrong", "wrong", "too-soon"]


def test_what_cannot_be_is_refused_in_one_line(found: Path) -> None:
    """What was wrong, and what to do."""
    assert "there is no finding 9" in refused("finding", "seen", "9", "--data", found)
    keep = ("finding", "act", "1", "--disposition", "keep", "--text", "looks good")
    assert "a manager does this" in refused(*keep, "--by", "TE", "--data", found)
    assert "manager's PIN" in refused(*keep, "--by", "IO", "--data", found)
    assert "name them with --by" in refused("finding", "verify", "1", "--sign", "--data", found)
    assert "no check was promised" in refused("finding", "check", "1", "--good", "--data", found)
    assert "the probe lay on the bench" in refused("finding", "mistaken", "1", "--data", found)
    held = ("finding", "act", "1", "--disposition", "hold", "--check-in", "5")
    assert "waits for a decision" in refused(*held, "--data", found)
    kept = [(each["what"], each["why"]) for each in printed("person", "tries", "--data", found)]
    assert [what for what, _ in reversed(kept)] == [
        "action keep, finding 1",
        "action keep, finding 1",
        "check-kept, finding 1",  # what its life does not allow is kept as what a role does not
    ]


def test_a_correction_names_the_entry_it_corrects(found: Path) -> None:
    """The entry of before stays in the list."""
    succeed("finding", "act", "1", "--disposition", "re-chill", "--data", found)
    (entry,) = printed("finding", "show", "1", "--data", found)["entries"]
    succeed("finding", "act", "1", "--disposition", "discard", "--instead-of", str(entry["entry"]), "--data", found)
    entries = printed("finding", "show", "1", "--data", found)["entries"]
    assert [(each["disposition"], each["replaces"]) for each in entries] == [
        ("re-chill", None),
        ("discard", entry["entry"]),
    ]


def test_review_is_for_a_manager_once_it_is_over(found: Path) -> None:
    """A cook is refused, and so is everybody while the finding is open."""
    refused_cook = _typed(found, "2739\n", "finding", "review", "1", "--by", "TE")
    assert (refused_cook.exit_code, refused_cook.stdout) == (1, "")
    assert "is no manager" in refused_cook.stderr
    still_open = _typed(found, "8046\n", "finding", "review", "1", "--by", "IO")
    assert (still_open.exit_code, still_open.stdout) == (1, "")
    assert "is open: deal with it first" in still_open.stderr
    assert "name them with --by" in refused("finding", "review", "1", "--data", found)
