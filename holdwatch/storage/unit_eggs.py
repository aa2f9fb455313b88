"""Whether shell eggs are kept in a unit: declared, with its instant, and looked up as of an instant."""

from sqlmodel import Session

from holdwatch.language import N_, _
from holdwatch.rules.life import spans
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_instant
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Event, EventKind, Unit

__all__ = ["set_shell_eggs", "shell_eggs_kept"]


def set_shell_eggs(session: Session, unit: Unit, *, kept: bool, at_ms: int, now_ms: int, by: str) -> Event:
    """Declare that shell eggs are kept in a unit from an instant on, or no longer.

    Raises
    ------
    ConfigError
        If the instant lies ahead.
    """
    check_instant(session, N_("the declaration"), at_ms, now_ms)
    with in_site_language(session):
        words = _("shell eggs are kept in it") if kept else _("no shell eggs are kept in it")
    event = record_event(
        session,
        EventKind.UNIT_EGGS,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        unit_id=id_of(unit),
        text=words,
        facts={"kept": kept},
    )
    queue(session, ArrivalKind.EVENT, first_ms=at_ms, last_ms=max(at_ms, now_ms), now_ms=now_ms, unit_id=id_of(unit))
    return event


def shell_eggs_kept(session: Session, unit: Unit, first_ms: int, last_ms: int) -> tuple[int, int] | None:
    """Return from when to when, within a span, shell eggs were kept in a unit, ``None`` if never. [ms]."""
    told = events(session, unit_id=id_of(unit), until_ms=last_ms, kinds=[EventKind.UNIT_EGGS])
    kept = spans((event.at_ms, bool(event.facts.get("kept"))) for event in told)
    inside = [
        (max(begin, first_ms), last_ms if end is None else end) for begin, end in kept if end is None or end > first_ms
    ]
    return (inside[0][0], inside[-1][1]) if inside else None
