"""The site as screens and papers name it."""

from sqlmodel import Session

from holdwatch.alerts.message import CAUTION
from holdwatch.errors import LimitsError
from holdwatch.quantities import Scale
from holdwatch.storage.register import site_at
from holdwatch.views.limits import governing
from holdwatch.views.model import SiteView

__all__ = ["site_view"]


def site_view(session: Session, at_ms: int | None = None) -> SiteView:
    """Return the site as it was set at an instant; ``None`` is the latest. A broken limits file is told, not raised."""
    site = site_at(session, at_ms)
    try:
        limits = governing(session, site)
    except LimitsError as exc:
        title = f"{site.limits} cannot be used: {exc}"
        notice = f"Limits: {title}, not confirmed with your authority."
        return SiteView(
            site.name, site.timezone, site.limits, title, "", CAUTION, Scale(site.unit), notice, site.altitude
        )
    notice = " ".join([f"Limits: {limits.name}, {limits.confirmed}.", *limits.warnings])
    return SiteView(
        site.name,
        site.timezone,
        site.limits,
        limits.limits.title,
        limits.limits.edition,
        limits.limits.caution,
        Scale(site.unit),
        notice,
        site.altitude,
    )
