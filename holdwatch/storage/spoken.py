"""What the store says for the site: words of ours that are kept in its language, instants on its clock."""

from contextlib import AbstractContextManager
from zoneinfo import ZoneInfoNotFoundError

from sqlmodel import Session, col, select

from holdwatch.clock import clock_words
from holdwatch.language import speaking, spoken
from holdwatch.storage.tables import SiteVersion

__all__ = ["in_site_language", "on_site_clock"]

_NEWEST = (col(SiteVersion.from_ms).desc(), col(SiteVersion.id).desc())


def in_site_language(session: Session) -> AbstractContextManager[None]:
    """Speak the site's language for a while; before there is a site, go on in whatever is spoken."""
    return speaking(session.exec(select(SiteVersion.language).order_by(*_NEWEST).limit(1)).first() or spoken())


def on_site_clock(session: Session, at_ms: int) -> str:
    """Write an instant as the site's clock shows it, with year and zone; in UTC where the store knows no zone. [ms]."""
    zone = session.exec(select(SiteVersion.timezone).order_by(*_NEWEST).limit(1)).first() or "UTC"
    try:
        return clock_words(at_ms, zone, year=True)
    except (ZoneInfoNotFoundError, ValueError, OSError):  # of a record that was tampered with
        return clock_words(at_ms, "UTC", year=True)
