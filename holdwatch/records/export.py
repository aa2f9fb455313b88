"""Handing the record over: readings, findings and events as CSV, JSON lines or Parquet.

Rows are read in short pages and written as they come, so that a year can be exported while the kitchen goes on, in the
memory of one page. A text that a person typed may begin like a formula; in CSV it gets an apostrophe before it, so that
no spreadsheet runs it (`dictionary.CSV` says how to take it away again).
"""

import csv
import io
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from functools import cache
from itertools import chain, islice
from typing import Any, BinaryIO, TypeVar

from sqlalchemy import ColumnElement, and_, or_
from sqlmodel import Session, SQLModel, col, func, select

from holdwatch.clock import to_iso
from holdwatch.records.dictionary import COLUMNS, Column, Holds, dictionary_of
from holdwatch.records.span import Span
from holdwatch.storage.engine import Store
from holdwatch.storage.register import probe_named, site_at
from holdwatch.storage.tables import Batch, Contested, Event, Finding, Probe, Reading, ReadingFlag, Rollup1h, Unit

__all__ = [
    "Format",
    "Row",
    "beside",
    "event_rows",
    "finding_rows",
    "how_many",
    "lines",
    "reading_rows",
    "rows_of",
    "write",
]

_Table = TypeVar("_Table", bound=SQLModel)
Row = Mapping[str, Any]
"""A row by the names of its columns; instants in ms."""
_PAGE = 5_000
_GROUP = 50_000  # rows of a Parquet row group
_FORMULA = re.compile(r"'*[=+\-@\t\r\n]")


class Format(StrEnum):
    """How rows are written."""

    CSV = "csv"
    JSONL = "jsonl"
    PARQUET = "parquet"


# ---------------------------------------------------------------- writing


def write(rows: Iterator[Row], what: str, form: Format, about: Mapping[str, Any], file: BinaryIO) -> None:
    """Write rows into a file that is only ever appended to.

    Parameters
    ----------
    what : readings, findings or events.
    about : what `beside` returns; a Parquet file holds it.
    """
    if form is Format.PARQUET:
        _write_parquet(rows, COLUMNS[what], about, file)
        return
    file.writelines(line.encode() for line in lines(rows, form, COLUMNS[what]))


def lines(rows: Iterator[Row], form: Format, columns: Sequence[Column]) -> Iterator[str]:
    """Write rows as lines, each with its line end; CSV opens with the names of its columns, also without rows."""
    instants = {column.name for column in columns if column.holds is Holds.INSTANT}
    told = ({each.name: _told(row[each.name], each.name in instants) for each in columns} for row in rows)
    if form is Format.JSONL:
        for row in told:
            yield json.dumps(row, ensure_ascii=False) + "\n"
        return
    names = [column.name for column in columns]
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    for cells in chain([names], ([_cell(row[name]) for name in names] for row in told)):
        writer.writerow(cells)
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()


def beside(store: Store, what: str, form: Format, span: Span) -> dict[str, Any]:
    """Return the data dictionary of an export, which is written beside it."""
    with store.read() as session:
        zone = site_at(session, None).timezone
    ends = {"from": to_iso(span.first_ms), "until": to_iso(span.last_ms), "site_time_zone": zone}
    return dictionary_of(what, form.value, ends)


def how_many(session: Session, what: str, span: Span, probe: Probe | None = None) -> int:
    """Return how many rows an export has, of readings nearly: whole hours at its ends, those that were judged."""
    if what == "findings":
        return session.exec(select(func.count()).select_from(Finding).where(_concerns(span))).one()
    if what == "events":
        return session.exec(select(func.count()).select_from(Event).where(_happened(span))).one()
    hours = select(func.coalesce(func.sum(Rollup1h.count), 0)).where(
        col(Rollup1h.bucket_ms).between(span.first_ms - 3_599_999, span.last_ms)
    )
    return int(session.exec(hours if probe is None else hours.where(Rollup1h.probe_id == probe.id)).one())


