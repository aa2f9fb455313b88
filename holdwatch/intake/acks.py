"""What a device is told once its readings are on disk.

A broker's acknowledgement only says that the broker has the message. A device that keeps its readings until they
are stored listens to ``ack/<probe>``: a JSON object with ``t``, the device's own instants just committed in
seconds since 1970, and ``n``, how many values without an instant were. What was set aside counts as committed:
sending it again would change nothing.
"""

import json
from collections import defaultdict
from dataclasses import dataclass, field

__all__ = ["ACK_TREE", "Acks", "ack_topic"]

ACK_TREE = "ack/"
_MS_PER_SECOND = 1_000
_INSTANTS_A_MESSAGE = 1_000


def ack_topic(code: str) -> str:
    """Return where a probe's acknowledgements are published: outside the listened tree."""
    return f"{ACK_TREE}{code}"


@dataclass
class _Committed:
    """What of one probe was committed."""

    instants_ms: set[int] = field(default_factory=set)
    without: int = 0


class Acks:
    """Collects what one group committed, by probe."""

    def __init__(self) -> None:
        self._by_code: defaultdict[str, _Committed] = defaultdict(_Committed)

    def add(self, code: str, at_ms: int | None) -> None:
        """Note one committed value, with the device's own instant if it stated one."""
        if at_ms is None:
            self._by_code[code].without += 1
        else:
            self._by_code[code].instants_ms.add(at_ms)

    def messages(self) -> list[tuple[str, bytes]]:
        """Return the acknowledgements to publish, as topic and payload."""
        found = []
        for code, committed in self._by_code.items():
            instants = [_seconds(at_ms) for at_ms in sorted(committed.instants_ms)]
            first, rest = instants[:_INSTANTS_A_MESSAGE], instants[_INSTANTS_A_MESSAGE:]
            said: dict[str, object] = {}
            if first:
                said["t"] = first
            if committed.without:
                said["n"] = committed.without
            found.append((ack_topic(code), _write(said)))
            found.extend(
                (ack_topic(code), _write({"t": rest[start : start + _INSTANTS_A_MESSAGE]}))
                for start in range(0, len(rest), _INSTANTS_A_MESSAGE)
            )
        return found


def _seconds(at_ms: int) -> float | int:
    """Return an instant in seconds, whole where it is."""
    whole, rest = divmod(at_ms, _MS_PER_SECOND)
    return at_ms / _MS_PER_SECOND if rest else whole


def _write(said: dict[str, object]) -> bytes:
    """Return compact JSON."""
    return json.dumps(said, separators=(",", ":")).encode()
