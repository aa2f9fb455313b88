"""Opening the store, and its two kinds of transaction: short reads, and writes one at a time.

Every write transaction takes the writer's place when it begins (``BEGIN IMMEDIATE`` on SQLite, an advisory lock on
PostgreSQL), so a transaction that reads first and writes afterwards never fails half-way, and never
builds on what another one is just changing. Keep both kinds short; no network and no typesetting inside.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, NullPool, create_engine, event, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlmodel import Session

from holdwatch.errors import ConfigError, StoreMissingError, StoreVersionError
from holdwatch.storage.chain import ChainedSession
from holdwatch.storage.place import data_dir_of, parse_url, store_url
from holdwatch.storage.trouble import explain, where
from holdwatch.storage.versions import VERSIONS, head_version

__all__ = ["BUSY_TIMEOUT_MS", "Store", "head_version", "migrate", "open_store", "store_url", "store_version"]

BUSY_TIMEOUT_MS = 10_000
_CHECKPOINT_WAIT_MS = 250
_WRITER_LOCK = 0x486F6C64_0001  # advisory lock of PostgreSQL: who writes


class Store:
    """An open store; share it between threads, not between processes."""

    def __init__(self, url: URL, *, pooled: bool = True) -> None:
        """Make the engine; nothing is opened yet."""
        self.parsed = url
        self.url = url.render_as_string(hide_password=False)
        self.data_dir: Path | None = data_dir_of(url)
        self.engine = _make_engine(url, pooled=pooled)
        if url.drivername == "sqlite":
            self._reader, self._writer = self.engine, self.engine.execution_options(holdwatch_write=True)
        else:
            self._reader = self.engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            self._writer = self.engine.execution_options(isolation_level="READ COMMITTED", holdwatch_write=True)

    @property
    def is_sqlite(self) -> bool:
        """Whether the store is a SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @property
    def place(self) -> str:
        """Where the store lies, in words for a person: without a password."""
        return where(self.parsed)

    @contextmanager
    def read(self) -> Iterator[Session]:
        """Give a session that sees one state of the store; the rows stay usable when it has ended."""
        with self.explained(), Session(self._reader, autoflush=False, expire_on_commit=False) as session:
            yield session

    @contextmanager
    def write(self) -> Iterator[Session]:
        """Give a session that alone may write; it is committed at the end, or undone by an exception.

        Raises
        ------
        StoreBusyError
            If another process kept the writer's place for ten seconds.
        StoreFullError, StoreReadOnlyError
            If the disk takes no more, or may not be written.
        """
        with self.explained(), ChainedSession(self._writer, expire_on_commit=False) as session:
            yield session
            session.commit()

    @contextmanager
    def explained(self) -> Iterator[None]:
        """Turn what the database complains of into one line that says what to do."""
        try:
            yield
        except (SQLAlchemyError, sqlite3.Error) as exc:  # the second while a connection is made
            shown = explain(exc, self.parsed)
            if shown is None:
                raise
            raise shown from exc

    def checkpoint(self) -> bool:
        """Move SQLite's write-ahead log into the file and empty it; call it on a timer.

        Returns
        -------
        bool
            Whether the log is empty now; it is not while somebody reads, the next call tries again.
        """
        if not self.is_sqlite:
            return True
        with self.explained(), self.engine.connect() as connection:
            raw: Any = connection.connection.driver_connection
            raw.execute(f"PRAGMA busy_timeout = {_CHECKPOINT_WAIT_MS}")
            try:
                busy = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
            finally:
                raw.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
        return not busy

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()


def open_store(url: str, *, migrate: bool = False) -> Store:
    """Open a store and check its version; with `migrate`, make it or bring it up to this version first.

    Raises
    ------
    StoreMissingError
        If there is no store yet.
    StoreVersionError
        If it was made by another version of Holdwatch.
    StorageError
        If it cannot be opened.
    """
    parsed = parse_url(url)
    data_dir = data_dir_of(parsed)
    if data_dir is not None and not migrate and not Path(str(parsed.database)).is_file():
        raise StoreMissingError(f"there is no store in {data_dir}: make one with `holdwatch init --data {data_dir}`")
    store = Store(parsed)
    try:
        if migrate:
            _migrate(store)
        _check_version(store)
    except BaseException:
        store.close()
        raise
    return store


def migrate(store: Store) -> None:
    """Make the tables, or bring them up to this version, after a backup; other processes wait meanwhile."""
    _migrate(store)


def store_version(store: Store) -> str | None:
    """Return the version of the store's tables, ``None`` where there are none: one SELECT."""
    with store.explained(), store.engine.connect() as connection:
        try:
            found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        except DBAPIError as exc:
            if "no such table" in str(exc.orig) or getattr(exc.orig, "sqlstate", None) == "42P01":
                return None
            raise
    return None if found is None else str(found)


def _migrate(store: Store) -> None:
    from holdwatch.storage.migrating import bring_up  # Alembic is heavy, and seldom needed

    bring_up(store)


def _check_version(store: Store) -> None:
    """Refuse a store of another version in one line."""
    found = store_version(store)
    if found == head_version():
        return
    if found is None:
        raise StoreMissingError(f"{store.place} holds no tables of Holdwatch yet: run `holdwatch init`")
    if found in VERSIONS:
        raise StoreVersionError(
            f"{store.place} was made by an older version of Holdwatch (tables {found}, this one needs {head_version()}):"
            " stop its parts and run `holdwatch init` or `holdwatch run`, which bring it up after a backup"
        )
    raise StoreVersionError(
        f"{store.place} was made by a newer version of Holdwatch (tables {found}, this one knows {head_version()}):"
        " install that version, or use another data directory"
    )


def _make_engine(url: URL, *, pooled: bool) -> Engine:
    pool: dict[str, Any] = {"pool_size": 5, "max_overflow": 25} if pooled else {"poolclass": NullPool}
    if url.drivername == "sqlite":
        arguments = {"timeout": BUSY_TIMEOUT_MS / 1000, "check_same_thread": False}
        engine = create_engine(url, connect_args=arguments, **pool)
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    try:
        engine = create_engine(url, pool_pre_ping=True, connect_args={"connect_timeout": 10}, **pool)
    except ModuleNotFoundError as exc:
        raise ConfigError("PostgreSQL needs its driver: pip install 'holdwatch[postgresql]'") from exc
    event.listen(engine, "begin", _begin_postgresql)
    return engine


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    """Set what every connection to a SQLite store needs."""
    connection.isolation_level = None  # the driver shall begin nothing: `_begin_sqlite` does
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")  # a commit is on disk when it returns


def _begin_sqlite(connection: Connection) -> None:
    """Begin a transaction: a writer takes its place at once, a reader can write nothing."""
    writes = connection.get_execution_options().get("holdwatch_write", False)
    connection.exec_driver_sql(f"PRAGMA query_only = {'OFF' if writes else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    """Take the writer's place, as SQLite does: one write transaction at a time."""
    if connection.get_execution_options().get("holdwatch_write", False):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {BUSY_TIMEOUT_MS}")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITER_LOCK})")
