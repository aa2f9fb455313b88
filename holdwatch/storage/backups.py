"""A backup while everything runs, and putting one back where there is nothing.

SQLite copies its pages online; PostgreSQL has ``pg_dump`` and ``pg_restore``, which come with it. Both take one state
of the store. The key of the seals is in neither: whoever has a backup shall not be able to sign in the kitchen's name.
"""

import shutil
import sqlite3
import subprocess
from contextlib import closing, suppress
from pathlib import Path

from sqlalchemy import inspect

from holdwatch.errors import ConfigError, StorageError
from holdwatch.storage.engine import Store
from holdwatch.storage.migrating import backup as copy_sqlite
from holdwatch.storage.place import data_dir_of, parse_url

__all__ = ["make_backup", "put_back"]

_SQLITE = b"SQLite format 3\x00"


def make_backup(store: Store, target: Path) -> None:
    """Write a store into a file, whole or not at all; others go on reading and writing meanwhile.

    Raises
    ------
    ConfigError
        If the file is there already.
    StorageError
        If it cannot be written, or PostgreSQL's ``pg_dump`` is not there or fails.
    """
    if target.exists():
        raise ConfigError(f"{target} is there already: name another file, a backup is never written over")
    half = target.with_name(f".{target.name}.half")
    try:
        if store.is_sqlite:
            copy_sqlite(store, half)
        else:
            _run("pg_dump", "--format=custom", f"--file={half}", f"--dbname={_libpq(store)}")
        half.rename(target)
    except OSError as exc:
        raise StorageError(f"the backup {target} cannot be written ({exc.strerror}): nothing was changed") from exc
    finally:
        with suppress(OSError):
            half.unlink(missing_ok=True)


def put_back(source: Path, url: str) -> None:
    """Put a backup where there is nothing yet.

    Raises
    ------
    ConfigError
        If the file is no backup of that kind of store, or something is there already.
    StorageError
        If it cannot be read or written.
    """
    parsed = parse_url(url)
    try:
        with source.open("rb") as file:
            of_sqlite = file.read(len(_SQLITE)) == _SQLITE
    except OSError as exc:
        raise ConfigError(f"the backup {source} cannot be read ({exc.strerror})") from exc
    directory = data_dir_of(parsed)
    if of_sqlite != (directory is not None):
        raise ConfigError(
            f"{source} is no backup of such a store: SQLite goes into a data directory, pg_dump into PostgreSQL"
        )
    if directory is not None:
        _put_back_sqlite(source, Path(str(parsed.database)))
        return
    store = Store(parsed, pooled=False)
    try:
        with store.explained(), store.engine.connect() as connection:
            if inspect(connection).get_table_names():
                raise ConfigError(f"{store.place} holds tables already: make an empty database, and put it back there")
        _run("pg_restore", "--exit-on-error", "--no-owner", f"--dbname={_libpq(store)}", str(source))
    finally:
        store.close()


def _put_back_sqlite(source: Path, database: Path) -> None:
    if database.exists():
        raise ConfigError(f"{database.parent} holds a store already: name an empty directory with --data")
    try:
        database.parent.mkdir(parents=True, exist_ok=True)
        with (
            closing(sqlite3.connect(f"file:{source}?mode=ro", uri=True)) as kept,
            closing(sqlite3.connect(database)) as made,
        ):
            kept.backup(made)
            if made.execute("PRAGMA quick_check").fetchone() != ("ok",):
                raise StorageError(f"{source} is damaged: take an earlier backup")
    except (OSError, sqlite3.Error) as exc:
        raise StorageError(f"{source} cannot be put back ({exc}): take an earlier backup") from exc


def _libpq(store: Store) -> str:
    """Return the address as PostgreSQL's own programs read it."""
    return store.parsed.set(drivername="postgresql").render_as_string(hide_password=False)


def _run(program: str, *words: str) -> None:
    if shutil.which(program) is None:
        raise StorageError(f"{program} is not there: install PostgreSQL's client programs")
    done = subprocess.run([program, *words], capture_output=True, text=True, check=False)
    if done.returncode:
        said = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise StorageError(f"{program} failed: {said}")
