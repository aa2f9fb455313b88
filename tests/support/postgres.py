"""A private PostgreSQL for the tests: its own cluster in a temporary directory, reached by a Unix socket alone."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from tests.support.temporary import DISK, temporary_root

__all__ = ["Cluster", "find_binaries", "postgres_cluster"]

_SYSTEM_USER = "postgres"
_CONNECTIONS = "-c max_connections=200"
_SPEED = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"


def find_binaries() -> Path | None:
    """Return the newest installed PostgreSQL's directory of programs."""
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: float(path.parent.name))
    installed = [path for path in versions if (path / "initdb").exists()]
    if installed:
        return installed[-1]
    found = shutil.which("initdb")
    return None if found is None else Path(found).parent


class Cluster:
    """A running server; databases are made from templates, which takes some milliseconds."""

    def __init__(self, directory: Path) -> None:
        """Remember where its socket lies."""
        self._directory = directory
        self._made = 0

    def url(self, database: str) -> str:
        """Return the URL of a database."""
        return f"postgresql://{_SYSTEM_USER}@/{database}?host={self._directory}"

    def create(self, template: str = "template1", name: str | None = None) -> str:
        """Make a database as a copy of another one that nobody is connected to, and return its name."""
        self._made += 1
        name = name or f"store_{os.getpid()}_{self._made}"
        self._run(f'CREATE DATABASE "{name}" TEMPLATE "{template}" STRATEGY FILE_COPY')
        return name

    def drop(self, name: str) -> None:
        """Delete a database, whoever is connected to it."""
        self._run(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')

    def _run(self, sql: str) -> None:
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(sql.encode())


@contextmanager
def postgres_cluster(*, durable: bool = False) -> Iterator[Cluster]:
    """Start a cluster and stop it again; only a durable one brings its commits to the disk.

    Without PostgreSQL the test is skipped; where ``CI`` is set it fails, since nothing may be left out there.
    """
    binaries = find_binaries()
    if binaries is None:
        missing = "PostgreSQL is not installed: apt-get install postgresql"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    directory = Path(tempfile.mkdtemp(prefix="hwpg-", dir=DISK if durable else temporary_root()))
    try:
        if os.geteuid() == 0:
            shutil.chown(directory, _SYSTEM_USER, _SYSTEM_USER)
        data = directory / "data"
        _call(binaries / "initdb", "-D", data, "-U", _SYSTEM_USER, "-A", "trust", "-E", "UTF8", "--no-locale", "-N")
        options = f"-k {directory} -c listen_addresses= {_CONNECTIONS} {'' if durable else _SPEED}"
        _call(binaries / "pg_ctl", "-D", data, "-w", "-l", directory / "log", "-o", options, "start")
        try:
            yield Cluster(directory)
        finally:
            _call(binaries / "pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(directory, ignore_errors=True)


def _call(*command: object) -> None:
    """Run a program of PostgreSQL, which refuses to run as root."""
    words = [str(word) for word in command]
    if os.geteuid() == 0:
        words = ["runuser", "-u", _SYSTEM_USER, "--", *words]
    # A file, not a pipe: the server inherits it and would keep a pipe open for ever.
    with tempfile.TemporaryFile() as output:
        done = subprocess.run(words, stdout=output, stderr=output, check=False, timeout=60, cwd="/")
        if done.returncode:
            output.seek(0)
            pytest.fail(f"{words} failed: {output.read().decode(errors='replace')}")
