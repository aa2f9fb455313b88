"""What a probe holds back until it is told that it was kept.

A broker's acknowledgement says that the broker has a message, not that anybody wrote it down. So a probe with a memory
keeps each reading until ``ack/<code>`` names its instant, and sends it again after a while. When the memory is full the
oldest reading gives way, and is counted.
"""

import threading
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Kept", "Outbox"]


@dataclass
class Kept:
    """One message that nobody has confirmed yet."""

    topic: str
    payload: bytes
    sent_ms: int | None = None
    """When it was last sent, on the monotonic clock; ``None``: never."""


class Outbox:
    """The memory of all the probes of one publisher; safe to use from several threads."""

    def __init__(self, capacity: int = 20_000) -> None:
        """Hold at most `capacity` messages."""
        self._kept: OrderedDict[tuple[str, int], Kept] = OrderedDict()
        self._lock = threading.Lock()
        self._capacity = capacity
        self.given_up = 0

    def __len__(self) -> int:
        with self._lock:
            return len(self._kept)

    def add(self, code: str, at_ms: int, topic: str, payload: bytes) -> None:
        """Keep a message under its probe and its second."""
        with self._lock:
            self._kept[code, at_ms // 1000] = Kept(topic, payload)
            while len(self._kept) > self._capacity:
                self._kept.popitem(last=False)
                self.given_up += 1

    def confirm(self, code: str, seconds: Iterable[float]) -> int:
        """Drop what was written down, and return how much that was."""
        with self._lock:
            return sum(self._kept.pop((code, int(second)), None) is not None for second in seconds)

    def due(self, now_ms: int, again_after_ms: int, limit: int) -> list[Kept]:
        """Return, oldest first, what was never sent or was sent too long ago, marked as sent now."""
        with self._lock:
            late = [
                kept for kept in self._kept.values() if kept.sent_ms is None or now_ms - kept.sent_ms >= again_after_ms
            ]
            for kept in late[:limit]:
                kept.sent_ms = now_ms
            return late[:limit]

    def forget_sending(self) -> None:
        """Take everything as not sent: the connection that it was sent on is gone."""
        with self._lock:
            for kept in self._kept.values():
                kept.sent_ms = None
