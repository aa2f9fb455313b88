"""Disks that are full or may not be written: real ones where this process may mount, else what stands in for them."""

import errno
import functools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from holdwatch.storage import engine

__all__ = ["can_mount", "fill", "make_read_only", "small_disk"]

_SIZE = 20_000_000


@functools.cache
def can_mount() -> bool:
    """Return whether this process may mount a file system; containers often refuse it, even to root."""
    if os.geteuid() != 0 or shutil.which("mount") is None:
        return False
    with tempfile.TemporaryDirectory() as trial:
        if subprocess.run(["mount", "-t", "tmpfs", "tmpfs", trial], check=False, capture_output=True).returncode != 0:
            return False
        subprocess.run(["umount", trial], check=True)
    return True


@contextmanager
def small_disk(directory: Path) -> Iterator[Path]:
    """Give a directory on a disk of 20 MB, or a plain one where none can be mounted."""
    directory.mkdir(parents=True)
    if not can_mount():
        yield directory
        return
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={_SIZE}", "tmpfs", str(directory)], check=True)
    try:
        yield directory
    finally:
        subprocess.run(["umount", "-l", str(directory)], check=True)


def fill(disk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no more fit on a disk."""
    if can_mount():
        with (disk / "ballast").open("wb", buffering=0) as ballast:
            try:
                while ballast.write(b"0" * 4_096):
                    pass
            except OSError:
                return
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: SimpleNamespace(total=_SIZE, used=_SIZE, free=0))
    prepare = engine._prepare_sqlite

    def prepare_full(connection: Any, record: Any) -> None:
        prepare(connection, record)
        connection.execute("PRAGMA max_page_count = 1")  # SQLite takes the size it has, and answers SQLITE_FULL

    monkeypatch.setattr(engine, "_prepare_sqlite", prepare_full)


def make_read_only(disk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a disk be read and not written."""
    if can_mount():
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        return
    if os.geteuid() != 0:
        for path in [*disk.rglob("*"), disk]:
            path.chmod(0o555 if path.is_dir() else 0o444)
        return

    # root writes whatever the rights are: the answer of a disk that went read-only stands in
    def refuse(*_args: Any, **_kwargs: Any) -> None:
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr(Path, "touch", refuse)
    begin = engine._begin_sqlite

    def begin_read_only(connection: Any) -> None:
        begin(connection)
        connection.exec_driver_sql("PRAGMA query_only = ON")  # SQLite then answers SQLITE_READONLY

    monkeypatch.setattr(engine, "_begin_sqlite", begin_read_only)
