"""Rows handed over to other programs."""

import csv
import io
import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from pyarrow import parquet

from holdwatch.clock import to_ms
from holdwatch.readings import Medium
from holdwatch.records import export
from holdwatch.records.dictionary import COLUMNS, Holds, dictionary_of
from holdwatch.records.export import (
    Format,
    Row,
    beside,
    event_rows,
    finding_rows,
    how_many,
    lines,
    reading_rows,
    rows_of,
    write,
)
from holdwatch.records.span import Span
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import close_finding, open_finding
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.register import add_correction, add_probe, note, probe_named, start_batch
from holdwatch.storage.tables import EventKind, FindingKind, ReadingFlag

T0 = to_ms(datetime(2026, 11, 24, 21, tzinfo=UTC))
ALL = Span(0, T0 + 86_400_000)
HOSTILE = '=cmd|"/c calc"!A1'


@pytest.fixture
def kept(either_store: Store) -> Store:
    """Fill a store with two probes, a contested reading and a correction."""
    with either_store.write() as session:
        for code in ("p2", "p1"):
            add_probe(session, code, medium=Medium.FOOD, now_ms=T0, by="ana")
        first, second = (probe_named(session, code).id or 0 for code in ("p1", "p2"))
        rows = [
            NewReading(first, T0, 21.111111111111114, T0 + 250),
            NewReading(first, T0, 22.5, T0 + 300),
            NewReading(first, T0 + 60_000, -0.5, T0 + 3_660_000),
            NewReading(second, T0 + 1, 4.0, T0 + 1, ReadingFlag.UNKNOWN_INSTANT),
            NewReading(second, T0 + 2, 5.0, T0 + 2, ReadingFlag.ARRIVAL_INSTANT),
        ]
        write_readings(session, rows, T0 + 3_660_000)
        add_correction(
            session, probe_named(session, "p1"), from_ms=T0, to_ms=None, offset_c=1.0, by="a", why="ice", now_ms=T0
        )
    return either_store


def _read(store: Store, form: Format, span: Span = ALL) -> list[dict[str, Any]]:
    """Export readings and read them back as another program would."""
    text = "".join(lines(reading_rows(store, span), form, COLUMNS["readings"]))
    if form is Format.JSONL:
        return [json.loads(line) for line in text.splitlines()]
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_export_readings_gives_raw_values_arrival_and_what_is_known(kept: Store) -> None:
    """The value is the one that came, whatever correction is in force; nothing that was kept is left out."""
    rows = _read(kept, Format.JSONL)
    at = "2026-11-24T21:00:00"
    assert [(row["probe"], row["at"], row["celsius"], row["received_at"]) for row in rows if row["probe"] == "p1"] == [
        ("p1", f"{at}Z", 21.111111111111114, f"{at}.250Z"),
        ("p1", f"{at}Z", 22.5, f"{at}.300Z"),
        ("p1", "2026-11-24T21:01:00Z", -0.5, "2026-11-24T22:01:00Z"),
    ]
    assert [row["contested"] for row in rows if row["probe"] == "p1"] == [False, True, False]
    assert [(row["instant"], row["judged"]) for row in rows if row["probe"] == "p2"] == [
        ("unknown", False),
        ("arrival", True),
    ]


def test_export_readings_csv_and_json_agree(kept: Store) -> None:
    """Both forms carry the same figures to the last digit."""
    columns = ("probe", "at", "received_at", "instant")
    from_csv, from_json = _read(kept, Format.CSV), _read(kept, Format.JSONL)
    assert [[row[c] for c in columns] for row in from_csv] == [[row[c] for c in columns] for row in from_json]
    assert [float(row["celsius"]) for row in from_csv] == [row["celsius"] for row in from_json]


def test_export_readings_takes_both_ends_of_the_span(kept: Store) -> None:
    """A reading on the end of the span is in it."""
    assert len(_read(kept, Format.JSONL, Span(T0, T0))) == 2
    assert len(_read(kept, Format.JSONL, Span(T0 + 1, T0 + 60_000))) == 3


@pytest.mark.parametrize("page", [1, 2, 3])
def test_export_readings_in_small_pages_loses_and_doubles_nothing(
    kept: Store, monkeypatch: pytest.MonkeyPatch, page: int
) -> None:
    """Where a page ends changes nothing."""
    whole = _read(kept, Format.JSONL)
    monkeypatch.setattr(export, "_PAGE", page)
    assert _read(kept, Format.JSONL) == whole


def test_export_csv_without_rows_still_names_its_columns(store: Store) -> None:
    """A program that reads the file finds its columns."""
    text = "".join(lines(reading_rows(store, ALL), Format.CSV, COLUMNS["readings"]))
    assert text == "probe,at,celsius,received_at,instant,judged,contested,from_file\r\n"


def test_export_csv_defuses_formulas_but_not_numbers(store: Store) -> None:
    """A name that a spreadsheet would run is text; a temperature below zero stays a number."""
    with store.write() as session:
        batch = start_batch(session, product=HOSTILE, lot="L1", at_ms=T0, now_ms=T0, by="@ana")
        note(session, batch, EventKind.READING, at_ms=T0, now_ms=T0, by="-ana", celsius=-3.5, text="+1")
    rows = list(csv.DictReader(io.StringIO("".join(lines(event_rows(store, ALL), Format.CSV, COLUMNS["events"])))))
    reading = next(row for row in rows if row["kind"] == "reading")
    assert (reading["celsius"], reading["text"], reading["by"]) == ("-3.5", "'+1", "'-ana")
    assert all(not cell.startswith(("=", "+", "@")) for row in rows for cell in row.values())


