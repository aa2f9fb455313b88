"""The whole record as one file of lines, which `check_record` can check without this program."""

import json
from collections.abc import Iterator
from pathlib import Path

from sqlmodel import Session, col, func, select

from holdwatch.clock import MS_PER_DAY
from holdwatch.records.check_record import FORM, THINNED_FORM
from holdwatch.storage.chain_tables import Link, ThinnedDay
from holdwatch.storage.engine import Store
from holdwatch.storage.sealing import day_of, first_ms_of, readings_of
from holdwatch.storage.tables import Probe, Reading

__all__ = ["checker", "record_lines"]

_PAGE = 5_000


def record_lines(store: Store) -> Iterator[str]:
    """Give the record, a line at a time with its line end: the chain as it was digested, then each day's readings.

    All of it is of one state of the store.
    """
    with store.read() as session:
        thinned = session.exec(select(ThinnedDay.id).limit(1)).first() is not None
        yield json.dumps(THINNED_FORM if thinned else FORM) + "\n"
        entries, head = 0, ""
        while page := _links(session, entries):
            for link in page:
                yield link.text + "\n"
            entries, head = page[-1].position, page[-1].digest
            session.expunge_all()
        for probe_id in session.exec(select(Probe.id).order_by(col(Probe.id))).all():
            yield from _days(session, int(probe_id or 0))
        yield json.dumps({"entries": entries, "head": head}) + "\n"


def checker() -> str:
    """Return the text of the program that checks such a file."""
    return (Path(__file__).parent / "check_record.py").read_text(encoding="utf-8")


def _links(session: Session, after: int) -> list[Link]:
    query = select(Link).where(Link.position > after).order_by(col(Link.position)).limit(_PAGE)
    return list(session.exec(query))


def _days(session: Session, probe_id: int) -> Iterator[str]:
    """Give the readings of a probe by the UTC day."""
    since_ms = 0
    while True:
        query = select(func.min(Reading.at_ms)).where(Reading.probe_id == probe_id, Reading.at_ms >= since_ms)
        first_ms = session.exec(query).one()
        if first_ms is None:
            return
        day = day_of(first_ms)
        readings = [list(each) for each in readings_of(session, probe_id, day).tolist()]
        yield json.dumps({"probe": probe_id, "day": day, "readings": readings}) + "\n"
        since_ms = first_ms_of(day) + MS_PER_DAY
