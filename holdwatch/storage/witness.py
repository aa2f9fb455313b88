"""A file outside of the store that keeps digests of the chain: what it says cannot be rewritten with the store.

One line of JSON a time: when, how many lines the chain had, and the digest of the last. It helps as much as it is out of
reach of whoever would change the store: another machine's disk, a stick in a drawer.
"""

import json
import os
from collections.abc import Iterator
from pathlib import Path

from holdwatch.clock import to_iso
from holdwatch.errors import ConfigError

__all__ = ["add_witness", "witnessed"]


def add_witness(path: Path, position: int, digest: str, now_ms: int) -> None:
    """Add the head of the chain to a file.

    Raises
    ------
    ConfigError
        If the file cannot be written.
    """
    line = json.dumps({"at": to_iso(now_ms), "position": position, "digest": digest}) + "\n"
    try:
        with path.open("a", encoding="utf-8") as file:
            file.write(line)
            file.flush()
            os.fsync(file.fileno())
    except OSError as exc:
        raise ConfigError(f"the witness file {path} cannot be written ({exc.strerror}): give another place") from exc


def witnessed(path: Path) -> Iterator[str]:
    """Give the digests in a file.

    Raises
    ------
    ConfigError
        If it cannot be read, or a line is none of ours.
    """
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as exc:
        raise ConfigError(f"the witness file {path} cannot be read ({exc})") from exc
    for number, line in enumerate(lines, start=1):
        try:
            yield str(json.loads(line)["digest"])
        except (ValueError, KeyError, TypeError) as exc:
            raise ConfigError(f"{path}, line {number}: it is no line of a witness file") from exc
