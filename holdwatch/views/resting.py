"""Units out of use as screens and papers tell them, with the batches that are recorded as standing in one."""

from collections.abc import Iterator

from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _, many
from holdwatch.storage.ids import id_of
from holdwatch.storage.out_of_use import Rest, rest_at, rests
from holdwatch.storage.site import units
from holdwatch.storage.standing import standing
from holdwatch.storage.tables import Unit
from holdwatch.views.daily import Line, Part
from holdwatch.views.model import SiteView
from holdwatch.views.words import clock_words, day_words, span_words

__all__ = ["out_of_use_part", "rest_told", "resting_now", "rests_told", "warning"]


def rest_told(rest: Rest, site: SiteView) -> str:
    """Write a stretch out of use: from when to when, why, by whom, and when it was declared if that was later."""
    if rest.to_ms is None:
        span = _("since {time}").format(time=clock_words(rest.from_ms, site.zone))
    else:
        span = f"{day_words(rest.from_ms, site.zone)} {span_words(rest.from_ms, rest.to_ms, site.zone)}"
    why = f"{_(rest.purpose.value)} ({rest.text})" if rest.text else _(rest.purpose.value)
    later = rest.declared_ms > rest.from_ms + MS_PER_MINUTE
    declared = ", " + _("declared {time}").format(time=clock_words(rest.declared_ms, site.zone)) if later else ""
    return _("out of use {span}, {why}, by {by}{declared}").format(span=span, why=why, by=rest.by, declared=declared)


def rests_told(session: Session, unit_id: int, span: tuple[int, int], site: SiteView) -> tuple[str, ...]:
    """Write every stretch of a unit that touches a span with both ends included. [ms]."""
    return tuple(rest_told(rest, site) for rest in rests(session, unit_id, *span))


def resting_now(session: Session, unit_id: int, now_ms: int, site: SiteView) -> str:
    """Say why a unit is out of use now; nothing while it is in use."""
    rest = rest_at(session, unit_id, now_ms)
    return "" if rest is None else rest_told(rest, site)


def warning(session: Session, unit: Unit, at_ms: int) -> str:
    """Say that food is recorded as standing in a unit that is out of use; nothing where none is."""
    lots = [f"{batch.product} {batch.lot}" for batch in standing(session, unit, at_ms)]
    if not lots:
        return ""
    return many(
        "{lots} is recorded as standing in it. Its own limits go on being asked: move the food, and record where to.",
        "{lots} are recorded as standing in it. Their own limits go on being asked: move the food, and record where to.",
        len(lots),
        lots=", ".join(lots),
    )


def out_of_use_part(session: Session, now_ms: int, site: SiteView) -> Part:
    """Return the units that are out of use now, as a part of a round."""
    return Part(_("Units out of use"), _("Every unit is in use."), tuple(_lines(session, now_ms, site)))


def _lines(session: Session, now_ms: int, site: SiteView) -> Iterator[Line]:
    for unit in units(session):
        told = resting_now(session, id_of(unit), now_ms, site)
        if told:
            yield Line(unit.name, told, warning(session, unit, now_ms), f"/units?unit={unit.id}")
