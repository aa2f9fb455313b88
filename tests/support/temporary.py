"""Where files of the tests lie for a moment: in memory, where there is enough of it."""

import os
import shutil
from pathlib import Path

__all__ = ["DISK", "temporary_root"]

DISK = Path("/tmp")  # noqa: S108  a socket's path must be short
_MEMORY = Path("/dev/shm")  # noqa: S108  a file system, not a name somebody could take
_ROOM_BYTES = 4_000_000_000


def temporary_root() -> Path:
    """Return the file system in memory if it has room and programs may be run from it, else ``/tmp``.

    Making and deleting a store, above all one of PostgreSQL with its thousand files, takes a tenth of the time there.
    What is tested is the same: the system calls that bring a commit to the disk are made either way.
    """
    if not _MEMORY.is_dir() or not os.access(_MEMORY, os.W_OK):
        return DISK
    if os.statvfs(_MEMORY).f_flag & os.ST_NOEXEC or shutil.disk_usage(_MEMORY).free < _ROOM_BYTES:
        return DISK
    return _MEMORY
