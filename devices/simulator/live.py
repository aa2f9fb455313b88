"""Probes that speak as time goes on: each asks its part of the kitchen what it reads now."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from devices.simulator.chance import Instants
from devices.simulator.device import Device
from devices.simulator.kitchen import Readings
from devices.simulator.publisher import Publisher

__all__ = ["Feed", "speak_up_to"]


@dataclass
class Feed:
    """A probe, what it would read at given instants, and from when on it has still to speak."""

    device: Device
    readings: Callable[[Instants], Readings]
    next_ms: int

    def due(self, now_ms: int) -> Instants:
        """Return the instants since the last time up to now at which it speaks; they are multiples of its interval."""
        step = self.device.every_s * 1000
        first = -(-self.next_ms // step) * step
        at_ms = np.arange(first, now_ms + 1, step, dtype=np.int64)
        self.next_ms = max(self.next_ms, int(at_ms[-1]) + 1) if len(at_ms) else self.next_ms
        return at_ms


def speak_up_to(feeds: list[Feed], publisher: Publisher, now_ms: int, *, bare_older_than_ms: int | None = None) -> int:
    """Publish all that the probes read up to now, and return how much that was.

    Bare numbers older than `bare_older_than_ms` are left out: without an instant they would be taken for present ones.
    """
    count = 0
    for feed in feeds:
        at_ms, celsius = feed.readings(feed.due(now_ms))
        for at, value in zip(at_ms.tolist(), celsius.tolist(), strict=True):
            if not feed.device.tells_instant and bare_older_than_ms is not None and at < now_ms - bare_older_than_ms:
                continue
            publisher.publish(feed.device, at, value)
            count += 1
    publisher.send_due()
    return count
