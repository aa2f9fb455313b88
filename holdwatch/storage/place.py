"""Where a store lies: its URL, made plain and checked."""

from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from holdwatch.errors import ConfigError

__all__ = ["FILE_NAME", "data_dir_of", "parse_url", "store_url"]

FILE_NAME = "holdwatch.db"
_POSTGRESQL = frozenset({"postgres", "postgresql", "postgresql+psycopg"})
_SQLITE = frozenset({"sqlite", "sqlite+pysqlite"})


def store_url(data_dir: Path, url: str | None) -> str:
    """Return the URL of the store: the one given, else the SQLite file of the data directory.

    Raises
    ------
    ConfigError
        If the URL is of a database that Holdwatch does not keep a store in.
    """
    if url:
        return parse_url(url).render_as_string(hide_password=False)
    path = data_dir.expanduser().absolute() / FILE_NAME
    if "?" in str(path):
        raise ConfigError(f"the data directory {data_dir} has a '?' in its name: use another one")
    return URL.create("sqlite", database=str(path)).render_as_string()


def parse_url(url: str) -> URL:
    """Read the URL of a store; ``postgres://`` and ``postgresql://`` are spoken to through psycopg.

    Raises
    ------
    ConfigError
        If it is no URL, or of a database that Holdwatch does not keep a store in.
    """
    try:
        parsed = make_url(url)
    except (ArgumentError, ValueError) as exc:
        hint = "sqlite:////path/to/holdwatch.db or postgresql://user@host/name"
        raise ConfigError(f"the database URL cannot be read: write it as {hint}") from exc
    if parsed.drivername in _POSTGRESQL:
        return parsed.set(drivername="postgresql+psycopg")
    if parsed.drivername not in _SQLITE:
        raise ConfigError(f"no store can be kept in {parsed.drivername!r}: use sqlite:/// or postgresql://")
    if not parsed.database or parsed.database == ":memory:" or parsed.query:
        raise ConfigError("a store on SQLite needs a file: write sqlite:////path/to/holdwatch.db")
    return parsed.set(drivername="sqlite")


def data_dir_of(url: URL) -> Path | None:
    """Return the directory of a SQLite store, ``None`` for PostgreSQL."""
    return Path(url.database).absolute().parent if url.drivername == "sqlite" and url.database else None
