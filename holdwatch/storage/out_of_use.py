"""When a unit is out of use, on purpose: declared with its reason, and looked up as of an instant or a span.

A declaration explains silence and warmth; it erases nothing. It may lie ahead (a closed day) or be made afterwards, and
may have no end until somebody says that the unit is back in use.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from sqlmodel import Session, col, func, select

from holdwatch.clock import MS_PER_DAY
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.look import asked_once, at_hand, gather
from holdwatch.storage.names import check_choice, check_instant
from holdwatch.storage.placing import placements
from holdwatch.storage.site import units
from holdwatch.storage.tables import Event, EventKind, Unit

__all__ = ["Purpose", "Rest", "back_in_use", "gather_rests", "next_change_ms", "rest_at", "rests", "take_out_of_use"]

_FARTHEST_MS = 366 * MS_PER_DAY
_NO_UNIT = 0
_OF_UNIT = "what was declared of a unit"
_IN_ORDER = (
    select(Event)
    .where(col(Event.kind).in_([EventKind.OUT_OF_USE.value, EventKind.BACK_IN_USE.value]))
    .order_by(col(Event.at_ms), col(Event.id))
)


class Purpose(StrEnum):
    """Why a unit is out of use."""

    EMPTY = "empty"
    CLEANED = "cleaned"
    DEFROSTED = "defrosted"
    CLOSED = "closed"  # a day on which nobody works
    REPAIRED = "repaired"


@dataclass(frozen=True)
class Rest:
    """A stretch of time in which a unit is out of use."""

    from_ms: int
    to_ms: int | None
    """When it is, or was, back in use; ``None`` while nobody knows. [ms]"""
    purpose: Purpose
    by: str
    declared_ms: int
    text: str = ""
    whole_site: bool = False

    def covers(self, at_ms: int) -> bool:
        """Tell whether an instant lies in it; the one at which it is back in use does not. [ms]."""
        return self.from_ms <= at_ms and (self.to_ms is None or at_ms < self.to_ms)

    def touches(self, first_ms: int, last_ms: int) -> bool:
        """Tell whether a span has a part in it. [ms]."""
        return self.from_ms <= last_ms and (self.to_ms is None or self.to_ms > first_ms)


def take_out_of_use(
    session: Session,
    unit: Unit | None,
    purpose: str,
    *,
    from_ms: int,
    to_ms: int | None = None,
    now_ms: int,
    by: str,
    text: str = "",
) -> Event:
    """Declare that a unit, or with ``None`` every unit, is out of use.

    Parameters
    ----------
    purpose : one of `Purpose`.
    from_ms, to_ms : from when to when; without an end until `back_in_use`. Both may lie ahead. [ms]
    now_ms : the present. [ms]

    Raises
    ------
    ConfigError
        If the purpose is unknown, or the span is none or lies more than a year ahead.
    """
    why = check_choice(N_("reason for being out of use"), purpose, Purpose)
    if to_ms is not None and to_ms <= from_ms:
        raise ConfigError(_("it cannot be back in use before it is out of use: look at both times"))
    if max(from_ms, to_ms or 0) > now_ms + _FARTHEST_MS:
        raise ConfigError(_("that is more than a year ahead: look at the date"))
    event = record_event(
        session,
        EventKind.OUT_OF_USE,
        at_ms=from_ms,
        now_ms=now_ms,
        by=by,
        unit_id=None if unit is None else id_of(unit),
        text=text.strip(),
        facts={"purpose": why.value} | ({} if to_ms is None else {"to_ms": to_ms}),
    )
    _tell_watch(session, unit, from_ms, max(now_ms, to_ms or 0), now_ms)
    return event


def back_in_use(session: Session, unit: Unit | None, *, at_ms: int, now_ms: int, by: str) -> Event:
    """Declare that a unit, or with ``None`` every unit that was out of use with all the others, is back in use.

    Raises
    ------
    ConfigError
        If it was in use, or the instant lies ahead.
    """
    check_instant(session, N_("back in use"), at_ms, now_ms)
    running = rest_at(session, None if unit is None else id_of(unit), at_ms)
    if running is None:
        name = _("the kitchen") if unit is None else unit.name
        raise ConfigError(_("{name} was not out of use then: there is nothing to end").format(name=name))
    event = record_event(
        session,
        EventKind.BACK_IN_USE,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        unit_id=None if unit is None else id_of(unit),
    )
    _tell_watch(session, unit, min(at_ms, running.from_ms), now_ms, now_ms)
    return event


def rests(session: Session, unit_id: int | None, first_ms: int, last_ms: int) -> list[Rest]:
    """Return the stretches in which a unit is out of use, as far as they touch a span with both ends included.

    Parameters
    ----------
    unit_id : the unit; ``None`` asks for what was declared of every unit at once.
    first_ms, last_ms : the span. [ms]
    """
    declared = _declared(session, unit_id)
    ends = [event for event in declared if event.kind == EventKind.BACK_IN_USE]
    found = [_rest(event, ends) for event in declared if event.kind == EventKind.OUT_OF_USE]
    return [rest for rest in found if rest.touches(first_ms, last_ms) and rest.to_ms != rest.from_ms]


def gather_rests(session: Session, unit_ids: Iterable[int]) -> None:
    """Have what was declared of several units at hand while a look lasts."""
    gather(session, _OF_UNIT, _IN_ORDER, Event.unit_id, unit_ids)


def rest_at(session: Session, unit_id: int | None, at_ms: int) -> Rest | None:
    """Return why a unit is out of use at an instant [ms], ``None`` while it is in use."""
    return next((rest for rest in rests(session, unit_id, at_ms, at_ms) if rest.covers(at_ms)), None)


def next_change_ms(session: Session, unit_id: int, now_ms: int) -> int | None:
    """Return the next instant at which a unit goes out of use or comes back, as far as it is declared. [ms]."""
    ahead = rests(session, unit_id, now_ms, now_ms + _FARTHEST_MS)
    edges = (edge for rest in ahead for edge in (rest.from_ms, rest.to_ms) if edge is not None and edge > now_ms)
    return min(edges, default=None)


def _declared(session: Session, unit_id: int | None) -> list[Event]:
    """Return what was declared of a unit, or of all at once, in order of the instants."""
    own = at_hand(session, _OF_UNIT, unit_id)
    if own is None:
        return _asked(session, unit_id)
    return sorted([*own, *_asked(session, None)], key=lambda event: (event.at_ms, id_of(event)))


@asked_once
def _asked(session: Session, unit_id: int | None) -> list[Event]:
    # Nearly every event is of no unit: asked plainly for those, a database looks through all of them, not by the kind.
    about = func.coalesce(col(Event.unit_id), _NO_UNIT).in_({_NO_UNIT, unit_id or _NO_UNIT})
    return list(session.exec(_IN_ORDER.where(about)))


def _rest(event: Event, ends: Iterable[Event]) -> Rest:
    """Return a declared stretch, cut where somebody said that the unit was back in use.

    That the whole kitchen is open again says nothing of a unit that was out of use for a reason of its own.
    """
    of_it = (end for end in ends if end.unit_id is not None or event.unit_id is None)
    known = [end.at_ms for end in of_it if end.at_ms >= event.at_ms]
    planned = event.facts.get("to_ms")
    if planned is not None:
        known.append(int(planned))
    return Rest(
        from_ms=event.at_ms,
        to_ms=min(known, default=None),
        purpose=Purpose(event.facts["purpose"]),
        by=event.by,
        declared_ms=event.recorded_ms,
        text=event.text,
        whole_site=event.unit_id is None,
    )


def _tell_watch(session: Session, unit: Unit | None, first_ms: int, last_ms: int, now_ms: int) -> None:
    """Let the days of a unit and the signals of its probes be judged again."""
    first_ms, last_ms = min(first_ms, now_ms), max(first_ms, last_ms, now_ms)
    for each in units(session) if unit is None else [unit]:
        queue(session, ArrivalKind.EVENT, first_ms=first_ms, last_ms=last_ms, now_ms=now_ms, unit_id=id_of(each))
        for placed in placements(session, unit_id=id_of(each), open_only=True):
            queue(
                session, ArrivalKind.EVENT, first_ms=first_ms, last_ms=last_ms, now_ms=now_ms, probe_id=placed.probe_id
            )
