"""Whatever is changed behind the program's back is found, and named: in the store and in the file for a technician."""

# ruff: noqa: S608  every statement is written here

import hashlib
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlalchemy import text

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR
from holdwatch.records import check_record
from holdwatch.records.record import checker, record_lines
from holdwatch.records.verify import Verified, verify
from holdwatch.storage.chain import head
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.sealing import SETTLE_MS, seal_next
from holdwatch.storage.tables import EventKind
from holdwatch.trust.keys import key_in
from tests.published.record_form_1 import check_record as first_checker
from tests.storage.kitchen import BY, NOW, open_kitchen

TODAY = NOW - NOW % MS_PER_DAY
FIRST = TODAY - 3 * MS_PER_DAY
DAYS = 3


@pytest.fixture
def sealed(either_store: Store, tmp_path: Path) -> Store:
    """A kitchen with three sealed days of a probe, of which one has a supplement, and some readings of today."""
    _fill(either_store, tmp_path)
    return either_store


@pytest.fixture
def on_sqlite(tmp_path: Path) -> Iterator[Store]:
    """The same on SQLite."""
    opened = open_store(store_url(tmp_path / "kitchen", None), migrate=True)
    _fill(opened, tmp_path)
    yield opened
    opened.close()


def _fill(store: Store, tmp_path: Path) -> None:
    with store.write() as session:
        probe = id_of(open_kitchen(session).food)
    _write(store, probe, [FIRST + hour * MS_PER_HOUR for hour in range(24 * DAYS + 3)])
    _seal(store, tmp_path, TODAY + SETTLE_MS)
    _write(store, probe, [FIRST + 1, FIRST + 2], TODAY + 3 * MS_PER_HOUR)
    _seal(store, tmp_path, TODAY + 3 * MS_PER_HOUR)
    _note(store, "the walk-in's door was open")


def _write(store: Store, probe: int, instants: list[int], received_ms: int | None = None) -> None:
    with store.write() as session:
        readings = [NewReading(probe, at, 4.0 + at % 7 / 8, received_ms or at + 50) for at in instants]
        write_readings(session, readings, max(instants))


def _seal(store: Store, tmp_path: Path, now_ms: int) -> None:
    key = key_in(tmp_path)
    while seal_next(store, key, now_ms) is not None:
        pass


def _note(store: Store, said: str) -> None:
    with store.write() as session:
        record_event(session, EventKind.NOTE, at_ms=NOW, now_ms=NOW, by=BY, text=said)


def _head(store: Store) -> str:
    with store.read() as session:
        return head(session)[1]


def _sql(*statements: str) -> Callable[[Store], None]:
    """Return what does something behind the program's back."""

    def do(store: Store) -> None:
        with store.write() as session:
            for statement in statements:
                session.connection().execute(text(statement))

    return do


def _said(found: Verified) -> list[str]:
    return [f"{each.kind} {each.where}: {each.what}" for each in found.problems]


def test_a_record_that_nobody_touched_is_whole(sealed: Store) -> None:
    """Also while late readings wait for their supplement; and it counts what it looked at."""
    _write(sealed, 1, [FIRST + 3], TODAY + 4 * MS_PER_HOUR)
    found = verify(sealed)
    assert _said(found) == []
    assert (found.seals, found.sealed, found.unsealed, len(found.keys)) == (DAYS + 1, 24 * DAYS + 2, 4, 1)
    assert found.head == _head(sealed)
    assert found.held_until == 0
    assert verify(sealed, [found.head[:16]]).held_until == found.lines  # the foot of a page has no more
    assert [each.kind for each in verify(sealed, [found.head[:15]]).problems] == ["cut off"]


@dataclass(frozen=True)
class Tampered:
    """A change, and a word of the complaint that it must lead to."""

    how: Callable[[Store], None]
    kind: str
    where: str


