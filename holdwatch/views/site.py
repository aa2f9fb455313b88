"""The site as screens and papers name it."""

from functools import lru_cache

from sqlmodel import Session

from holdwatch.alerts.message import CAUTION
from holdwatch.errors import LimitsError
from holdwatch.limits import load_limits
from holdwatch.quantities import Scale
from holdwatch.storage.register import site_at
from holdwatch.views.model import SiteView

__all__ = ["site_view"]

_load = lru_cache(maxsize=16)(load_limits)


def site_view(session: Session, at_ms: int | None = None) -> SiteView:
    """Return the site as it was set at an instant; ``None`` is the latest. A broken limits file is told, not raised."""
    site = site_at(session, at_ms)
    try:
        limits = _load(site.limits)
        title, edition, caution = limits.title, limits.edition, limits.caution
    except LimitsError as exc:
        title, edition, caution = f"{site.limits} cannot be used: {exc}", "", CAUTION
    return SiteView(site.name, site.timezone, site.limits, title, edition, caution, Scale(site.unit))
