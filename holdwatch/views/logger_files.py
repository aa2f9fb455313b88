"""What of a unit was read from a logger's file, and not heard from a probe."""

from sqlmodel import Session

from holdwatch.language import _
from holdwatch.storage.events import events
from holdwatch.storage.placing import placements
from holdwatch.storage.tables import EventKind
from holdwatch.views.model import SiteView
from holdwatch.views.words import clock_words

__all__ = ["files_told"]


def files_told(session: Session, unit_id: int, span: tuple[int, int], site: SiteView) -> tuple[str, ...]:
    """Return a sentence for each file whose readings are of a unit and touch a span. [ms]."""
    stood = {placed.probe_id for placed in placements(session, unit_id=unit_id)}
    found = []
    for event in events(session, kinds=[EventKind.READ_BACK]):
        facts = event.facts
        of_it = event.batch_id is None and (event.unit_id == unit_id or event.probe_id in stood)
        if of_it and facts["first_ms"] <= span[1] and facts["last_ms"] >= span[0]:
            first, last = (clock_words(facts[name], site.zone) for name in ("first_ms", "last_ms"))
            said = _("read from a logger’s file, {first} to {last}, by {by}: {text}")
            found.append(said.format(first=first, last=last, by=event.by, text=event.text))
    return tuple(found)
