"""Opening, reading, writing and locking a store."""

import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import text
from sqlmodel import SQLModel, select

from holdwatch.errors import (
    ConfigError,
    StorageError,
    StoreBusyError,
    StoreMissingError,
    StoreVersionError,
)
from holdwatch.storage import engine as engine_module
from holdwatch.storage.engine import Store, head_version, open_store, store_url, store_version
from holdwatch.storage.lock import listener_lock, watch_lock
from holdwatch.storage.tables import Unit


def test_store_opened_makes_every_commit_durable(sqlite_store: Store) -> None:
    """Each connection writes ahead, and a commit is on disk when it returns (synchronous FULL is 2)."""
    for _ in range(2):
        with sqlite_store.write() as session, sqlite_store.read() as other:
            for each in (session, other):
                assert each.connection().execute(text("PRAGMA synchronous")).scalar() == 2
                assert each.connection().execute(text("PRAGMA journal_mode")).scalar() == "wal"
                assert each.connection().execute(text("PRAGMA foreign_keys")).scalar() == 1
                assert each.connection().execute(text("PRAGMA busy_timeout")).scalar() == 10_000


def test_store_migrated_equals_the_tables(store: Store) -> None:
    """The migrations make exactly the tables that the program works with."""
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "compare_server_default": True})
        assert compare_metadata(context, SQLModel.metadata) == []
    assert store_version(store) == head_version()


def test_store_migrated_clusters_readings_by_their_key(sqlite_store: Store) -> None:
    """Readings, second values and roll-ups are kept without a row number."""
    with sqlite_store.read() as session:
        rows = session.connection().execute(text("SELECT name FROM sqlite_master WHERE sql LIKE '%WITHOUT ROWID%'"))
        assert {row[0] for row in rows} == {"reading", "contested", "rollup_5m", "rollup_1h"}


def test_write_committed_is_read_back_and_rows_stay_usable(store: Store) -> None:
    """Rows of an ended read can still be looked at."""
    with store.write() as session:
        session.add(Unit(name="Walk-in 1", kind="walk-in", added_ms=1))
    with store.read() as session:
        found = session.exec(select(Unit)).one()
    assert (found.name, found.kind) == ("Walk-in 1", "walk-in")


def test_write_undone_by_an_exception_leaves_nothing(store: Store) -> None:
    """What an exception interrupts is not kept."""

    def break_off() -> None:
        with store.write() as session:
            session.add(Unit(name="Walk-in 1", kind="walk-in", added_ms=1))
            session.flush()
            raise RuntimeError("half-way")

    with pytest.raises(RuntimeError, match="half-way"):
        break_off()
    with store.read() as session:
        assert session.exec(select(Unit)).all() == []


def test_read_cannot_write(store: Store) -> None:
    """A read session refuses to change anything, in one line."""

    def change() -> None:
        with store.read() as session:
            session.add(Unit(name="Walk-in 1", kind="walk-in", added_ms=1))
            session.flush()

    with pytest.raises(StorageError, match="may not be written"):
        change()


def test_read_sees_one_state_while_another_writes(store: Store) -> None:
    """A page built from several questions is of one instant."""
    with store.read() as reading:
        assert reading.exec(select(Unit)).all() == []
        with store.write() as session:
            session.add(Unit(name="Walk-in 1", kind="walk-in", added_ms=1))
        assert reading.exec(select(Unit)).all() == []
    with store.read() as reading:
        assert len(reading.exec(select(Unit)).all()) == 1


