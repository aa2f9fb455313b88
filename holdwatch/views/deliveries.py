"""Deliveries as screens and papers list them."""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.charts.marks import Mark, mark_of
from holdwatch.language import _, explained
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.deliveries import deliveries
from holdwatch.storage.tables import Batch, Event

__all__ = ["DeliveryView", "delivery_views"]


@dataclass(frozen=True)
class DeliveryView:
    """One delivery."""

    at_ms: int
    what: str
    supplier: str
    celsius: float | None
    mark: Mark
    """How it stood to the receiving limit."""
    clause: str
    says: str
    taken: bool
    why: str
    use_by: str
    lot: str
    by: str

    @property
    def became(self) -> str:
        """What became of it, in words."""
        said = _("taken") if self.taken else _("refused")
        said += ", " + _("batch {lot}").format(lot=self.lot) if self.lot else ""
        return explained(said, self.why)


def delivery_views(session: Session, first_ms: int, last_ms: int) -> list[DeliveryView]:
    """Return the deliveries of a span with both ends included, in the order in which they came. [ms]."""
    return [_view(session, event) for event in deliveries(session, first_ms, last_ms)]


def _view(session: Session, event: Event) -> DeliveryView:
    facts, batch = event.facts, session.get(Batch, event.batch_id) if event.batch_id is not None else None
    return DeliveryView(
        at_ms=event.at_ms,
        what=event.text,
        supplier=str(facts.get("supplier", "")),
        celsius=event.celsius,
        mark=mark_of(Verdict(facts.get("verdict", Verdict.NONE))),
        clause=str(facts.get("clause", "")),
        says=str(facts.get("says", "")),
        taken=bool(facts.get("taken")),
        why=str(facts.get("why", "")),
        use_by=str(facts.get("use_by", "")),
        lot="" if batch is None else batch.lot,
        by=event.by,
    )
