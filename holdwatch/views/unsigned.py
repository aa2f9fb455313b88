"""What waits for a signature: by whom, since when, and which days that are over have something left to sign."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from holdwatch.clock import local
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import people
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import Event
from holdwatch.storage.unsigned import unsigned_entries
from holdwatch.views.about import about
from holdwatch.views.words import event_words

__all__ = ["Unsigned", "UnsignedDay", "unsigned", "unsigned_days"]


@dataclass(frozen=True)
class Unsigned:
    """An entry that waits for a signature."""

    id: int
    at_ms: int
    by: str
    """The name under which it was recorded."""
    person: str
    """Who signs it, by their full name; empty where nobody of that name works here any more."""
    about: str
    words: str
    text: str
    finding_id: int | None


@dataclass(frozen=True)
class UnsignedDay:
    """A local day that is over, with entries that nobody has signed."""

    day: date
    names: tuple[str, ...]
    """Who has something to sign, by their full names."""
    count: int


def unsigned(session: Session, person: str | None = None) -> list[Unsigned]:
    """Return what waits for a signature, the oldest first; with `person`, a full name, what waits for them."""
    signers = _signers(session)
    found = [_entry(session, event, signers) for event in unsigned_entries(session)]
    return [entry for entry in found if person is None or entry.person == person]


def unsigned_days(session: Session, now_ms: int) -> list[UnsignedDay]:
    """Return the local days before the present one on which something was recorded that somebody here still signs.

    The site's own zone decides what a day is. What is in the name of somebody who has left is not counted: nobody
    could put it right, and a reminder would never end.
    """
    zone = site_at(session, None).timezone
    today, signers = local(now_ms, zone).date(), _signers(session)
    days: dict[date, list[str]] = {}
    for event in unsigned_entries(session):
        day, name = local(event.recorded_ms, zone).date(), signers.get(event.by.casefold(), "")
        if name and day < today:
            days.setdefault(day, []).append(name)
    return [UnsignedDay(day, tuple(dict.fromkeys(names)), len(names)) for day, names in sorted(days.items())]


def _signers(session: Session) -> dict[str, str]:
    """Return the full name of everybody who works here, by name and by initials in small letters."""
    found = people(session)
    return {said.casefold(): person.name for person in found for said in (person.initials, person.name)}


def _entry(session: Session, event: Event, signers: dict[str, str]) -> Unsigned:
    kind, disposition = event_words(event.kind), str(event.facts.get("disposition") or "")
    return Unsigned(
        id=id_of(event),
        at_ms=event.at_ms,
        by=event.by,
        person=signers.get(event.by.casefold(), ""),
        about=about(session, event),
        words=": ".join(part for part in (kind, disposition) if part),
        text=event.text,
        finding_id=event.finding_id,
    )
