"""Which batches stand in a unit, as far as their moves were recorded."""

from collections.abc import Sequence

from sqlmodel import Session

from holdwatch.storage.batching import batches
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.tables import Batch, Event, EventKind, Unit

__all__ = ["WHEREABOUTS", "standing", "stays"]

WHEREABOUTS = (EventKind.MOVED, EventKind.REMOVED, EventKind.RETURNED)
"""What says where a batch stands from then on."""


def standing(session: Session, unit: Unit, at_ms: int, *, perhaps: bool = False) -> list[Batch]:
    """Return the batches that ran at an instant and stood in a unit.

    Parameters
    ----------
    at_ms : the instant. [ms]
    perhaps : also those of which nobody wrote down where they stood.
    """
    found = []
    for batch in batches(session):
        if batch.started_ms > at_ms or (batch.ended_ms is not None and batch.ended_ms <= at_ms):
            continue
        moves = events(session, batch_id=id_of(batch), until_ms=at_ms, kinds=WHEREABOUTS)
        known = stays(batch, moves)
        places = {place for place, begun, over, _ in known if begun <= at_ms and (over is None or over > at_ms)}
        if unit.id in places or (perhaps and None in places):
            found.append(batch)
    return found


def stays(batch: Batch, moves: Sequence[Event]) -> list[tuple[int | None, int, int | None, bool]]:
    """Return (unit or unknown, from, until, confirmed) of each stay, the first one from the start of the batch. [ms].

    Vessels may stand apart: a move of one vessel leaves it open where the others are, so it opens a stay and ends none.
    """
    found: list[tuple[int | None, int, int | None, bool]] = [(None, batch.started_ms, None, False)]
    for event in moves:
        if event.vessel is None or batch.vessels == 1:
            found = [(place, begun, event.at_ms if over is None else over, sure) for place, begun, over, sure in found]
        found.append((event.unit_id, event.at_ms, None, bool(event.facts.get("confirmed"))))
    if batch.ended_ms is not None:
        found = [(place, begun, batch.ended_ms if over is None else over, sure) for place, begun, over, sure in found]
    return found
