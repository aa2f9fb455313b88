"""Days that a manager has gone over and signed, and what was recorded about them since.

What changed since is read off the chain: every line after the one that was the last at the review. So nothing that comes
later, a late reading, a correction, another verdict, can hide behind a signature.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_DAY
from holdwatch.errors import ConfigError, RefusedError
from holdwatch.language import _
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.storage.chain import head
from holdwatch.storage.chain_tables import Link
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.people_tables import Person
from holdwatch.storage.sealing import first_ms_of
from holdwatch.storage.signing import sign, signatures
from holdwatch.storage.tables import Event, EventKind, Finding
from holdwatch.trust.lines import read_line

__all__ = ["MEANING", "DayReview", "Since", "changed_since", "day_reviews", "review_days"]

MEANING = "reviewed"
"""What the signature of such an entry means (21 CFR 11.50(a)(3) asks that a signature says it)."""
_LOOKED_AT = ("event", "finding_version", "correction", "placement", "seal")


@dataclass(frozen=True)
class DayReview:
    """One review of one local day or several."""

    id: int
    first_day: str
    last_day: str
    at_ms: int
    by: str
    text: str
    signed: bool
    lines: int
    """How many lines the chain had."""
    digest: str
    """The digest of the last of them."""

    def covers(self, day: str) -> bool:
        """Whether a day, as ISO, was reviewed."""
        return self.first_day <= day <= self.last_day


@dataclass(frozen=True)
class Since:
    """Something that was recorded about reviewed days after their review."""

    line: int
    """Which line of the chain."""
    table: str
    row: str
    kind: str
    """Of an event or a finding, its kind."""
    by: str


def review_days(
    session: Session,
    first_day: str,
    last_day: str,
    *,
    ended_before: str,
    by: str,
    manager: Person | None,
    text: str = "",
    now_ms: int,
) -> Event:
    """Record that somebody went over some days; with `manager`, whose PIN was just found right, it is signed.

    Parameters
    ----------
    first_day, last_day : ISO, both included.
    ended_before : the present local day; what is not over cannot be reviewed.

    Raises
    ------
    ConfigError
        If the days are exchanged, or one of them is not over.
    RefusedError
        If whoever signs may not verify.
    """
    if last_day < first_day:
        raise ConfigError(
            _("{first_day} is after {last_day}: exchange the two").format(first_day=first_day, last_day=last_day)
        )
    if last_day >= ended_before:
        raise ConfigError(
            _("{last_day} is not over yet: a day is reviewed when nothing more happens on it").format(last_day=last_day)
        )
    if manager is not None and not may(PersonRole(manager.role), Right.VERIFY):
        raise RefusedError(
            _("{name} is {role}: a manager reviews days").format(name=manager.name, role=_(manager.role)),
            who=manager.name,
            what="review",
        )
    lines, digest = head(session)
    event = record_event(
        session,
        EventKind.DAYS_REVIEWED,
        at_ms=now_ms,
        now_ms=now_ms,
        by=by,
        text=text.strip(),
        facts={
            "first_day": first_day,
            "last_day": last_day,
            "lines": lines,
            "digest": digest,
            "meaning": MEANING,
        },
    )
    if manager is not None:
        sign(session, [id_of(event)], manager, now_ms=now_ms)
    return event


def day_reviews(session: Session) -> list[DayReview]:
    """Return every review, the oldest first."""
    found = events(session, kinds={EventKind.DAYS_REVIEWED})
    signed = signatures(session, [id_of(event) for event in found])
    return [
        DayReview(
            id=id_of(event),
            first_day=str(event.facts["first_day"]),
            last_day=str(event.facts["last_day"]),
            at_ms=event.at_ms,
            by=event.by,
            text=event.text,
            signed=event.id in signed,
            lines=int(event.facts["lines"]),
            digest=str(event.facts["digest"]),
        )
        for event in found
    ]


def changed_since(session: Session, lines: int, first_ms: int, last_ms: int) -> list[Since]:
    """Return what was recorded about a span after the chain had so many lines.

    Parameters
    ----------
    first_ms, last_ms : the span, both ends included. [ms]
    """
    query = select(Link).where(Link.position > lines, col(Link.table_name).in_(_LOOKED_AT)).order_by(col(Link.position))
    return list(_concerning(session, session.exec(query).all(), first_ms, last_ms))


def _concerning(session: Session, links: Any, first_ms: int, last_ms: int) -> Iterator[Since]:
    for link in links:
        content = read_line(link.text).content
        if content is None or not _concerns(session, link.table_name, content, first_ms, last_ms):
            continue
        yield Since(link.position, link.table_name, link.row, str(content.get("kind", "")), str(content.get("by", "")))


def _concerns(session: Session, table: str, content: Any, first_ms: int, last_ms: int) -> bool:
    if table == "event":
        return content["kind"] != EventKind.DAYS_REVIEWED.value and first_ms <= int(content["at_ms"]) <= last_ms
    if table == "finding_version":
        finding = session.get_one(Finding, content["finding_id"])
        return bool(finding.since_ms <= last_ms and (content["closed_ms"] is None or content["closed_ms"] >= first_ms))
    if table == "correction":
        return bool(content["from_ms"] <= last_ms and (content["to_ms"] is None or content["to_ms"] >= first_ms))
    if table == "placement":  # one that merely ends after the span is nothing of the span's
        return any(at is not None and first_ms <= at <= last_ms for at in (content["from_ms"], content["to_ms"]))
    begins_ms = first_ms_of(content["day"])
    return bool(content["part"]) and begins_ms <= last_ms and begins_ms + MS_PER_DAY > first_ms
