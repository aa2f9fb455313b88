"""A millisecond of its own for every reading without an instant of its own.

A reading is known by its probe and instant. Two bare numbers that arrive in the same millisecond are two
readings all the same; the later one takes the next free millisecond. What is free is asked of the store, in the
transaction that writes, so that neither a restart nor a stepped clock can make two readings one.
"""

from collections.abc import Iterable

from sqlalchemy import select
from sqlmodel import Session, col

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.intake.instants import free_after, free_before
from holdwatch.storage.tables import Reading

__all__ = ["Cursors", "Slots"]

_BLOCK_MS = 1_024
_CURSOR_HOLDS_MS = 10 * MS_PER_MINUTE


class Cursors:
    """Where the last reading without a known instant was laid down, by probe: saves asking for full blocks again."""

    def __init__(self) -> None:
        self._next: dict[int, int] = {}

    def start(self, probe_id: int, arrival_ms: int) -> int:
        """Return where to begin looking for an arrival."""
        last = self._next.get(probe_id)
        if last is not None and 0 <= arrival_ms - last <= _CURSOR_HOLDS_MS:
            return last
        return arrival_ms

    def moved(self, probe_id: int, at_ms: int) -> None:
        """Remember where the last one went."""
        self._next[probe_id] = at_ms - 1


class Slots:
    """The free milliseconds of each probe, during one transaction."""

    def __init__(self, session: Session, cursors: Cursors, own: Iterable[tuple[int, int]]) -> None:
        """Start from the (probe, instant) pairs that the group brings itself."""
        self._session, self._cursors = session, cursors
        self._claimed: set[tuple[int, int]] = set(own)
        self._blocks: dict[tuple[int, int], frozenset[int]] = {}

    def claim_live(self, probe_id: int, at_ms: int) -> int:
        """Take the first free millisecond from an arrival on."""
        return self._claim(probe_id, free_after(at_ms, lambda ms: self._is_taken(probe_id, ms)))

    def claim_unknown(self, probe_id: int, arrival_ms: int) -> int:
        """Take the last free millisecond up to an arrival."""
        start = self._cursors.start(probe_id, arrival_ms)
        at_ms = self._claim(probe_id, free_before(start, lambda ms: self._is_taken(probe_id, ms)))
        self._cursors.moved(probe_id, at_ms)
        return at_ms

    def _claim(self, probe_id: int, at_ms: int) -> int:
        self._claimed.add((probe_id, at_ms))
        return at_ms

    def _is_taken(self, probe_id: int, at_ms: int) -> bool:
        if (probe_id, at_ms) in self._claimed:
            return True
        block = at_ms // _BLOCK_MS
        if (probe_id, block) not in self._blocks:
            self._blocks[probe_id, block] = self._read_block(probe_id, block)
        return at_ms in self._blocks[probe_id, block]

    def _read_block(self, probe_id: int, block: int) -> frozenset[int]:
        """Ask the store which milliseconds of a block have a reading."""
        first = block * _BLOCK_MS
        asked = select(col(Reading.at_ms)).where(
            col(Reading.probe_id) == probe_id, col(Reading.at_ms) >= first, col(Reading.at_ms) < first + _BLOCK_MS
        )
        return frozenset(self._session.connection().execute(asked).scalars())
