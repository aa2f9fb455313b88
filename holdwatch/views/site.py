"""The site as screens and papers name it."""

from sqlmodel import Session

from holdwatch.alerts.message import CAUTION
from holdwatch.errors import LimitsError
from holdwatch.language import _, degrees
from holdwatch.quantities import Scale
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import SiteVersion
from holdwatch.views.limits import governing
from holdwatch.views.model import SiteView

__all__ = ["site_view"]


def site_view(session: Session, at_ms: int | None = None) -> SiteView:
    """Return the site as it was set at an instant; ``None`` is the latest. A broken limits file is told, not raised."""
    site = site_at(session, at_ms)
    try:
        limits = governing(session, site)
    except LimitsError as exc:
        title = _("{limits} cannot be used: {exc}").format(limits=site.limits, exc=exc)
        notice = _("Limits: {title}, not confirmed with your authority.").format(title=title)
        return SiteView(site.name, site.timezone, site.limits, title, "", CAUTION, _scale(site), notice, site.altitude)
    notice = " ".join(
        [_("Limits: {limits}, {confirmed}.").format(limits=limits.name, confirmed=limits.confirmed), *limits.warnings]
    )
    return SiteView(
        site.name,
        site.timezone,
        site.limits,
        limits.limits.title,
        limits.limits.edition,
        limits.limits.cautions,
        _scale(site),
        notice,
        site.altitude,
    )


def _scale(site: SiteVersion) -> Scale:
    """Return in which degrees temperatures are shown: those of whoever is spoken to, else the site's."""
    return Scale(degrees() or site.unit)