_LAST_NOTE = "(SELECT MAX(id) FROM event)"
_AT = FIRST + 5 * MS_PER_HOUR
_SWAP = (
    f"UPDATE reading SET at_ms = -1 WHERE at_ms = {_AT}",
    f"UPDATE reading SET at_ms = {_AT} WHERE at_ms = {_AT + MS_PER_HOUR}",
    f"UPDATE reading SET at_ms = {_AT + MS_PER_HOUR} WHERE at_ms = -1",
)
TAMPERED = {
    "a reading's value": Tampered(_sql(f"UPDATE reading SET celsius = 3.9 WHERE at_ms = {_AT}"), "altered", "probe p1"),
    "when a reading arrived": Tampered(_sql(f"UPDATE reading SET lag_ms = 51 WHERE at_ms = {_AT}"), "altered", "p1"),
    "whether a reading is judged": Tampered(_sql(f"UPDATE reading SET flags = 2 WHERE at_ms = {_AT}"), "altered", "p1"),
    "a reading's instant": Tampered(_sql(f"UPDATE reading SET at_ms = at_ms + 1 WHERE at_ms = {_AT}"), "altered", "p1"),
    "two readings swapped": Tampered(_sql(*_SWAP), "altered", "p1"),
    "a reading taken out": Tampered(_sql(f"DELETE FROM reading WHERE at_ms = {_AT}"), "missing", "p1"),
    "a late reading taken out": Tampered(_sql(f"DELETE FROM reading WHERE at_ms = {FIRST + 1}"), "missing", "p1"),
    "a day taken out": Tampered(_sql(f"DELETE FROM reading WHERE at_ms < {FIRST + MS_PER_DAY}"), "missing", "p1"),
    "a reading put in": Tampered(
        _sql(f"INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags) VALUES (1, {_AT + 9}, 3, 0, 0)"),
        "added",
        "p1",
    ),
    "a day put in": Tampered(
        _sql(f"INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags) VALUES (1, {FIRST - 9}, 3, 0, 0)"),
        "added",
        "p1",
    ),
    "readings of no probe": Tampered(
        _sql("INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags) VALUES (77, 1, 3, 0, 0)"), "added", "77"
    ),
    "a note": Tampered(_sql(f"UPDATE event SET text = 'shut' WHERE id = {_LAST_NOTE}"), "altered", "event"),
    "who wrote a note": Tampered(_sql(f"UPDATE event SET by = 'x' WHERE id = {_LAST_NOTE}"), "altered", "event"),
    "when a batch started": Tampered(_sql("UPDATE batch SET started_ms = started_ms + 60000"), "altered", "batch 1"),
    "a note taken out": Tampered(_sql(f"DELETE FROM event WHERE id = {_LAST_NOTE}"), "missing", "event"),
    "a note put in": Tampered(
        _sql("INSERT INTO event (at_ms, recorded_ms, kind, text, by, facts) VALUES (1, 1, 'note', 'x', 'x', '{}')"),
        "added",
        "event",
    ),
    "the limits": Tampered(_sql("UPDATE site_version SET limits = 'scotland'"), "altered", "site_version 1"),
    "a line": Tampered(
        _sql("UPDATE link SET text = replace(text, 'Mara', 'Moira') WHERE position = 5"), "altered", "5"
    ),
    "a line with its digest": Tampered(
        _sql("UPDATE link SET digest = 'ab' WHERE position = 5"), "altered", "line 5 of the chain"
    ),
    "a line taken out": Tampered(_sql("DELETE FROM link WHERE position = 5"), "missing", "line 5 of the chain"),
    "a line given to another row": Tampered(_sql("UPDATE link SET row = '99' WHERE position = 5"), "altered", "line 5"),
    "every line taken out": Tampered(_sql("DELETE FROM link"), "missing", "the chain"),
    "a seal's root": Tampered(_sql("UPDATE seal SET root = 'ab' WHERE id = 1"), "altered", "the seal of probe p1"),
    "a seal's signature": Tampered(_sql("UPDATE seal SET signature = 'ab' WHERE id = 1"), "altered", "seal"),
    "a seal taken out": Tampered(_sql("DELETE FROM seal WHERE id = 1"), "missing", "seal 1"),
}