def test_export_findings_takes_those_that_concern_the_span(store: Store) -> None:
    """A finding over before the span, or begun after it, is left out."""
    with store.write() as session:
        for number, (since, closed) in enumerate([(T0, T0 + 10), (T0, None), (T0 + 100, None)]):
            found = open_finding(
                session,
                key=str(number),
                kind=FindingKind.DEVIATION,
                subject="batch:1:1",
                title=f"Pan {number}",
                reason="r",
                since_ms=since,
                now_ms=since,
                verdict="missed",
            )
            if closed is not None:
                close_finding(session, found, reason="over", now_ms=closed)
    assert [row["subject"] for row in finding_rows(store, Span(T0 + 11, T0 + 50))] == ["Pan 1"]
    rows = list(finding_rows(store, Span(T0 + 10, T0 + 100)))
    assert [row["id"] for row in rows] == [1, 2, 3]
    assert rows[0]["closed_at"] == T0 + 10


@pytest.mark.parametrize("what", ["readings", "findings", "events"])
def test_export_rows_have_exactly_the_columns_told(kept: Store, what: str) -> None:
    """The head of a file and its rows agree."""
    makers = {"readings": reading_rows, "findings": finding_rows, "events": event_rows}
    with kept.write() as session:
        open_finding(
            session, key="k", kind=FindingKind.SYSTEM, subject="s", title="t", reason="r", since_ms=T0, now_ms=T0
        )
    rows = list(makers[what](kept, ALL))
    assert rows
    assert all(set(row) == {column.name for column in COLUMNS[what]} for row in rows)


TEXTS = ["=1+1", "'=1+1", "''@x", "-", "+49", "\tx", "\rx", "\n=x", "'", "it's", "'quoted'", "", "4.0"]


def test_every_text_can_be_had_back_from_csv() -> None:
    """None begins as a formula does, and one apostrophe is taken away where the rule of the dictionary says so."""
    rows: Iterator[Row] = ({column.name: text for column in COLUMNS["findings"]} for text in TEXTS)
    columns = [column for column in COLUMNS["findings"] if column.holds is Holds.TEXT]
    cells = [
        row["reason"] for row in csv.DictReader(io.StringIO("".join(lines(rows, Format.CSV, columns)), newline=""))
    ]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))]
    assert [re.sub(r"^'(?='*[=+\-@\t\r\n])", "", cell) for cell in cells] == TEXTS


def test_parquet_holds_what_json_does_with_its_dictionary(kept: Store, tmp_path: Path) -> None:
    """Instants as such, numbers to the last digit, and what each column means inside the file."""
    about = beside(kept, "readings", Format.PARQUET, ALL)
    path = tmp_path / "readings.parquet"
    with path.open("wb") as file:
        write(reading_rows(kept, ALL), "readings", Format.PARQUET, about, file)
    table = parquet.read_table(path)
    told = table.to_pylist()
    assert [{**row, "at": to_ms(row["at"]), "received_at": to_ms(row["received_at"])} for row in told] == list(
        reading_rows(kept, ALL)
    )
    assert json.loads(table.schema.metadata[b"dictionary"]) == about
    assert table.schema.field("celsius").metadata[b"unit"] == "°C".encode()
    assert (about["site_time_zone"], about["until"]) == ("America/Denver", "2026-11-25T21:00:00Z")


def test_a_span_without_rows_is_a_parquet_file_too(store: Store, tmp_path: Path) -> None:
    """With its columns."""
    path = tmp_path / "events.parquet"
    with path.open("wb") as file:
        write(iter(()), "events", Format.PARQUET, beside(store, "events", Format.PARQUET, ALL), file)
    assert parquet.read_table(path).column_names == [column.name for column in COLUMNS["events"]]


def test_an_export_is_never_in_memory_as_a_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each row group is written before the next one is read."""
    monkeypatch.setattr(export, "_GROUP", 100)
    ahead: list[int] = []

    class Sink(io.FileIO):
        def write(self, data: Any) -> int:
            ahead.append(taken[0])
            return super().write(data)

    taken = [0]

    def rows() -> Iterator[Row]:
        for n in range(4 * export._GROUP):
            taken[0] = n
            yield {column.name: None for column in COLUMNS["events"]} | {"id": n}

    with Sink(tmp_path / "x.parquet", "wb") as file:
        write(rows(), "events", Format.PARQUET, {}, file)  # type: ignore[arg-type]
    assert len({at // export._GROUP for at in ahead}) == 4


def test_the_dictionary_says_what_everything_means() -> None:
    """Each column once, with its unit where it has one, and in words."""
    for what, columns in COLUMNS.items():
        told = dictionary_of(what, "csv", {})["columns"]
        assert [each["name"] for each in told] == list(dict.fromkeys(column.name for column in columns))
        assert all(each["meaning"] for each in told)
        assert all(each["unit"] for each in told if each["type"] in {"number", "instant"})


def test_how_many_rows_are_told_before(kept: Store) -> None:
    """Of readings those that were judged, from the hours."""
    with kept.read() as session:
        assert how_many(session, "readings", ALL) == 4  # of five, one has no known instant
        assert how_many(session, "readings", ALL, probe_named(session, "p2")) == 1
        assert how_many(session, "findings", ALL) == 0
        assert how_many(session, "events", ALL) == len(list(event_rows(kept, ALL)))
    assert [row["probe"] for row in rows_of(kept, "readings", ALL, "p2")] == ["p2", "p2"]
