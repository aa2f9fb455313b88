"""Which findings of the past somebody may still have to deal with, told without reading what happened to each.

Where a finding stands is computed from everything that was recorded about it. Of years of findings that is too much for a
page that draws itself every few seconds, so the store leaves out those that are certainly settled: the last entry about
them settled them, corrects nothing, and nothing was found of them while they were open afterwards. What is doubtful is
not left out.
"""

from sqlalchemy import ColumnElement
from sqlalchemy.orm import aliased
from sqlmodel import Session, and_, col, exists, select

from holdwatch.people.handling import Act
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.tables import Event, Finding, FindingKind, FindingVersion

__all__ = ["for_the_page"]

_SETTLES = (Act.ACTION, Act.MISTAKEN, Act.CHECK_KEPT, Act.VERIFIED)
"""After any of these nobody has to do anything about the food."""


def for_the_page(session: Session, newest: int) -> list[Finding]:
    """Return every finding that is open or may still want somebody, and the newest of those that do not.

    Parameters
    ----------
    newest : how many of those that do not.
    """
    over = col(Finding.closed_ms).is_not(None)
    real = col(Finding.subject).not_like("reminder:%")
    kept = and_(col(Finding.kind) == FindingKind.NOT_SHOWN, col(Finding.verdict) == Verdict.MET.value)
    warned = col(Finding.kind).in_([FindingKind.SOON, FindingKind.SYSTEM])
    passed = warned | kept | col(Finding.replaced_by).is_not(None)
    settled = passed | _is_settled()
    still = select(Finding).where(real, ~over | ~settled)
    lately = select(Finding).where(real, over, settled).order_by(col(Finding.opened_ms).desc(), col(Finding.id).desc())
    return [*session.exec(still), *session.exec(lately.limit(newest))]


def _is_settled() -> ColumnElement[bool]:
    """Ask whether an entry settles a finding for certain."""
    later, version = aliased(Event), aliased(FindingVersion)
    again = and_(
        col(version.finding_id) == col(Event.finding_id),
        col(version.at_ms) >= col(Event.recorded_ms),
        col(version.closed_ms).is_(None),
    )
    return exists().where(
        col(Event.finding_id) == col(Finding.id),
        col(Event.replaces_id).is_(None),
        col(Event.facts)["act"].as_string().in_([act.value for act in _SETTLES]),
        ~exists().where(col(later.finding_id) == col(Event.finding_id), col(later.id) > col(Event.id)),
        ~exists().where(again),
    )
