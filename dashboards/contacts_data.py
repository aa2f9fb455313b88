"""What the Set-up page asks of those who are told, and what it records; like `data`, for one part of a page."""

from typing import TYPE_CHECKING

from dashboards.data import now_ms, set_up, store, told
from holdwatch.alerts.carrier import mask, send, validate_url
from holdwatch.alerts.message import trial
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage.contacts import add_contact, contact_named, end_contact
from holdwatch.storage.hours import read_days, read_hours
from holdwatch.storage.register import set_site, site_at, unit_named
from holdwatch.storage.routes import add_route, end_routes
from holdwatch.storage.tables import FindingKind
from holdwatch.views.contacts import ContactView, Quieted, contact_views, quiet_history

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["KINDS", "add", "contacts", "end", "everything", "quiet", "quieted", "route", "set_quiet", "try_out"]

KINDS = tuple(kind.value for kind in FindingKind)


def contacts() -> list[ContactView]:
    """Return everyone who is told at present."""
    with store().read() as session:
        return contact_views(session)


def quiet() -> str:
    """Return the quiet hours as they are now; empty for none."""
    with store().read() as session:
        return site_at(session, now_ms()).quiet


def quieted() -> list[Quieted]:
    """Return every change of the quiet hours, the newest first."""
    with store().read() as session:
        return quiet_history(session)


@told
def add(*, name: str, url: str, by: str, pin: str) -> bool:
    """Add somebody who is told from now on."""
    validate_url(url)
    with set_up(by, pin) as (session, now):
        add_contact(session, name, url, now_ms=now, by=by)
    return True


@told
def route(
    *,
    name: str,
    kinds: "Sequence[str]",
    units: "Sequence[str]",
    days: "Sequence[str]",
    hours: str,
    after_min: int,
    by: str,
    pin: str,
) -> bool:
    """Add a route: when somebody is told, of what, and after how long nobody has seen it."""
    from_min, to_min = read_hours(hours)
    with set_up(by, pin) as (session, now):
        add_route(
            session,
            contact_named(session, name),
            kinds=[FindingKind(each) for each in kinds],
            units=[unit_named(session, each) for each in units],
            days=read_days(",".join(days)),
            from_min=from_min,
            to_min=to_min,
            after_ms=after_min * MS_PER_MINUTE,
            now_ms=now,
            by=by,
        )
    return True


@told
def everything(*, name: str, by: str, pin: str) -> bool:
    """End every route of somebody, who is told of everything at once again."""
    with set_up(by, pin) as (session, now):
        if not end_routes(session, contact_named(session, name), now_ms=now, by=by):
            raise ConfigError(_("{name} has no route: they are told of everything at once already").format(name=name))
    return True


@told
def end(*, name: str, by: str, pin: str) -> bool:
    """Tell somebody of nothing any more."""
    with set_up(by, pin) as (session, now):
        end_contact(session, contact_named(session, name), now_ms=now, by=by)
    return True


@told
def set_quiet(*, hours: str, by: str, pin: str) -> bool:
    """Set the quiet hours from now on; empty for none."""
    with set_up(by, pin) as (session, now):
        set_site(session, from_ms=now, now_ms=now, by=by, quiet=hours)
    return True


@told
def try_out(*, name: str, by: str) -> str:  # noqa: ARG001  who asks is held against the shift by `told`
    """Send a trial message now; return which channel took it."""
    with store().read() as session:
        contact, site = contact_named(session, name), site_at(session, None)
    send(contact.url, trial(site, contact.name, now_ms()))
    return mask(contact.url)
