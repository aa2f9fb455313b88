"""Writing a file whole or not at all."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from holdwatch.errors import ConfigError
from holdwatch.language import _

__all__ = ["whole_file"]


@contextmanager
def whole_file(out: Path) -> Iterator[BinaryIO]:
    """Open a file beside `out`, and put it in its place when all went well; else leave `out` as it was.

    Raises
    ------
    ConfigError
        If it cannot be written.
    """
    try:
        descriptor, name = tempfile.mkstemp(prefix=f".{out.name[:40]}.", suffix=".part", dir=out.parent)
    except OSError as exc:
        raise ConfigError(_why(out, exc)) from exc
    part = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.chmod(_usual_mode())
        part.replace(out)
    except OSError as exc:
        raise ConfigError(_why(out, exc)) from exc
    finally:
        part.unlink(missing_ok=True)


def _usual_mode() -> int:
    """Return the mode a new file usually gets."""
    mask = os.umask(0o022)
    os.umask(mask)
    return 0o666 & ~mask


def _why(out: Path, exc: OSError) -> str:
    """Say what could not be written, and why."""
    return _("{out} cannot be written: {error}; choose another place with -o, or make room").format(
        out=out, error=exc.strerror or exc
    )
