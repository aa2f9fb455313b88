"""What the Set-up page asks of the limits, and what it records; like `data`, for one page."""

from datetime import date
from zoneinfo import ZoneInfo

from dashboards.data import _forget, now_ms, signed_by, store, told
from holdwatch import clock
from holdwatch.people.roles import Right
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.inforce import Confirmation, confirm_limits, confirmations
from holdwatch.storage.people_tables import Person
from holdwatch.storage.register import set_site, site_at
from holdwatch.storage.signing import sign
from holdwatch.storage.tables import EventKind
from holdwatch.views.limits import Governing, governing, versions

__all__ = ["confirm", "confirmed", "governs", "history", "manager_who_signs", "today", "use"]


def governs() -> Governing:
    """Return the limits in force now, and how they stand."""
    with store().read() as session:
        return governing(session, site_at(session, now_ms()))


def history() -> list[Governing]:
    """Return every version of the site with its limits, the oldest first."""
    with store().read() as session:
        return versions(session)


def confirmed() -> list[Confirmation]:
    """Return every confirmation that was recorded, the oldest first."""
    with store().read() as session:
        return confirmations(session)


def today(zone: str) -> date:
    """Return the present day at the site."""
    return clock.to_datetime(now_ms()).astimezone(ZoneInfo(zone)).date()


@told
def use(
    *, limits: str | None, authority: str, raw_egg: str, susceptible: str, altitude: str, by: str, pin: str
) -> bool:
    """Take limits into force from now on; ``None`` leaves the text that governs."""
    now, signer = now_ms(), manager_who_signs(by, pin)
    with store().write() as session:
        set_site(
            session,
            from_ms=now,
            now_ms=now,
            by=by,
            limits=limits,
            authority=authority,
            raw_egg=raw_egg,
            susceptible=susceptible,
            altitude=altitude,
        )
        if signer is not None:
            sign(session, [id_of(events(session, kinds=[EventKind.SITE_SET])[-1])], signer, now_ms=now)
    _forget()
    return True


@told
def confirm(*, person: str, on: date, how: str, by: str, pin: str) -> bool:
    """Record that the authority confirmed the limits in force."""
    now, signer = now_ms(), manager_who_signs(by, pin)
    with store().write() as session:
        site = site_at(session, now)
        done = confirm_limits(
            session, site, person=person, on=on, how=how, today=today(site.timezone), now_ms=now, by=by
        )
        if signer is not None:
            sign(session, [done.event_id], signer, now_ms=now)
    _forget()
    return True


def manager_who_signs(by: str, pin: str) -> Person | None:
    """Return the manager whose PIN is right; ``None`` while nobody has been entered."""
    return signed_by(by, pin, Right.SET_UP)
