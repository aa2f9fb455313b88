"""Which vessels of a batch are measured, and whether they speak for all of it."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.language import _
from holdwatch.readings import Medium
from holdwatch.storage.events import events
from holdwatch.storage.placing import placements
from holdwatch.storage.tables import Batch, Event, EventKind, Placement, Probe

__all__ = ["Measured", "measured_of", "vessels_known"]


@dataclass(frozen=True)
class Measured:
    """The vessels of a batch whose food is measured."""

    vessels: frozenset[int]
    count: int
    """How many vessels the batch has."""
    slowest: bool
    """Whether one of those measured is declared the slowest."""

    @property
    def speaks_for_all(self) -> bool:
        """Whether what is measured shows something of every vessel: all are measured, or the slowest is."""
        return self.slowest or len(self.vessels) >= self.count or self.count == 1

    @property
    def words(self) -> str:
        """Say how many of the vessels are measured, and whether one speaks for all."""
        known = len(self.vessels)
        if self.count == 1:
            return _("measured") if known else _("not measured yet")
        said = (
            _("{known} of {count} vessels measured, the slowest among them")
            if self.slowest
            else _("{known} of {count} vessels measured")
        )
        return said.format(known=known, count=self.count)

    @property
    def why_not(self) -> str:
        """Say why what was measured shows nothing of the other vessels."""
        return _("{measured}: none of them is declared the slowest, so nothing is shown of the others.").format(
            measured=self.words
        )


def measured_of(session: Session, batch: Batch, placed: Iterable[Placement], noted: Iterable[Event]) -> Measured:
    """Return which vessels are measured: a probe in their food, or a hand thermometer; air and simulated product are not.

    Parameters
    ----------
    placed, noted : the batch's placements and notes.
    """
    in_food = [p for p in placed if p.to_ms != p.from_ms and _is_in_food(session, p)]
    by_hand = {event.vessel or 1 for event in noted if event.kind == EventKind.READING}
    vessels = frozenset({p.vessel for p in in_food} | by_hand)
    return Measured(vessels, batch.vessels, any(p.slowest for p in in_food))


def _is_in_food(session: Session, placement: Placement) -> bool:
    probe = session.get(Probe, placement.probe_id)
    return probe is not None and Medium(probe.medium) is Medium.FOOD


_TREATED_OTHERWISE = frozenset(
    {
        EventKind.ADDED,
        EventKind.FROZEN,
        EventKind.OPENED,
        EventKind.PREPARED,
        EventKind.RECEIVED,
        EventKind.REHEATING,
        EventKind.REMOVED,
        EventKind.RETURNED,
        EventKind.STEP,
        EventKind.THAWED,
    }
)
"""What changes what is asked of the one vessel that it names: the slowest does not speak for that one any more."""


def vessels_known(session: Session, batch: Batch, treated_by_ms: int | None = None) -> list[int]:
    """Return the vessels that are judged each by itself: measured ones, the first where none is, and those treated otherwise.

    With `treated_by_ms` only those that were treated otherwise by then.
    """
    noted = events(session, batch_id=batch.id, kinds=[EventKind.READING], all_versions=True)
    placed = placements(session, batch_id=batch.id)
    measured = {row.vessel for row in placed if row.to_ms is None or row.to_ms > row.from_ms}
    measured |= {event.vessel or 1 for event in noted}
    treated = events(session, batch_id=batch.id, until_ms=treated_by_ms, kinds=_TREATED_OTHERWISE)
    return sorted((measured or {1}) | {event.vessel for event in treated if event.vessel is not None})
