"""What the database complains of, in one line that says what to do."""

import os
import shutil
import sqlite3
from pathlib import Path

from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError, DisconnectionError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from holdwatch.errors import (
    StorageError,
    StoreBusyError,
    StoreFullError,
    StoreMissingError,
    StoreReadOnlyError,
)
from holdwatch.language import N_, _

__all__ = ["explain", "where"]

_Answer = tuple[type[StorageError], str]

_PRIMARY_CODE = 0xFF  # the low byte of an extended SQLite result code
_FULL: _Answer = (StoreFullError, N_("the disk under {place} is full: free some space; what was committed is kept"))
_BUSY: _Answer = (
    StoreBusyError,
    N_("the store {place} is locked by another process: end it (a copy, a backup, an open editor), or try again"),
)
_READ_ONLY: _Answer = (
    StoreReadOnlyError,
    N_("the store {place} may not be written: give this user the right to write it and its directory"),
)
_BROKEN: _Answer = (StorageError, N_("{place} is not a sound store ({error}): put a backup in its place"))
_VAGUE = frozenset({sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR})
_LEAST_FREE = 65_536  # bytes: SQLite cannot even make its shared index with less
_SQLITE: dict[int, _Answer] = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _READ_ONLY,
    sqlite3.SQLITE_NOTADB: _BROKEN,
    sqlite3.SQLITE_CORRUPT: _BROKEN,
    sqlite3.SQLITE_CANTOPEN: (
        StorageError,
        N_("the store {place} cannot be opened: see that its directory exists, may be written and is not full"),
    ),
    sqlite3.SQLITE_IOERR: (
        StorageError,
        N_("the disk under {place} reports an error ({error}): check the disk and its free space"),
    ),
}

# PostgreSQL SQLSTATE: lock_not_available, deadlock_detected, serialization_failure
_PG_BUSY = frozenset({"55P03", "40P01", "40001"})
_PG_FULL = "53100"  # disk_full
_PG_READ_ONLY = "25006"  # read_only_sql_transaction
_PG_NO_DATABASE = "3D000"  # invalid_catalog_name
_PG_MISTAKES = ("22", "23", "42")  # data, integrity, syntax: a programmer's mistake, not a state of the store


def where(url: URL) -> str:
    """Name a store to a person, without its password."""
    if url.drivername == "sqlite":
        return str(url.database)
    return url.set(drivername="postgresql").render_as_string(hide_password=True)


def explain(exc: SQLAlchemyError | sqlite3.Error, url: URL) -> StorageError | None:
    """Return the error to show for what the database complained of; ``None`` for a programmer's mistake."""
    place = where(url)
    if isinstance(exc, sqlite3.Error):
        return _explain_sqlite(exc, place)
    if isinstance(exc, PoolTimeoutError | DisconnectionError):
        return StoreBusyError(
            _("the store {place} is busy: all its connections are in use; try again").format(place=place)
        )
    if not isinstance(exc, DBAPIError) or exc.orig is None:
        return None
    if isinstance(exc.orig, sqlite3.Error):
        return _explain_sqlite(exc.orig, place)
    return _explain_postgresql(exc.orig, place)


def _explain_sqlite(error: sqlite3.Error, place: str) -> StorageError | None:
    code = getattr(error, "sqlite_errorcode", 0) & _PRIMARY_CODE
    answer = (_look_at_disk(Path(place).parent) if code in _VAGUE else None) or _SQLITE.get(code)
    if answer is None:
        return None
    kind, sentence = answer
    return kind(_(sentence).format(place=place, error=error))


def _look_at_disk(directory: Path) -> _Answer | None:
    """Say what is wrong with the disk, where SQLite only says that something is."""
    if not directory.is_dir():
        return None
    if not os.access(directory, os.W_OK):
        return _READ_ONLY
    return _FULL if shutil.disk_usage(directory).free < _LEAST_FREE else None


def _explain_postgresql(error: BaseException, place: str) -> StorageError | None:
    state = getattr(error, "sqlstate", None)
    line = (str(error).strip().splitlines() or [type(error).__name__])[0]
    if state in _PG_BUSY:
        return StoreBusyError(
            _("the store {place} is locked by another process: try again, or look who holds it").format(place=place)
        )
    if state == _PG_FULL:
        return StoreFullError(
            _("the disk of the database {place} is full: free some space; what was committed is kept").format(
                place=place
            )
        )
    if state == _PG_READ_ONLY:
        return StoreReadOnlyError(
            _("the store {place} may not be written: connect to the primary, not a standby").format(place=place)
        )
    if state == _PG_NO_DATABASE or (state is None and "does not exist" in line and "database" in line):
        return StoreMissingError(
            _("there is no database {place}: make it with `createdb`, then run `holdwatch init`").format(place=place)
        )
    if state is None or state[:2] not in _PG_MISTAKES:
        return StorageError(
            _("the database {place} cannot be used ({line}): see that it runs and lets this user in").format(
                place=place, line=line
            )
        )
    return None
