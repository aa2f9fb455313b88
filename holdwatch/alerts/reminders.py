"""Promised checks that have come due and are not recorded: each is told once, and passed on while it stays due."""

from sqlmodel import Session, col, select

from holdwatch.alerts.acts import tell
from holdwatch.alerts.decide import Reason
from holdwatch.clock import MS_PER_DAY
from holdwatch.people.handling import Act
from holdwatch.storage.engine import Store
from holdwatch.storage.handling import acts_of, handlings
from holdwatch.storage.ids import id_of
from holdwatch.storage.tables import Alert, Event, EventKind, Finding

__all__ = ["remind"]

_LOOK_BACK_MS = 3 * MS_PER_DAY  # a check is promised within a day


def remind(store: Store, now_ms: int, base_url: str) -> int:
    """Queue a message for every promised check that is due and was not told yet; return how many checks there were."""
    with store.read() as session:
        due = _due(session, now_ms)
    if not due:
        return 0
    with store.write() as session:
        due = _due(session, now_ms)  # somebody may have recorded it meanwhile
        for entry, finding in due:
            now = handlings(session, [finding])[id_of(finding)]
            tell(session, finding, Reason.CHECK_DUE, entry, now, now_ms=now_ms, base_url=base_url)
    return len(due)


def _due(session: Session, now_ms: int) -> list[tuple[Event, Finding]]:
    """Return each promise that is due and untold, with its finding."""
    query = select(Event.finding_id).where(
        Event.kind == EventKind.ACTION.value, col(Event.finding_id).is_not(None), Event.at_ms >= now_ms - _LOOK_BACK_MS
    )
    numbers = sorted({number for number in session.exec(query) if number is not None})
    if not numbers:
        return []
    rows = list(session.exec(select(Finding).where(col(Finding.id).in_(numbers))))
    stands, entries = handlings(session, rows), acts_of(session, numbers)
    found = []
    for row in rows:
        check_ms = stands[id_of(row)].check_ms
        if check_ms is None or check_ms > now_ms:
            continue
        promised = [each for each in entries[id_of(row)] if each.facts.get("act") == Act.PROMISE]
        if promised and not _told(session, promised[-1]):
            found.append((promised[-1], row))
    return found


def _told(session: Session, entry: Event) -> bool:
    query = select(Alert.id).where(
        Alert.finding_id == entry.finding_id, Alert.entry_id == entry.id, Alert.reason == Reason.CHECK_DUE.value
    )
    return session.exec(query).first() is not None
