"""What the Set-up page asks of the limits, and what it records; like `data`, for one page."""

from datetime import date
from zoneinfo import ZoneInfo

from dashboards.data import now_ms, set_up, store, told
from holdwatch import clock
from holdwatch.storage.inforce import Confirmation, confirm_limits, confirmations
from holdwatch.storage.register import set_site, site_at
from holdwatch.views.limits import Governing, governing, versions

__all__ = ["confirm", "confirmed", "governs", "history", "today", "use"]


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
    with set_up(by, pin) as (session, now):
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
    return True


@told
def confirm(*, person: str, on: date, how: str, by: str, pin: str) -> bool:
    """Record that the authority confirmed the limits in force."""
    with set_up(by, pin) as (session, now):
        site = site_at(session, now)
        confirm_limits(session, site, person=person, on=on, how=how, today=today(site.timezone), now_ms=now, by=by)
    return True