def test_write_waits_too_long_is_a_busy_store(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second writer gives up with one line that says what to do."""
    monkeypatch.setattr(engine_module, "BUSY_TIMEOUT_MS", 100)
    first, second = open_store(url), open_store(url)
    try:
        with first.write() as session:
            session.exec(select(Unit)).all()
            with pytest.raises(StoreBusyError) as caught, second.write() as other:
                other.exec(select(Unit)).all()
        assert "locked by another process" in str(caught.value)
        assert "\n" not in str(caught.value)
    finally:
        first.close()
        second.close()


def test_open_store_missing_says_how_to_make_one(tmp_path: Path) -> None:
    """A directory without a store is one line, and nothing is made there."""
    with pytest.raises(StoreMissingError, match="holdwatch init --data"):
        open_store(store_url(tmp_path / "none", None))
    assert not (tmp_path / "none").exists()


def test_open_store_without_tables_says_how_to_make_them(tmp_path: Path) -> None:
    """An empty database is no store yet."""
    sqlite3.connect(tmp_path / "holdwatch.db").close()
    with pytest.raises(StoreMissingError, match="holdwatch init"):
        open_store(store_url(tmp_path, None))


def test_open_store_of_something_else_is_one_line(tmp_path: Path) -> None:
    """A file that is no database is said to be none."""
    (tmp_path / "holdwatch.db").write_text("not a database " * 100)
    with pytest.raises(StorageError, match="not a sound store") as caught:
        open_store(store_url(tmp_path, None))
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("migrate", [False, True])
def test_open_store_of_a_newer_version_is_refused(url: str, *, migrate: bool) -> None:
    """A store from a newer version is left alone, whether or not migrating was asked for."""
    opened = open_store(url)
    with opened.write() as session:
        session.connection().execute(text("UPDATE alembic_version SET version_num = '9999'"))
    opened.close()
    with pytest.raises(StoreVersionError, match="newer version of Holdwatch") as caught:
        open_store(url, migrate=migrate)
    assert "\n" not in str(caught.value)


def test_open_store_of_an_older_version_says_what_brings_it_up(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only `init` and `run` migrate; every other part says so and ends."""
    monkeypatch.setattr(engine_module, "VERSIONS", (*engine_module.VERSIONS, "9999"))
    monkeypatch.setattr(engine_module, "head_version", lambda: "9999")
    with pytest.raises(StoreVersionError, match=r"older version .* `holdwatch init`"):
        open_store(url)


@pytest.mark.postgresql
def test_open_store_without_a_database_says_how_to_make_one(postgres_url: str) -> None:
    """A PostgreSQL database that does not exist is one line without a password."""
    missing = postgres_url.replace("@/", ":secret@/").replace("/store_", "/none_")
    with pytest.raises(StoreMissingError, match="createdb") as caught:
        open_store(missing)
    assert "secret" not in str(caught.value)


@pytest.mark.postgresql
def test_open_store_with_the_server_away_is_one_line(tmp_path: Path) -> None:
    """A server that does not answer is one line."""
    with pytest.raises(StorageError, match="see that it runs") as caught:
        open_store(f"postgresql://postgres@/none?host={tmp_path}")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("given", ["mysql://root@host/db", "sqlite://", "sqlite:///:memory:", "not a url"])
def test_store_url_of_no_use_is_refused(given: str, tmp_path: Path) -> None:
    """A store is kept in a SQLite file or in PostgreSQL, nowhere else."""
    with pytest.raises(ConfigError):
        store_url(tmp_path, given)


@pytest.mark.parametrize("given", ["postgres://u:p@h/d", "postgresql://u:p@h/d", "postgresql+psycopg://u:p@h/d"])
def test_store_url_of_postgresql_speaks_through_psycopg(given: str, tmp_path: Path) -> None:
    """Every usual way to write it means the same."""
    assert store_url(tmp_path, given) == "postgresql+psycopg://u:p@h/d"


def test_store_url_without_one_is_a_file_of_the_data_directory(tmp_path: Path) -> None:
    """The default is SQLite in the data directory, whatever letters its name has."""
    odd = tmp_path / "pâtisserie 100% #1"
    opened = open_store(store_url(odd, None), migrate=True)
    opened.close()
    assert (odd / "holdwatch.db").is_file()
    assert opened.data_dir == odd


def test_checkpoint_empties_the_log(sqlite_store: Store, tmp_path: Path) -> None:
    """The write-ahead log is empty afterwards, or it says that somebody still reads."""
    with sqlite_store.write() as session:
        session.add(Unit(name="Walk-in 1", kind="walk-in", added_ms=1))
    log = tmp_path / "holdwatch.db-wal"
    assert log.stat().st_size > 0
    with sqlite_store.read() as reading:
        reading.exec(select(Unit)).all()
        with sqlite_store.write() as session:
            session.add(Unit(name="Walk-in 2", kind="walk-in", added_ms=1))
        assert not sqlite_store.checkpoint()
    assert sqlite_store.checkpoint()
    assert log.stat().st_size == 0


def test_checkpoint_on_either_database_is_harmless(store: Store) -> None:
    """PostgreSQL keeps its own log; there is nothing to do."""
    assert store.checkpoint()


@pytest.mark.parametrize(("lock", "says"), [(listener_lock, "another listener"), (watch_lock, "another watch")])
def test_lock_held_refuses_a_second_one(
    url: str, lock: Callable[[Store], AbstractContextManager[None]], says: str
) -> None:
    """Two of them would do the same work twice; the second one says who holds the place."""
    first, second = open_store(url), open_store(url)
    try:
        with lock(first):
            with pytest.raises(StorageError, match=says) as caught, lock(second):
                pass
            assert "\n" not in str(caught.value)
        with lock(second):
            pass
    finally:
        first.close()
        second.close()
