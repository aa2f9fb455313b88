"""The limits in force: whether they can be read, whether the authority confirmed them, what set-up left open."""

from sqlmodel import Session

from holdwatch.errors import LimitsError, StoreMissingError
from holdwatch.run.checkup.line import Lines, broken, look, ok, split
from holdwatch.storage.register import site_at
from holdwatch.views.limits import governing

__all__ = ["look_at_limits"]


def look_at_limits(session: Session, now_ms: int) -> Lines:
    """Say how the limits of the site stand."""
    try:
        found = governing(session, site_at(session, now_ms))
    except StoreMissingError:
        return
    except LimitsError as exc:
        yield broken("limits", *split(str(exc), "correct the file, and take it into force: holdwatch limits use"))
        return
    if not found.site.authority:
        cure = 'holdwatch limits use --authority "NAME, STATE OR COUNTRY"'
        yield look("limits", f"{found.name}, and nobody said who inspects", cure)
    elif not found.stands:
        yield look("limits", f"{found.name}, {found.confirmed}", "ask it, then: holdwatch limits confirm")
    else:
        yield ok("limits", f"{found.name}, {found.confirmed}")
    for question in found.unanswered:
        yield look("limits", question, "holdwatch limits use --raw-egg yes|no --susceptible yes|no")
    if found.newer:
        yield look("limits", found.newer, f"holdwatch limits show {found.limits.id}, then limits use")
