"""Who is told and how, as a screen and a console tell it, and since when which hours are quiet."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from holdwatch.alerts.carrier import mask
from holdwatch.language import _
from holdwatch.storage.contacts import contacts
from holdwatch.storage.hours import DAYS, MINUTES_A_DAY, clock_of
from holdwatch.storage.ids import id_of
from holdwatch.storage.register import units
from holdwatch.storage.routes import routes
from holdwatch.storage.tables import ContactRoute, SiteVersion

__all__ = ["ContactView", "Quieted", "contact_views", "quiet_history"]


@dataclass(frozen=True)
class ContactView:
    """Somebody who is told."""

    name: str
    channel: str
    """Where to, without its secrets."""
    told_of: tuple[str, ...]
    """When they are told of what, a line a route; without a route it is everything, at once."""


@dataclass(frozen=True)
class Quieted:
    """Which hours were quiet from an instant on; none where empty."""

    from_ms: int
    quiet: str
    by: str


def contact_views(session: Session) -> list[ContactView]:
    """Return everyone who is told at present, in the order they were added."""
    known, names = routes(session), {id_of(unit): unit.name for unit in units(session)}
    return [
        ContactView(
            each.name,
            mask(each.url),
            tuple(_words_of(route, names) for route in known[id_of(each)]) or (_("everything, at once"),),
        )
        for each in contacts(session)
    ]


def quiet_history(session: Session) -> list[Quieted]:
    """Return every change of the quiet hours, the newest first; none where nobody ever set them."""
    found: list[Quieted] = []
    before = ""
    for site in session.exec(select(SiteVersion).order_by(col(SiteVersion.from_ms), col(SiteVersion.id))):
        if site.quiet != before:
            found.append(Quieted(site.from_ms, site.quiet, site.by))
        before = site.quiet
    return found[::-1]


def _words_of(route: ContactRoute, units: dict[int, str]) -> str:
    """Write a route for a person."""
    parts = [", ".join(map(_, route.kinds)) or _("everything")]
    if route.unit_ids:
        named = (units.get(each, _("unit {number}").format(number=each)) for each in route.unit_ids)
        parts.append(_("of {units}").format(units=", ".join(named)))
    if route.days:
        parts.append(_("on {days}").format(days=", ".join(_(DAYS[day]) for day in route.days)))
    if (route.from_min, route.to_min) != (0, MINUTES_A_DAY):
        parts.append(f"{clock_of(route.from_min)}–{clock_of(route.to_min)}")
    after_min = route.after_ms // 60_000
    parts.append(
        _("if nobody has seen it for {length}").format(length=f"{after_min} min") if after_min else _("at once")
    )
    return ", ".join(parts)
