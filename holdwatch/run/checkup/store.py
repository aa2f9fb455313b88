"""The store and the disk under it."""

import shutil
from pathlib import Path

from holdwatch.errors import HoldwatchError
from holdwatch.run.checkup.line import Lines, broken, look, ok, split
from holdwatch.settings import STORE_NAME, Settings
from holdwatch.storage.engine import open_store
from holdwatch.storage.register import site_at

__all__ = ["look_at_disk", "look_at_store"]

_MB = 1_000_000
_FULL, _NEARLY_FULL = 5 * _MB, 500 * _MB
_LARGE_LOG = 256 * _MB


def look_at_store(settings: Settings) -> Lines:
    """Open the store, and take the writer's place for a moment."""
    try:
        store = open_store(settings.store_url)
        try:
            with store.write() as session:
                site = site_at(session, None)
        finally:
            store.close()
    except HoldwatchError as exc:
        yield broken("store", *split(str(exc), "holdwatch init"))
        return
    yield ok("store", f"{store.place} is the record of {site.name}, and can be read and written")
    waiting = settings.data / f"{STORE_NAME}-wal"
    if store.is_sqlite and waiting.exists() and waiting.stat().st_size > _LARGE_LOG:
        yield look(
            "store",
            f"{waiting} has grown to {_mb(waiting.stat().st_size)}: somebody reads and does not end",
            "end other programs that read the store, or restart holdwatch run",
        )


def look_at_disk(settings: Settings) -> Lines:
    """See how much room the data directory has."""
    there = settings.data.absolute()
    if not there.is_dir():
        yield broken(
            "disk", f"there is no directory {there}", f"holdwatch init --data {settings.data}, or name another"
        )
        return
    usage = shutil.disk_usage(there)
    room = f"{_mb(usage.free)} free in {there}"
    if usage.free < _FULL:
        yield broken("disk", f"it is full: {room}", "free some space there; readings wait meanwhile")
    elif usage.free < min(_NEARLY_FULL, usage.total // 10):
        yield look("disk", f"it is nearly full: {room}", "free some space there")
    elif not _may_write(there):
        yield broken("disk", f"{there} may not be written", "give this user the right to write there")
    else:
        yield ok("disk", room)


def _may_write(directory: Path) -> bool:
    """Return whether a file can be made there."""
    trial = directory / ".holdwatch-checkup"
    try:
        trial.touch()
        trial.unlink()
    except OSError:
        return False
    return True


def _mb(size: int) -> str:
    """Write a size for a person."""
    return f"{size / 1_000 / _MB:.1f} GB" if size >= 1_000 * _MB else f"{size / _MB:.0f} MB"
