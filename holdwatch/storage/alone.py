"""Working alone: declared, ended, and looked over by somebody else afterwards.

Nobody can verify in the night what a lone worker did, and that must not be hidden: from the declaration until its end
everything they record is theirs alone, until somebody else has reviewed it. A review is no verification: a finding is
verified by itself, and a review waits until it was.
"""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.errors import ConfigError, RefusedError
from holdwatch.language import _
from holdwatch.people.handling import Stage
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.storage.events import events, record_event
from holdwatch.storage.findings import finding_numbered
from holdwatch.storage.handling import handling
from holdwatch.storage.ids import id_of
from holdwatch.storage.people_tables import Person
from holdwatch.storage.shifts import SHIFT_LASTS_MS
from holdwatch.storage.signing import sign
from holdwatch.storage.tables import Event, EventKind, Finding

__all__ = [
    "LoneSpan",
    "declare_alone",
    "end_alone",
    "entries_of",
    "lone_span",
    "lone_spans",
    "record_review",
    "unverified",
]

_KINDS = (EventKind.ALONE, EventKind.NOT_ALONE, EventKind.LONE_REVIEWED)
_DECIDES = frozenset({EventKind.ACTION, EventKind.CHECKED, EventKind.MISTAKEN, EventKind.CORRECTION})


@dataclass(frozen=True)
class LoneSpan:
    """From when until when somebody worked alone."""

    id: int
    """The number of the declaration."""
    person: int
    name: str
    initials: str
    from_ms: int
    until_ms: int
    """When it ended; the latest instant possible while it runs."""
    ended: bool
    reviewed_by: str = ""

    def runs(self, now_ms: int) -> bool:
        """Whether they are alone at an instant."""
        return not self.ended and now_ms < self.until_ms

    def covers(self, event: Event) -> bool:
        """Whether an entry was recorded by them while they were alone."""
        said = {self.name.casefold(), self.initials.casefold()}
        inside = self.from_ms <= event.recorded_ms <= self.until_ms
        return inside and event.by.casefold() in said and event.kind not in _KINDS


def declare_alone(session: Session, person: Person, *, now_ms: int, by: str) -> Event:
    """Declare that somebody works alone from now on, until it is ended, somebody joins, or a shift's length is over.

    Raises
    ------
    RefusedError
        If they record nothing.
    ConfigError
        If they are alone already, or somebody else is said to be.
    """
    if not may(PersonRole(person.role), Right.RECORD):
        raise RefusedError(
            _("{name} looks and prints: there is nothing to review").format(name=person.name), who=by, what="work alone"
        )
    for span in lone_spans(session):
        if span.runs(now_ms):
            raise ConfigError(_("{name} is declared to work alone already: end that first").format(name=span.name))
    facts = {"person": id_of(person), "initials": person.initials, "name": person.name}
    return record_event(session, EventKind.ALONE, at_ms=now_ms, now_ms=now_ms, by=by, text=person.name, facts=facts)


def end_alone(session: Session, *, now_ms: int, by: str) -> str:
    """End whoever works alone, and return their name; empty where nobody does."""
    for span in lone_spans(session):
        if span.runs(now_ms):
            record_event(
                session,
                EventKind.NOT_ALONE,
                at_ms=now_ms,
                now_ms=now_ms,
                by=by,
                text=span.name,
                facts={"alone": span.id},
            )
            return span.name
    return ""


def lone_spans(session: Session) -> list[LoneSpan]:
    """Return every span in which somebody worked alone, the oldest first."""
    found = events(session, kinds=_KINDS)
    ended = {event.facts["alone"]: event.at_ms for event in found if event.kind == EventKind.NOT_ALONE}
    reviewed = {event.facts["alone"]: event.by for event in found if event.kind == EventKind.LONE_REVIEWED}
    return [
        LoneSpan(
            id=id_of(event),
            person=event.facts["person"],
            name=event.facts["name"],
            initials=event.facts["initials"],
            from_ms=event.at_ms,
            until_ms=ended.get(event.id, event.at_ms + SHIFT_LASTS_MS),
            ended=event.id in ended,
            reviewed_by=reviewed.get(event.id, ""),
        )
        for event in found
        if event.kind == EventKind.ALONE
    ]


def lone_span(session: Session, number: int) -> LoneSpan:
    """Return one span by the number of its declaration.

    Raises
    ------
    ConfigError
        If there is none.
    """
    for span in lone_spans(session):
        if span.id == number:
            return span
    raise ConfigError(_("nobody was declared to work alone under the number {number}").format(number=number))


def entries_of(session: Session, span: LoneSpan) -> list[Event]:
    """Return what somebody recorded while alone, as it was recorded; an instant before it counts by its recording."""
    noted = events(session, since_ms=span.from_ms - SHIFT_LASTS_MS, until_ms=span.until_ms, all_versions=True)
    return sorted((event for event in noted if span.covers(event)), key=id_of)


def unverified(session: Session, span: LoneSpan) -> list[Finding]:
    """Return the findings that they decided about while alone, and that nobody else has verified yet."""
    numbers = {event.finding_id for event in entries_of(session, span) if event.kind in _DECIDES}
    found = [finding_numbered(session, number) for number in sorted(each for each in numbers if each is not None)]
    return [finding for finding in found if handling(session, finding).stage is not Stage.VERIFIED]


def record_review(session: Session, number: int, reviewer: Person, *, text: str, now_ms: int) -> Event:
    """Record, and sign, that somebody else looked over what was done alone; the PIN was just found right.

    Raises
    ------
    RefusedError
        If it is the one who worked alone, or somebody who verifies nothing.
    ConfigError
        If they are still alone, it was reviewed already, or a finding waits to be verified first.
    """
    span = lone_span(session, number)
    who, what = reviewer.name, "review what was done alone"
    if reviewer.id == span.person:
        raise RefusedError(
            _("{name} worked alone: somebody else reviews it").format(name=span.name), who=who, what=what
        )
    if not may(PersonRole(reviewer.role), Right.VERIFY):
        raise RefusedError(
            _("{name} is {role}: a manager reviews it").format(name=reviewer.name, role=_(reviewer.role)),
            who=who,
            what=what,
        )
    if span.runs(now_ms):
        raise ConfigError(
            _("{name} still works alone: end that first, or verify a finding by itself").format(name=span.name)
        )
    if span.reviewed_by:
        raise ConfigError(_("{name} has reviewed it already").format(name=span.reviewed_by))
    waiting = unverified(session, span)
    if waiting:
        listed = ", ".join(
            _("{title} (finding {number})").format(title=finding.title, number=finding.id) for finding in waiting
        )
        raise ConfigError(_("verify first, each by itself: {listed}").format(listed=listed))
    event = record_event(
        session,
        EventKind.LONE_REVIEWED,
        at_ms=now_ms,
        now_ms=now_ms,
        by=reviewer.name,
        text=text.strip(),
        facts={"alone": span.id},
    )
    sign(session, [id_of(event)], reviewer, now_ms=now_ms)
    return event
