"""Bringing the tables up to this version: alone, and after a backup of what was there."""

import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, text
from sqlmodel import Session

from holdwatch.errors import StorageError, StoreReadOnlyError, StoreVersionError
from holdwatch.storage.chain import begin_chain
from holdwatch.storage.engine import Store, store_version
from holdwatch.storage.lock import listener_lock
from holdwatch.storage.locks import exclusive
from holdwatch.storage.versions import VERSIONS, head_version

__all__ = ["backup", "bring_up"]

_SCRIPTS = Path(__file__).parent / "migrations"


def bring_up(store: Store) -> None:
    """Make the tables, or migrate them, in one transaction; nothing happens where they are of this version.

    Raises
    ------
    StoreVersionError
        If they were made by a newer version of Holdwatch.
    StorageError
        If another process is migrating or listening, or the backup cannot be written.
    """
    _make_directory(store)
    if store_version(store) == head_version():
        return
    taken = f"{{holder}} is already bringing {store.place} up to this version: wait until it is done"
    with exclusive(store, "migration", taken):
        found = store_version(store)
        if found is None:
            _upgrade(store)
        elif found != head_version():
            _refuse_newer(store, found)
            with listener_lock(store):  # an older listener would go on writing into newer tables
                if store.data_dir is not None:
                    backup(store, _free_name(store.data_dir / "backups", f"holdwatch-{found}"))
                _upgrade(store)


def backup(store: Store, target: Path) -> None:
    """Copy a SQLite store to `target` while others read and write it.

    Raises
    ------
    StorageError
        If the copy cannot be written whole; the half of it is removed.
    """
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(str(store.parsed.database))) as source, closing(sqlite3.connect(target)) as copy:
            source.backup(copy)
    except (OSError, sqlite3.Error) as exc:
        with suppress(OSError):
            target.unlink(missing_ok=True)
        raise StorageError(
            f"the backup {target} cannot be written ({exc}): free some space there; nothing was changed"
        ) from exc


def configuration(connection: Connection | None = None) -> Config:
    """Return Alembic's configuration; it needs no file beside the scripts."""
    config = Config()
    config.set_main_option("script_location", str(_SCRIPTS).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def _upgrade(store: Store) -> None:
    """Run the migrations in one write transaction of its own connection."""
    own = Store(store.parsed, pooled=False)
    try:
        with own.explained(), own.engine.execution_options(holdwatch_write=True).connect() as connection:
            if own.is_sqlite:  # remaking a table would otherwise delete what refers to it
                connection.connection.driver_connection.execute("PRAGMA foreign_keys = OFF")  # type: ignore[union-attr]
            with connection.begin():
                command.upgrade(configuration(connection), "head")
                with Session(connection) as session:
                    begin_chain(session)
                if own.is_sqlite and connection.execute(text("PRAGMA foreign_key_check")).first() is not None:
                    raise StorageError(f"{store.place} has rows that refer to missing ones: put a backup in its place")
    finally:
        own.close()


def _refuse_newer(store: Store, found: str) -> None:
    if found not in VERSIONS:
        raise StoreVersionError(
            f"{store.place} was made by a newer version of Holdwatch (tables {found}, this one knows {head_version()}):"
            " install that version, or use another data directory"
        )


def _make_directory(store: Store) -> None:
    if store.data_dir is None:
        return
    try:
        store.data_dir.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        raise StoreReadOnlyError(
            f"the data directory {store.data_dir} cannot be made ({exc.strerror}): use another"
        ) from exc


def _free_name(directory: Path, stem: str) -> Path:
    """Return a name that no backup has yet: an older backup is never written over."""
    number = 1
    while (path := directory / f"{stem}-{number}.db").exists():
        number += 1
    return path
