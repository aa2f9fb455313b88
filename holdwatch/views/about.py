"""What an entry is about."""

from sqlmodel import Session

from holdwatch.storage.tables import Batch, Event, Finding, Unit

__all__ = ["about"]


def about(session: Session, event: Event) -> str:
    """Return what an entry is about, as a person calls it; empty where it is about the kitchen."""
    if event.finding_id is not None:
        return session.get_one(Finding, event.finding_id).title
    if event.batch_id is not None:
        batch = session.get_one(Batch, event.batch_id)
        return f"{batch.product} {batch.lot}"
    return "" if event.unit_id is None else session.get_one(Unit, event.unit_id).name
