"""Food that an officer has detained: it goes nowhere until its release is recorded."""

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.tables import Batch, Event, EventKind

__all__ = ["detained", "refuse_detained"]


def detained(session: Session, batch_id: int) -> Event | None:
    """Return the entry by which a batch is detained now, ``None`` where it is not, or was released."""
    told = events(session, batch_id=batch_id, kinds=[EventKind.DETAINED, EventKind.RELEASED])
    return told[-1] if told and told[-1].kind == EventKind.DETAINED else None


def refuse_detained(session: Session, batch: Batch) -> None:
    """Refuse that detained food is used, divided or ended.

    Raises
    ------
    ConfigError
        If the batch is detained.
    """
    entry = detained(session, id_of(batch))
    if entry is not None:
        officer = entry.facts.get("officer", _("an officer"))
        raise ConfigError(
            _("batch {lot!r} is detained by {officer}: record its release first").format(lot=batch.lot, officer=officer)
        )