@pytest.mark.parametrize("name", TAMPERED)
def test_tampering_is_found(sealed: Store, name: str) -> None:
    """And the answer names the place."""
    tampered = TAMPERED[name]
    tampered.how(sealed)
    found = verify(sealed)
    assert not found.whole
    assert [each for each in found.problems if each.kind == tampered.kind and tampered.where in each.where], _said(
        found
    )


def test_it_is_told_when_readings_were_sealed(on_sqlite: Store) -> None:
    """On the site's clock: sealed two hours into the UTC day of 28 May 2026, which is still the 27th in Denver."""
    TAMPERED["a reading's value"].how(on_sqlite)
    (said,) = _said(verify(on_sqlite))
    assert said.endswith("its 24 readings are not the same (sealed Wed 27 May 2026 20:00 MDT)")


def test_two_lines_that_are_swapped_are_found(sealed: Store) -> None:
    """Though each is what it was."""
    _sql(
        "UPDATE link SET position = -5 WHERE position = 5",
        "UPDATE link SET position = 5 WHERE position = 6",
        "UPDATE link SET position = 6 WHERE position = -5",
    )(sealed)
    assert any("line 5" in said for said in _said(verify(sealed)))


def test_lines_that_were_cut_off_are_found_by_a_digest_from_outside(sealed: Store) -> None:
    """The store itself looks whole up to there; the digest on a paper does not let it pass."""
    printed = _head(sealed)
    _sql(
        "DELETE FROM link WHERE position > (SELECT MAX(position) FROM link WHERE table_name <> 'event')",
        f"DELETE FROM event WHERE id = {_LAST_NOTE}",
    )(sealed)
    assert verify(sealed).whole
    assert [each.kind for each in verify(sealed, [printed[:16]]).problems] == ["cut off"]
    found = verify(sealed, [printed])
    assert [(each.kind, printed[:16] in each.where) for each in found.problems] == [("cut off", True)]


def test_an_older_copy_is_found_by_a_digest_from_outside(on_sqlite: Store, tmp_path: Path) -> None:
    """It is whole, and not the last; what left the machine since says so."""
    first = _head(on_sqlite)
    on_sqlite.checkpoint()
    kept = Path(str(on_sqlite.parsed.database))
    shutil.copy(kept, tmp_path / "older.db")
    _note(on_sqlite, "a deviation")
    later = _head(on_sqlite)
    on_sqlite.close()
    shutil.copy(tmp_path / "older.db", kept)
    for each in kept.parent.glob("*-wal"):
        each.unlink()
    older = open_store(store_url(kept.parent, None))
    try:
        assert verify(older, [first]).held_until == verify(older).lines
        assert [each.kind for each in verify(older, [first, later]).problems] == ["cut off"]
    finally:
        older.close()


def test_a_chain_made_anew_is_found_by_a_digest_from_outside(sealed: Store) -> None:
    """Whoever has the key can make another past that agrees with itself; not one that has the old digest."""
    from holdwatch.storage.chain import begin_chain

    printed = _head(sealed)
    _sql("DELETE FROM link", "DELETE FROM seal", f"UPDATE event SET text = 'shut' WHERE id = {_LAST_NOTE}")(sealed)
    with sealed.write() as session:
        begin_chain(session)
    assert verify(sealed).whole
    assert [each.kind for each in verify(sealed, [printed]).problems] == ["cut off"]


# ---------------------------------------------------------------- the file for a technician


def _checked(folder: Path, lines: list[str], *digests: str) -> tuple[int, str]:
    """Run the checker as its own program, away from this package."""
    (folder / "check_record.py").write_text(checker())
    (folder / "record.jsonl").write_text("".join(lines))
    command = [sys.executable, "-I", "check_record.py", "record.jsonl", *digests]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    return done.returncode, done.stdout


def test_the_checker_needs_nothing_of_this_program() -> None:
    """But `cryptography`: it is meant for a machine without Holdwatch."""
    imports = [
        line.split()[1].split(".")[0] for line in checker().splitlines() if line.startswith(("import ", "from "))
    ]
    assert {name for name in imports if name not in sys.stdlib_module_names} == {"cryptography"}


