"""Words of ours that are kept in the record are in the site's language, whoever enters them."""

from contextlib import AbstractContextManager

from sqlmodel import Session, col, select

from holdwatch.language import speaking, spoken
from holdwatch.storage.tables import SiteVersion

__all__ = ["in_site_language"]


def in_site_language(session: Session) -> AbstractContextManager[None]:
    """Speak the site's language for a while; before there is a site, go on in whatever is spoken."""
    newest = select(SiteVersion.language).order_by(col(SiteVersion.from_ms).desc(), col(SiteVersion.id).desc())
    return speaking(session.exec(newest.limit(1)).first() or spoken())