def _write_parquet(rows: Iterator[Row], columns: Sequence[Column], about: Mapping[str, Any], file: BinaryIO) -> None:
    import pyarrow as pa
    from pyarrow import parquet

    types = {
        Holds.TEXT: pa.string(),
        Holds.WHOLE: pa.int64(),
        Holds.NUMBER: pa.float64(),
        Holds.TRUTH: pa.bool_(),
        Holds.INSTANT: pa.timestamp("ms", tz="UTC"),
    }
    fields = [
        pa.field(each.name, types[each.holds], metadata={"unit": each.unit, "meaning": each.means}) for each in columns
    ]
    schema = pa.schema(fields, metadata={"dictionary": json.dumps(about, ensure_ascii=False)})
    with parquet.ParquetWriter(file, schema) as writer:
        while group := list(islice(rows, _GROUP)):
            writer.write_table(pa.Table.from_pylist(group, schema))


def _told(value: Any, is_instant: bool) -> Any:
    return to_iso(value) if is_instant and value is not None else value


def _cell(value: Any) -> Any:
    """Defuse a text that a spreadsheet would take for a formula; numbers stay numbers."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value)
    return f"'{value}" if isinstance(value, str) and _FORMULA.match(value) else value


# ---------------------------------------------------------------- the rows


def rows_of(store: Store, what: str, span: Span, probe: str | None = None) -> Iterator[Row]:
    """Return the rows of readings, findings or events.

    Raises
    ------
    UnknownNameError
        If there is no probe of that name.
    """
    if what == "findings":
        return finding_rows(store, span)
    if what == "events":
        return event_rows(store, span)
    if probe is None:
        return reading_rows(store, span)
    with store.read() as session:
        return reading_rows(store, span, probe_named(session, probe))


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
    for found in _paged(store, Finding, _concerns(span)):
        yield {
            "id": found.id,
            "kind": found.kind,
            "subject": found.title,
            "clause": found.clause,
            "source": found.source,
            "verdict": found.verdict,
            "since": found.since_ms,
            "opened_at": found.opened_ms,
            "closed_at": found.closed_ms,
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
    for event in _paged(store, Event, _happened(span)):
        yield {
            "id": event.id,
            "at": event.at_ms,
            "recorded_at": event.recorded_ms,
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


def _concerns(span: Span) -> ColumnElement[bool]:
    lasting = or_(col(Finding.closed_ms).is_(None), col(Finding.closed_ms) >= span.first_ms)
    return and_(col(Finding.since_ms) <= span.last_ms, lasting)


def _happened(span: Span) -> ColumnElement[bool]:
    return col(Event.at_ms).between(span.first_ms, span.last_ms)


def _reading_page(store: Store, probe: Probe, after_ms: int, last_ms: int) -> tuple[list[Row], int | None]:
    """Return the next readings of a probe and, unless it was the last page, the instant where it ends."""
    with store.read() as session:
        kept = session.exec(
            select(Reading.at_ms, Reading.celsius, Reading.lag_ms, Reading.flags)
            .where(Reading.probe_id == probe.id, Reading.at_ms > after_ms, Reading.at_ms <= last_ms)
            .order_by(col(Reading.at_ms))
            .limit(_PAGE)
        ).all()
        ends_ms = kept[-1][0] if len(kept) == _PAGE else last_ms
        doubled = session.exec(
            select(Contested).where(
                Contested.probe_id == probe.id, Contested.at_ms > after_ms, Contested.at_ms <= ends_ms
            )
        ).all()
    rows = [(at_ms, False, celsius, at_ms + lag_ms, flags) for at_ms, celsius, lag_ms, flags in kept]
    rows += [(c.at_ms, True, c.celsius, c.received_ms, 0) for c in doubled]
    page = [_reading_row(probe.code, *row) for row in sorted(rows)]
    return page, ends_ms if len(kept) == _PAGE else None


def _reading_row(code: str, at_ms: int, contested: bool, celsius: float, received_ms: int, flags: int) -> Row:
    """Write one reading."""
    return {
        "probe": code,
        "at": at_ms,
        "celsius": celsius,
        "received_at": received_ms,
        "contested": contested,
        **_known(flags),
    }


@cache  # there are a dozen, and millions of readings
def _known(flags: int) -> Row:
    """Say what is known of a reading beside its value."""
    return {
        "instant": _instant(flags),
        "judged": not flags & ReadingFlag.NOT_JUDGED,
        "from_file": bool(flags & ReadingFlag.FROM_FILE),
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
