"""Locks between processes: a file in the data directory, or an advisory lock of PostgreSQL."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from sqlalchemy import text

from holdwatch.errors import StorageError
from holdwatch.storage.engine import Store

__all__ = ["exclusive"]

_NUMBERS = {
    "listener": 0x486F6C64_0002,
    "migration": 0x486F6C64_0003,
    "watch": 0x486F6C64_0004,
}  # advisory locks of PostgreSQL


@contextmanager
def exclusive(store: Store, name: str, taken: str) -> Iterator[None]:
    """Hold the lock `name` of a store; it is let go when the process ends, however it ends.

    Parameters
    ----------
    name : "listener", "watch" or "migration".
    taken : what to tell a person when another process holds it; ``{holder}`` stands for that process.

    Raises
    ------
    StorageError
        If another process holds it, or the lock file cannot be made.
    """
    held = _file_lock(store.data_dir, name, taken) if store.data_dir is not None else _advisory(store, name, taken)
    with held:
        yield


@contextmanager
def _file_lock(data_dir: Path, name: str, taken: str) -> Iterator[None]:
    path = data_dir / f"{name}.lock"
    try:
        file = path.open("a+", encoding="ascii")
    except OSError as exc:
        raise StorageError(f"the lock file {path} cannot be made ({exc.strerror}): see that it may be written") from exc
    with file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as exc:
            raise StorageError(taken.format(holder=_holder(file))) from exc
        with suppress(OSError):  # a full disk is no reason to go without the lock; the name is for people
            file.truncate(0)
            file.write(str(os.getpid()))
            file.flush()
        yield


def _holder(file: IO[str]) -> str:
    """Name the process that wrote itself into a lock file."""
    file.seek(0)
    pid = file.read(20).strip()
    return f"process {pid}" if pid.isdecimal() else "another process"


@contextmanager
def _advisory(store: Store, name: str, taken: str) -> Iterator[None]:
    number = {"number": _NUMBERS[name]}
    with store.explained():
        connection = store.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
    try:
        with store.explained():
            got = connection.execute(text("SELECT pg_try_advisory_lock(:number)"), number).scalar()
        if not got:
            raise StorageError(taken.format(holder="another process"))
        yield
    finally:
        connection.invalidate()  # ends the database session, and the lock with it
        connection.close()
