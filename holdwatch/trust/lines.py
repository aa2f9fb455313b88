"""The chain: each entry is one line of canonical JSON that names the SHA-256 of the line before it.

::

    {"content":{…},"position":7,"previous":"9c1f…","row":"12","table":"event"}

Whoever holds one digest holds the whole past: no line before it can be changed, taken out, put in or swapped without
every later digest becoming another. The text of a line is exactly what is digested, so that it can be checked
with any program that knows SHA-256.

References
----------
.. [1] RFC 8785, JSON Canonicalization Scheme (JCS).
.. [2] FIPS 180-4, Secure Hash Standard: SHA-256.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import rfc8785

__all__ = ["NOTHING_BEFORE", "Line", "canonical", "digest_of", "read_line"]

NOTHING_BEFORE = "0" * 64
"""What the first line names in the place of a line before it."""


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of the chain."""

    position: int
    """Counted from 1."""
    previous: str
    """SHA-256 of the line before it, in hex."""
    table: str
    row: str
    """The key of the row in its table."""
    content: Mapping[str, Any] | None
    """What the row holds from here on; ``None`` where it was taken away."""

    def text(self) -> str:
        """Return the line as it is digested."""
        return canonical(
            {
                "content": None if self.content is None else dict(self.content),
                "position": self.position,
                "previous": self.previous,
                "row": self.row,
                "table": self.table,
            }
        )


def canonical(value: Any) -> str:
    """Return JSON in its one canonical form [1]_.

    Raises
    ------
    ValueError
        If a number is not finite, or a whole one beyond ±(2⁵³ − 1).
    """
    return rfc8785.dumps(value).decode()


def digest_of(text: str) -> str:
    """Return the SHA-256 of a text [2]_, in hex."""
    return hashlib.sha256(text.encode()).hexdigest()


def read_line(text: str) -> Line:
    """Return what a line says.

    Raises
    ------
    ValueError
        If it is no line of a chain.
    """
    try:
        found = json.loads(text)
        return Line(int(found["position"]), found["previous"], found["table"], found["row"], found["content"])
    except (KeyError, TypeError) as exc:
        raise ValueError(f"this is no line of a chain: {text[:80]!r}") from exc
