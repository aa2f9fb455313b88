"""Handing the record over: readings, findings and events as lines of CSV or JSON.

Rows are read in short pages, so that a year can be exported while the kitchen goes on. A text that a person typed
may begin like a formula; in CSV it gets an apostrophe before it, so that no spreadsheet runs it.
"""

import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from itertools import chain
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, and_, or_
from sqlmodel import SQLModel, col, select

from holdwatch.clock import to_iso
from holdwatch.records.span import Span
from holdwatch.storage.engine import Store
from holdwatch.storage.tables import Batch, Contested, Event, Finding, Probe, Reading, ReadingFlag, Unit

__all__ = ["COLUMNS", "Format", "Row", "event_rows", "finding_rows", "lines", "reading_rows"]

_Table = TypeVar("_Table", bound=SQLModel)
Row = Mapping[str, Any]
_PAGE = 5_000
_FORMULA = ("=", "+", "-", "@", "\t", "\r")

COLUMNS = {
    "readings": ("probe", "at", "celsius", "received_at", "instant", "judged", "contested"),
    "findings": (
        "id", "kind", "subject", "clause", "source", "verdict", "since", "opened_at", "closed_at", "reason",
        "close_reason", "replaced_by", "version",
    ),
    "events": (
        "id", "at", "recorded_at", "kind", "lot", "unit", "probe", "vessel", "celsius", "text", "by", "replaces",
    ),
}  # fmt: skip
"""The fields of each kind of row, in their order."""


class Format(StrEnum):
    """How rows are written."""

    CSV = "csv"
    JSONL = "jsonl"


def lines(rows: Iterator[Row], form: Format, columns: Sequence[str]) -> Iterator[str]:
    """Write rows as lines, each with its line end; CSV opens with the names of its columns, also without rows."""
    if form is Format.JSONL:
        for row in rows:
            yield json.dumps(row, ensure_ascii=False) + "\n"
        return
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    for cells in chain([columns], ([_cell(row[name]) for name in columns] for row in rows)):
        writer.writerow(cells)
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()


def reading_rows(store: Store, span: Span, probe: Probe | None = None) -> Iterator[Row]:
    """Return the readings as they came, uncorrected, by probe and then by instant.

    A second value at an instant that already had one stands beside it, marked as contested.
    """
    for found in [probe] if probe is not None else _all(store, Probe):
        after_ms = span.first_ms - 1
        while True:
            page, ends_ms = _reading_page(store, found, after_ms, span.last_ms)
            yield from page
            if ends_ms is None:
                break
            after_ms = ends_ms


def finding_rows(store: Store, span: Span) -> Iterator[Row]:
    """Return the findings that concern the span: begun by its end, and not over before it."""
    lasting = or_(col(Finding.closed_ms).is_(None), col(Finding.closed_ms) >= span.first_ms)
    for found in _paged(store, Finding, and_(col(Finding.since_ms) <= span.last_ms, lasting)):
        yield {
            "id": found.id,
            "kind": found.kind,
            "subject": found.title,
            "clause": found.clause,
            "source": found.source,
            "verdict": found.verdict,
            "since": to_iso(found.since_ms),
            "opened_at": to_iso(found.opened_ms),
            "closed_at": None if found.closed_ms is None else to_iso(found.closed_ms),
            "reason": found.reason,
            "close_reason": found.close_reason,
            "replaced_by": found.replaced_by,
            "version": found.version,
        }


def event_rows(store: Store, span: Span) -> Iterator[Row]:
    """Return what was done and declared in the span, replaced entries too, in the order it was recorded."""
    lots = {batch.id: batch.lot for batch in _all(store, Batch)}
    units = {unit.id: unit.name for unit in _all(store, Unit)}
    probes = {probe.id: probe.code for probe in _all(store, Probe)}
    for event in _paged(store, Event, col(Event.at_ms).between(span.first_ms, span.last_ms)):
        yield {
            "id": event.id,
            "at": to_iso(event.at_ms),
            "recorded_at": to_iso(event.recorded_ms),
            "kind": event.kind,
            "lot": lots.get(event.batch_id),
            "unit": units.get(event.unit_id),
            "probe": probes.get(event.probe_id),
            "vessel": event.vessel,
            "celsius": event.celsius,
            "text": event.text,
            "by": event.by,
            "replaces": event.replaces_id,
        }


def _cell(value: Any) -> Any:
    """Defuse a text that a spreadsheet would take for a formula; numbers stay numbers."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value)
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value


def _reading_page(store: Store, probe: Probe, after_ms: int, last_ms: int) -> tuple[list[Row], int | None]:
    """Return the next readings of a probe and, unless it was the last page, the instant where it ends."""
    with store.read() as session:
        kept = session.exec(
            select(Reading)
            .where(Reading.probe_id == probe.id, Reading.at_ms > after_ms, Reading.at_ms <= last_ms)
            .order_by(col(Reading.at_ms))
            .limit(_PAGE)
        ).all()
        ends_ms = kept[-1].at_ms if len(kept) == _PAGE else last_ms
        doubled = session.exec(
            select(Contested).where(
                Contested.probe_id == probe.id, Contested.at_ms > after_ms, Contested.at_ms <= ends_ms
            )
        ).all()
    rows = [(r.at_ms, False, r.celsius, r.at_ms + r.lag_ms, r.flags) for r in kept]
    rows += [(c.at_ms, True, c.celsius, c.received_ms, 0) for c in doubled]
    page = [_reading_row(probe.code, *row) for row in sorted(rows)]
    return page, ends_ms if len(kept) == _PAGE else None


def _reading_row(code: str, at_ms: int, contested: bool, celsius: float, received_ms: int, flags: int) -> Row:
    """Write one reading."""
    return {
        "probe": code,
        "at": to_iso(at_ms),
        "celsius": celsius,
        "received_at": to_iso(received_ms),
        "instant": _instant(flags),
        "judged": not flags & ReadingFlag.NOT_JUDGED,
        "contested": contested,
    }


def _instant(flags: int) -> str:
    """Say where a reading's instant comes from."""
    if flags & ReadingFlag.UNKNOWN_INSTANT:
        return "unknown"
    if flags & ReadingFlag.IMPLAUSIBLE_INSTANT:
        return "implausible"
    return "arrival" if flags & ReadingFlag.ARRIVAL_INSTANT else "own"


def _all(store: Store, table: type[_Table]) -> list[_Table]:
    """Return every row of a small table."""
    return list(_paged(store, table, None))


def _paged(store: Store, table: type[Any], condition: ColumnElement[bool] | None) -> Iterator[Any]:
    """Return the rows of a table by id, a page a transaction."""
    after = 0
    while True:
        with store.read() as session:
            query = select(table).where(table.id > after)
            if condition is not None:
                query = query.where(condition)
            page = session.exec(query.order_by(table.id).limit(_PAGE)).all()
        yield from page
        if len(page) < _PAGE:
            return
        after = page[-1].id
