"""The day's round as it was gone through: closing, opening, and a day on which nothing was cooled."""

from collections.abc import Sequence
from datetime import date

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, written_day
from holdwatch.storage.events import events, record_event
from holdwatch.storage.names import check_instant
from holdwatch.storage.tables import Batch, Event, EventKind

__all__ = ["STOOD", "last_round", "nothing_cooled_on", "record_round", "say_nothing_cooled"]

STOOD = "stood"
"""Under which name a round keeps what stood on it: part, about what, what was wrong, what to do."""
_ROUNDS = {EventKind.CLOSING: N_("the closing"), EventKind.OPENING: N_("the opening")}


def record_round(
    session: Session,
    kind: EventKind,
    stood: Sequence[Sequence[str]],
    *,
    at_ms: int,
    now_ms: int,
    by: str,
    text: str = "",
    back_ms: int | None = None,
) -> Event:
    """Record that somebody went through the closing or the opening, with all that stood on it.

    Parameters
    ----------
    kind : `EventKind.CLOSING` or `EventKind.OPENING`.
    stood : of each line the part it stood in, what it was about, what was said of it, and what to do.
    at_ms, now_ms : when it was gone through, and the present. [ms]
    text : in the words of whoever went through it.
    back_ms : of a closing, when somebody is to be there again. [ms]

    Raises
    ------
    ConfigError
        If it is no round, nobody is named, or the instant lies ahead.
    """
    if kind not in _ROUNDS:
        raise ConfigError(_("{kind!r} is not gone through: use closing or opening").format(kind=kind.value))
    check_instant(session, _ROUNDS[kind], at_ms, now_ms)
    facts = {STOOD: [list(line) for line in stood]} | ({} if back_ms is None else {"back_ms": back_ms})
    return record_event(session, kind, at_ms=at_ms, now_ms=now_ms, by=_named(by), text=text.strip(), facts=facts)


def last_round(session: Session, kind: EventKind, until_ms: int) -> Event | None:
    """Return the latest closing or opening at or before an instant [ms]."""
    query = select(Event).where(Event.kind == kind.value, Event.at_ms <= until_ms)
    return session.exec(query.order_by(col(Event.at_ms).desc(), col(Event.id).desc()).limit(1)).first()


def say_nothing_cooled(
    session: Session, day: date, span: tuple[int, int], *, now_ms: int, by: str, text: str = ""
) -> Event:
    """Record that nothing was cooled on a local day, so that an empty day is explained and not only empty.

    Parameters
    ----------
    day, span : the local day, and its first and last instant. [ms]
    now_ms : the present. [ms]

    Raises
    ------
    ConfigError
        If the day lies ahead, a batch was started on it that cools, or it was said already.
    """
    check_instant(session, N_("nothing cooled"), span[0], now_ms)
    started = events(session, since_ms=span[0], until_ms=span[1], kinds=[EventKind.BATCH_STARTED])
    cooled = [event for event in started if event.facts.get("step") == "cool"]
    if cooled:
        lots = ", ".join(session.get_one(Batch, event.batch_id).lot for event in cooled)
        raise ConfigError(_("on {day} something was cooled: {lots}").format(day=written_day(day), lots=lots))
    if nothing_cooled_on(session, day) is not None:
        raise ConfigError(_("for {day} it is recorded already that nothing was cooled").format(day=written_day(day)))
    return record_event(
        session,
        EventKind.NOTHING_COOLED,
        at_ms=min(span[1], now_ms),
        now_ms=now_ms,
        by=_named(by),
        text=text.strip(),
        facts={"day": day.isoformat()},
    )


def nothing_cooled_on(session: Session, day: date) -> Event | None:
    """Return the entry that nothing was cooled on a local day."""
    said = events(session, kinds=[EventKind.NOTHING_COOLED])
    return next((event for event in said if event.facts.get("day") == day.isoformat()), None)


def _named(by: str) -> str:
    if not by.strip():
        raise ConfigError(_("say who went through it"))
    return by