def test_the_file_is_whole(sealed: Store, tmp_path: Path) -> None:
    """The file that is handed out passes, with a digest from outside and without."""
    lines = list(record_lines(sealed))
    code, said = _checked(tmp_path, lines)
    assert (code, "Nothing from outside" in said) == (0, True), said
    assert f"{DAYS + 1} seals, {24 * DAYS + 2 + 3} readings" in said
    code, said = _checked(tmp_path, lines, _head(sealed))
    assert (code, "Nothing from outside" in said) == (0, False)
    code, said = _checked(tmp_path, lines, "ab" * 32)
    assert (code, "no entry has the digest abab" in said) == (1, True)


def _without(number: int) -> Callable[[list[str]], list[str]]:
    return lambda lines: [line for at, line in enumerate(lines) if at != number]


def _with(number: int, old: str, new: str) -> Callable[[list[str]], list[str]]:
    def change(lines: list[str]) -> list[str]:
        assert old in lines[number]
        return [line.replace(old, new, 1) if line is lines[number] else line for line in lines]

    return change


def _first_day(lines: list[str]) -> int:
    return next(at for at, line in enumerate(lines) if '"readings"' in line)


def _swapped(lines: list[str]) -> list[str]:
    return [*lines[:5], lines[6], lines[5], *lines[7:]]


FILES: dict[str, Callable[[list[str]], list[str]]] = {
    "a name": _with(5, "Walk-in 1", "Walk-in 2"),
    "an entry taken out": _without(5),
    "two entries swapped": _swapped,
    "a reading": lambda lines: _with(_first_day(lines), "4.", "5.")(lines),
    "a day taken out": lambda lines: _without(_first_day(lines))(lines),
    "the end cut off": lambda lines: lines[:-1],
    "the last entries cut off": lambda lines: [line for line in lines if "door was open" not in line],
    "no record": lambda _: ['{"some": "thing"}\n'],
    "no JSON": lambda lines: [*lines[:5], "nothing\n", *lines[5:]],
    "an empty file": lambda _: [],
}


FORM_1 = Path(__file__).parents[1] / "published" / "record_form_1"


@pytest.mark.parametrize(
    ("name", "digest"),
    [
        ("check_record.py", "099a30601af1ace2f952f1bf4c87d05cb14301b3404cc8809f553609708e22b1"),
        ("record.jsonl", "34a440f4132409be8047474f24e725e1a505197ab7f37d2ab1e8422b6c833dec"),
    ],
)
def test_what_was_handed_out_is_never_changed(name: str, digest: str) -> None:
    """A checker that was changed here would prove nothing about the one that a technician kept."""
    assert hashlib.sha256((FORM_1 / name).read_bytes()).hexdigest() == digest


def test_the_first_checker_reads_what_is_written_now(sealed: Store) -> None:
    """With all that was added to the record since; and it still finds what was changed."""
    lines = [line.rstrip("\n") for line in record_lines(sealed)]
    assert first_checker.check(iter(lines), [_head(sealed)]).wrong == []
    changed = [line.replace("door was open", "door was shut") for line in lines]
    assert first_checker.check(iter(changed), []).wrong


def test_the_checker_reads_the_first_form() -> None:
    """A file that was handed over then is as good as it was; its head was printed when it was made."""
    lines = (FORM_1 / "record.jsonl").read_text(encoding="utf-8").splitlines()
    found = check_record.check(iter(lines), ["aca0e557f0c3470e"])
    assert (found.wrong, len(found.seals), sum(map(len, found.days.values()))) == ([], 4, 77)
    assert check_record.check(iter([*lines[:5], *lines[6:]]), []).wrong


@pytest.mark.parametrize("name", FILES)
def test_a_changed_file_is_not_whole(on_sqlite: Store, tmp_path: Path, name: str) -> None:
    """Whatever was changed, taken out or cut off; and never with a traceback."""
    lines = list(record_lines(on_sqlite))
    code, said = _checked(tmp_path, FILES[name](lines))
    assert code == 1, said
    assert "NOT WHOLE" in said
