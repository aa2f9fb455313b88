"""Whether a message came live, or may have waited at the broker.

The broker keeps the order of what it sends us. So a message that comes after one of our own markers was
published after that marker was: it is no older than the marker. A bare number counts as live only while the
newest marker that came back was sent a few seconds ago. That holds after a reconnect with a queue to work off,
and as well when the writer stalls, the socket backs up, or this process was stopped for a while: each of them
delays the markers just as it delays the readings.
"""

import secrets
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["LIVE_WITHIN_MS", "Liveness"]

LIVE_WITHIN_MS = 10_000
_REMEMBERED = 64


@dataclass(frozen=True, slots=True)
class _Sent:
    """When a marker was sent, by both clocks: the steady one may stand still while the machine sleeps."""

    steady_ms: int
    wall_ms: int


class Liveness:
    """The markers of one connection. Not locked: the caller serialises."""

    def __init__(self, steady_ms: Callable[[], int], wall_ms: Callable[[], int]) -> None:
        self._steady_ms, self._wall_ms = steady_ms, wall_ms
        self._sent: dict[str, _Sent] = {}
        self._back: _Sent | None = None
        self._first: _Sent | None = None

    def reset(self) -> None:
        """Start again with a new connection: nothing is live until a marker of its own is back."""
        self._sent.clear()
        self._back = self._first = None

    def new_marker(self) -> str:
        """Return the token of a marker that is about to be sent."""
        token = secrets.token_hex(8)
        self._sent[token] = sent = self._now()
        self._first = self._first or sent
        while len(self._sent) > _REMEMBERED:
            del self._sent[next(iter(self._sent))]
        return token

    def came_back(self, token: str) -> None:
        """Note a marker that the broker sent us; one of another connection says nothing."""
        sent = self._sent.pop(token, None)
        if sent is not None and (self._back is None or sent.steady_ms >= self._back.steady_ms):
            self._back = sent

    def is_live(self) -> bool:
        """Return whether what arrives now was published a few seconds ago at most."""
        return self._back is not None and self._age_ms(self._back) <= LIVE_WITHIN_MS

    def silent_for_ms(self) -> int:
        """Return for how long markers have been sent and none came back."""
        oldest = self._back or self._first
        return 0 if oldest is None else self._age_ms(oldest)

    def _now(self) -> _Sent:
        return _Sent(self._steady_ms(), self._wall_ms())

    def _age_ms(self, sent: _Sent) -> int:
        """Return how long ago a marker was sent, by the clock that says longer."""
        now = self._now()
        return max(now.steady_ms - sent.steady_ms, now.wall_ms - sent.wall_ms)
