"""An officer's visit: what they measured, took along, wrote and detained, and when they come again."""

from collections.abc import Sequence

from sqlmodel import Session

from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.language import N_, _
from holdwatch.storage.detained import detained
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_instant, check_name, check_temperature
from holdwatch.storage.said import check_day
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Batch, Event, EventKind, Unit

__all__ = ["detain", "officer_reading", "record_visit", "release", "visit_numbered", "visits"]


def record_visit(
    session: Session,
    officer: str,
    authority: str,
    *,
    samples: Sequence[str] = (),
    notice: str = "",
    next_visit: str = "",
    text: str = "",
    at_ms: int,
    now_ms: int,
    by: str,
) -> Event:
    """Record that an officer was there; the number of the entry is that of the visit.

    Parameters
    ----------
    officer, authority : who came, and from where.
    samples : what they took along.
    notice : what they gave in writing, such as its number and what it asks.
    next_visit : the day on which they come again, as ``2026-12-01``.
    at_ms, now_ms : when they came, and the present. [ms]

    Raises
    ------
    ConfigError
        If a name or the day is none, or the instant lies ahead.
    """
    check_instant(session, N_("the visit"), at_ms, now_ms)
    facts = {
        "officer": check_name(N_("name of an officer"), officer),
        "authority": check_name(N_("authority"), authority),
        "samples": [each.strip() for each in samples if each.strip()],
        "notice": notice.strip(),
        "next_visit": check_day(N_("day"), next_visit),
    }
    facts = {name: value for name, value in facts.items() if value}
    return record_event(session, EventKind.VISITED, at_ms=at_ms, now_ms=now_ms, by=by, text=text.strip(), facts=facts)


def visits(session: Session, first_ms: int, last_ms: int) -> list[Event]:
    """Return the visits of a span with both ends included. [ms]."""
    return events(session, since_ms=first_ms, until_ms=last_ms, kinds=[EventKind.VISITED])


def visit_numbered(session: Session, number: int) -> Event:
    """Return the visit of a number.

    Raises
    ------
    UnknownNameError
        If there is none.
    """
    found = session.get(Event, number)
    if found is None or found.kind != EventKind.VISITED:
        raise UnknownNameError(_("there is no visit {number}: holdwatch visit list lists them").format(number=number))
    return found


def officer_reading(
    session: Session,
    visit: Event,
    celsius: float,
    *,
    batch: Batch | None = None,
    vessel: int | None = None,
    unit: Unit | None = None,
    at_ms: int,
    now_ms: int,
    by: str,
) -> Event:
    """Record what an officer measured of a batch, or in a unit; it stands beside the probe's and judges nothing.

    Raises
    ------
    ConfigError
        If it is of neither or of both, has no such vessel, or cannot be a temperature.
    """
    check_instant(session, N_("the reading"), at_ms, now_ms)
    if (batch is None) == (unit is None):
        raise ConfigError(_("an officer measured one thing: name the batch, or the unit"))
    if batch is not None and vessel is not None and not 1 <= vessel <= batch.vessels:
        raise ConfigError(
            _("batch {lot!r} has no vessel {vessel}: give one from 1 to {vessels}").format(
                lot=batch.lot, vessel=vessel, vessels=batch.vessels
            )
        )
    with in_site_language(session):
        by_whom = _("by {name}").format(name=visit.facts["officer"])
    return record_event(
        session,
        EventKind.OFFICER_READING,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=None if batch is None else id_of(batch),
        unit_id=None if unit is None else id_of(unit),
        vessel=vessel,
        celsius=check_temperature(celsius),
        text=by_whom,
        facts={"visit": id_of(visit)},
    )


def detain(session: Session, visit: Event, batch: Batch, *, at_ms: int, now_ms: int, by: str, text: str = "") -> Event:
    """Record that a batch is detained: until its release is recorded it cannot be used, divided or ended.

    Raises
    ------
    ConfigError
        If it has ended, or is detained already.
    """
    check_instant(session, N_("detained"), at_ms, now_ms)
    if batch.ended_ms is not None:
        raise ConfigError(_("batch {lot!r} has ended: there is nothing to detain").format(lot=batch.lot))
    if detained(session, id_of(batch)) is not None:
        raise ConfigError(_("batch {lot!r} is detained already").format(lot=batch.lot))
    return record_event(
        session,
        EventKind.DETAINED,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=id_of(batch),
        text=text.strip(),
        facts={"visit": id_of(visit), "officer": visit.facts["officer"]},
    )


def release(session: Session, batch: Batch, text: str, *, at_ms: int, now_ms: int, by: str) -> Event:
    """Record that a detained batch was released, by whom and how.

    Raises
    ------
    ConfigError
        If it is not detained, or nobody says who released it.
    """
    check_instant(session, N_("released"), at_ms, now_ms)
    entry = detained(session, id_of(batch))
    if entry is None:
        raise ConfigError(_("batch {lot!r} is not detained").format(lot=batch.lot))
    if at_ms < entry.at_ms:
        raise ConfigError(_("batch {lot!r} was detained later than that: look at the time").format(lot=batch.lot))
    if not text.strip():
        raise ConfigError(_("say who released it, and how: by word, in writing"))
    return record_event(
        session,
        EventKind.RELEASED,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=id_of(batch),
        text=text.strip(),
        facts={"visit": entry.facts["visit"]},
    )
