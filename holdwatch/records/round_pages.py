"""What is printed of the day's round: openings and closings with what stood on them, and days without cooling."""

from dataclasses import replace
from typing import Any

from sqlmodel import Session

from holdwatch.language import _, explained, written_day
from holdwatch.records.setting import Setting, shown
from holdwatch.storage.daily import STOOD
from holdwatch.storage.events import events
from holdwatch.storage.tables import Event, EventKind
from holdwatch.views.deliveries import DeliveryView, delivery_views
from holdwatch.views.site import site_view
from holdwatch.views.visits import VisitView, visit_views
from holdwatch.views.words import event_words

__all__ = ["round_pages"]

_ROUND = (EventKind.CLOSING, EventKind.OPENING, EventKind.NOTHING_COOLED)


def round_pages(session: Session, setting: Setting) -> dict[str, Any]:
    """Gather what is printed of the round in a span."""
    first_ms, last_ms = setting.span.first_ms, setting.until_ms
    gone = events(session, since_ms=first_ms, until_ms=last_ms, kinds=_ROUND)
    came = delivery_views(session, first_ms, last_ms)
    return {
        "visits": [
            _visit(each, session, setting) for each in visit_views(session, first_ms, last_ms, site_view(session))
        ],
        "deliveries": [_delivery(each, setting) for each in came],
        "round": [[setting.times.at(event.at_ms), event_words(event.kind), _stood(event), event.by] for event in gone],
    }


def _visit(visit: VisitView, session: Session, setting: Setting) -> list[Any]:
    """Write a visit for the typesetter, in the paper's unit."""
    site = replace(site_view(session), scale=setting.scale)
    who = f"{visit.officer}, {visit.authority}"
    return [setting.times.at(visit.at_ms), who, "; ".join(visit.lines(site)) or _("nothing more"), visit.by]


def _delivery(came: DeliveryView, setting: Setting) -> list[Any]:
    """Write a delivery for the typesetter."""
    measured = "–" if came.celsius is None else setting.temperature(came.celsius)
    what = f"{came.what} ({came.supplier})" + (
        f", {_('use by {day}').format(day=written_day(came.use_by))}" if came.use_by else ""
    )
    return [setting.times.at(came.at_ms), what, measured, shown(came.mark), came.clause, came.became, came.by]


def _stood(event: Event) -> str:
    """Say what stood on a round when it was gone through."""
    if event.kind == EventKind.NOTHING_COOLED:
        return explained(written_day(event.facts["day"]), event.text)
    lines = [explained(about, words) for _kind, about, words, _link in event.facts.get(STOOD, [])]
    said = "; ".join(lines) if lines else _("nothing stood on it")
    return f"{said}. {event.text}" if event.text else said
