"""The sheet of a unit that broke down: every batch in it, with what was last measured and what is open about it."""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.charts.marks import Mark
from holdwatch.language import _
from holdwatch.storage.ids import id_of
from holdwatch.storage.standing import standing
from holdwatch.storage.tables import Unit
from holdwatch.views.batches import batch_view
from holdwatch.views.model import BatchView
from holdwatch.views.site import site_view
from holdwatch.views.words import age, temperature

__all__ = ["OnSheet", "breakdown"]


@dataclass(frozen=True)
class OnSheet:
    """A batch in the unit."""

    lot: str
    product: str
    vessels: int
    mark: Mark
    perhaps: bool
    """Whether nobody wrote down where it stands."""
    last: str
    """What was last measured of its food, in words."""

    @property
    def title(self) -> str:
        """The batch in words."""
        return f"{self.product} {self.lot}"


def breakdown(session: Session, unit: Unit, now_ms: int) -> list[OnSheet]:
    """Return every batch that stands in a unit, or may; those recorded as standing there come first."""
    surely = {batch.id for batch in standing(session, unit, now_ms)}
    views = [batch_view(session, id_of(batch), now_ms) for batch in standing(session, unit, now_ms, perhaps=True)]
    rows = [_row(session, view, view.id not in surely, now_ms) for view in views if view is not None]
    return sorted(rows, key=lambda row: (row.perhaps, row.title.casefold()))


def _row(session: Session, view: BatchView, perhaps: bool, now_ms: int) -> OnSheet:
    scale = site_view(session).scale
    warmest = [curve for curve in view.curves if curve.last_c is not None and curve.last_ms is not None]
    last = _("not measured")
    if warmest:
        curve = max(warmest, key=lambda each: each.last_ms or 0)
        last = f"{temperature(curve.last_c or 0.0, scale)}, {age(curve.last_ms or 0, now_ms)}"
    return OnSheet(view.lot, view.product, view.vessels, view.mark, perhaps, last)
