"""Sealing beside the rounds of the watch: a little at a time, so that nobody waits for it."""

import logging
from dataclasses import dataclass
from pathlib import Path

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.storage.chain import head
from holdwatch.storage.engine import Store
from holdwatch.storage.sealing import seal_next
from holdwatch.storage.witness import add_witness
from holdwatch.trust.keys import key_in

__all__ = ["Sealer"]

EVERY_MS = MS_PER_MINUTE
AT_ONCE = 4
"""How many days of a probe are sealed between two rounds; each takes some milliseconds."""
_log = logging.getLogger(__name__)


@dataclass
class Sealer:
    """What seals the days of a store."""

    store: Store
    directory: Path
    """Where the key lies."""
    witness: Path | None = None
    next_ms: int | None = None
    """When to look again, on the monotonic clock. [ms]"""
    made: int = 0
    """Seals since the head was last handed to the witness."""

    def go_on(self, now_ms: int, monotonic_ms: int) -> int:
        """Seal some of what waits, and return how many seals were made.

        Raises
        ------
        StorageError
            If the store cannot be used.
        ConfigError
            If the key or the witness cannot.
        """
        if self.next_ms is not None and monotonic_ms < self.next_ms:
            return 0
        self.next_ms = monotonic_ms + EVERY_MS
        key = key_in(self.directory)
        for made in range(AT_ONCE):
            if seal_next(self.store, key, now_ms) is None:
                self.made += made
                self._tell_witness(now_ms)
                return made
        self.made += AT_ONCE
        self.next_ms = monotonic_ms  # more waits
        return AT_ONCE

    def _tell_witness(self, now_ms: int) -> None:
        if self.witness is None or not self.made:
            return
        with self.store.read() as session:
            position, digest = head(session)
        add_witness(self.witness, position, digest, now_ms)
        _log.info("%d days sealed; the head of the chain is %d %s", self.made, position, digest)
        self.made = 0
