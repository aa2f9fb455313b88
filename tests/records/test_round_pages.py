"""The day's round on paper."""

import subprocess
from datetime import date
from pathlib import Path

from holdwatch.quantities import Scale
from holdwatch.records.front import covered
from holdwatch.records.log import print_log
from holdwatch.records.round_pages import round_pages
from holdwatch.records.setting import Setting
from holdwatch.records.span import Span
from holdwatch.records.times import Times
from holdwatch.storage.daily import record_round, say_nothing_cooled
from holdwatch.storage.deliveries import Delivered, record_delivery
from holdwatch.storage.engine import Store
from holdwatch.storage.out_of_use import take_out_of_use
from holdwatch.storage.register import add_unit, start_batch
from holdwatch.storage.tables import EventKind
from holdwatch.storage.visits import detain, officer_reading, record_visit
from tests.records.conftest import ZONE, cluster, either_store, empty_store, postgres_url, store
from tests.records.kitchen import HOUR, T0

__all__ = ["cluster", "either_store", "empty_store", "postgres_url", "store"]

NOW = T0 + 20 * HOUR
SPAN = Span(T0, NOW)


def _setting() -> Setting:
    return Setting(SPAN, NOW, ZONE, Scale.F, Times(ZONE, SPAN))


def test_rounds_are_printed_with_what_stood_on_them(either_store: Store) -> None:
    """Those of the span alone, each with its lines; an empty list is said to have been one."""
    lines = [["Nobody measures it", "Curd C1", "no probe is in it", "measure it"]]
    with either_store.write() as session:
        record_round(session, EventKind.CLOSING, lines, at_ms=T0 + HOUR, now_ms=NOW, by="Ines", text="gas off")
        record_round(session, EventKind.OPENING, [], at_ms=T0 + 9 * HOUR, now_ms=NOW, by="Tomas")
        record_round(session, EventKind.OPENING, [], at_ms=T0 - 9 * HOUR, now_ms=NOW, by="Tomas")
        day = date(2026, 10, 31)
        say_nothing_cooled(session, day, (T0, T0 + 19 * HOUR), now_ms=NOW, by="Ines", text="a holiday")
        printed = round_pages(session, _setting())["round"]
    assert [row[1:] for row in printed] == [
        ["closing gone through", "Curd C1: no probe is in it. gas off", "Ines"],
        ["opening gone through", "nothing stood on it", "Tomas"],
        ["nothing was cooled", "31 Oct 2026: a holiday", "Ines"],
    ]


def test_a_printed_log_has_them(store: Store, tmp_path: Path) -> None:
    """And says so where there is none."""
    out = tmp_path / "log.pdf"
    print_log(store, T0, NOW, out, now_ms=NOW)
    text = subprocess.run(["pdftotext", "-layout", str(out), "-"], capture_output=True, text=True, check=True).stdout
    assert "No opening and no closing was recorded" in text
    assert "No delivery was recorded" in text
    assert "No visit of an officer was recorded" in text


def test_deliveries_are_printed_with_how_they_stood(either_store: Store) -> None:
    """And then receiving is covered by the log."""
    with either_store.write() as session:
        assert "receiving" not in covered(session)
        came = Delivered("Cream", "Front Range Dairy", "receiving-cold", 8.0, taken=False, why="warm")
        record_delivery(session, came, at_ms=T0 + HOUR, now_ms=NOW, today=date(2026, 10, 31), by="Ines")
        (row,) = round_pages(session, _setting())["deliveries"]
        assert "receiving" in covered(session)
    assert row[1:3] == ["Cream (Front Range Dairy)", "46.4\u202f°F"]
    assert row[3]["word"] == "deviation"
    assert row[4:] == ["3-202.11(A)", "refused: warm", "Ines"]


def test_a_visit_is_printed_with_what_was_measured_and_detained(either_store: Store) -> None:
    """In the paper's unit."""
    at = {"at_ms": T0 + HOUR, "now_ms": NOW, "by": "Ines"}
    with either_store.write() as session:
        batch = start_batch(session, product="Curd", lot="C1", at_ms=T0, now_ms=NOW, by="Ines")
        visit = record_visit(session, "J. Ortiz", "Denver Public Health", notice="N-7", next_visit="2026-12-01", **at)
        officer_reading(session, visit, 5.0, batch=batch, **at)
        detain(session, visit, batch, text="sample", **at)
        (row,) = round_pages(session, _setting())["visits"]
    assert row[1] == "J. Ortiz, Denver Public Health"
    assert row[2].startswith("Curd C1: 41.0\u202f°F; no probe spoke there within 10 min; notice: N-7; detained")
    assert row[2].endswith("Curd C1: sample; next visit: 2026-12-01")


def test_a_log_of_a_busy_day_is_typeset(store: Store, tmp_path: Path) -> None:
    """Each of the tables with a row, and a unit that was out of use."""
    at = {"at_ms": T0 + HOUR, "now_ms": NOW, "by": "Ines"}
    with store.write() as session:
        unit = add_unit(session, "Walk-in 1", "walk-in", now_ms=T0, by="Ines")
        take_out_of_use(session, unit, "cleaned", from_ms=T0 + HOUR, to_ms=T0 + 2 * HOUR, now_ms=NOW, by="Ines")
        record_round(session, EventKind.CLOSING, [], **at)
        record_visit(session, "J. Ortiz", "Denver Public Health", notice="N-7", **at)
        came = Delivered("Cream", "Front Range Dairy", "receiving-cold", 8.0, taken=False, why="warm")
        record_delivery(session, came, today=date(2026, 10, 31), **at)
    out = tmp_path / "log.pdf"
    print_log(store, T0, NOW, out, now_ms=NOW)
    text = subprocess.run(["pdftotext", "-layout", str(out), "-"], capture_output=True, text=True, check=True).stdout
    for words in ("Out of use Sat 31 Oct", "nothing stood on it", "notice: N-7", "refused: warm"):
        assert words in " ".join(text.split())
