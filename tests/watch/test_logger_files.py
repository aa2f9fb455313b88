"""A logger's file as evidence of a unit: judged, sealed and marked, each row taken or named.

The verdicts follow from FDA Food Code 2022, 3-501.16(A)(2): 41 °F or less.
"""

from pathlib import Path
from typing import Any

import pytest

from holdwatch.clock import to_iso
from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.records.verify import verify
from holdwatch.storage import logger_files
from holdwatch.storage.chain_tables import ThinnedDay
from holdwatch.storage.events import events
from holdwatch.storage.logger_files import Imported, import_file
from holdwatch.storage.placing import placements
from holdwatch.storage.ranges import load_series
from holdwatch.storage.sealing import SETTLE_MS, day_of, seal_next
from holdwatch.storage.tables import EventKind, ReadingFlag
from holdwatch.trust.keys import key_in
from holdwatch.views.units import unit_view
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, straight

COLD = "3-501.16(A)(2)"
NOW = T0 + 8 * HOUR
HEAD = "time,temperature_c"
IN_TIME = ("2026-11-24T15:00:00Z,3", "2026-11-24T15:05:00Z,3.5")


def _file(tmp_path: Path, *rows: str, head: str = HEAD) -> Path:
    path = tmp_path / "walkin.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def _import(kitchen: Kitchen, file: Path, now_ms: int = NOW, **more: Any) -> Imported:
    wanted = {"logger": "logger-7", "medium": "food", "unit": "Walk-in 1", "by": "Ines"} | more
    found = import_file(kitchen.store, file, now_ms=now_ms, **wanted)
    kitchen.rounds(now_ms)
    return found


def test_a_file_is_judged_and_marked(kitchen: Kitchen, tmp_path: Path) -> None:
    """A spell in it is a deviation; it says that it comes from a file, on the screen's row and in every reading."""
    kitchen.unit("Walk-in 1", "walk-in")
    pairs = straight(38, 38, 60, every_min=5) + straight(45, 45, 60, start_ms=T0 + 65 * MIN, every_min=5)
    file = _file(tmp_path, *(f"{to_iso(at)},{celsius}" for at, celsius in pairs))
    found = _import(kitchen, file)
    assert found.written.added == len(pairs)
    assert [row.verdict for row in kitchen.clauses() if row.clause == COLD] == ["missed"]
    assert [finding.clause for finding in kitchen.found() if finding.kind == "deviation"] == [COLD]
    with kitchen.store.read() as session:
        (placed,) = placements(session)
        assert (placed.from_ms, placed.to_ms) == (T0, T0 + 125 * MIN)
        rows = session.connection().exec_driver_sql("SELECT DISTINCT flags FROM reading").scalars().all()
        view = unit_view(session, 1, T0 - DAY, NOW, NOW)
    assert rows == [ReadingFlag.FROM_FILE]
    assert view is not None
    (said,) = view.files
    assert said.startswith("read from a logger’s file, ")
    assert f"by Ines: logger-7: {len(pairs)} readings of walkin.csv, SHA-256 {found.file.digest[:12]}" in said


def test_a_file_of_a_sealed_day_gets_a_supplement(kitchen: Kitchen, tmp_path: Path) -> None:
    """The probe's own store fills its gap after the day was sealed; what was there already is counted, what differs too."""
    kitchen.probe("p1")
    kitchen.unit("Walk-in 1", "walk-in", "p1")
    kitchen.arrive("p1", straight(38, 38, 60, every_min=5), T0 + HOUR)
    later, key = T0 + 2 * DAY, key_in(tmp_path)
    while seal_next(kitchen.store, key, later) is not None:
        pass
    with kitchen.store.read() as session:
        same = load_series(session, 1, T0, T0 + HOUR).celsius[0]
    rows = [f"{to_iso(T0)},{same!r}".replace("np.float64(", "").replace(")", ""), f"{to_iso(T0 + 5 * MIN)},9.5"]
    found = _import(kitchen, _file(tmp_path, *rows, f"{to_iso(T0 + 7 * MIN)},3.5"), later, logger="p1", unit=None)
    assert (found.written.added, found.written.doubles, found.written.contested) == (1, 1, 1)
    seal = seal_next(kitchen.store, key, later)
    assert seal is not None
    assert (seal.part, seal.count) == (1, 2)
    assert later > T0 + DAY + SETTLE_MS
    checked = verify(kitchen.store)
    assert (checked.problems, checked.sealed) == ([], 15)


REFUSED: dict[str, tuple[tuple[str, ...], dict[str, Any], str]] = {
    "a row that is none": ((IN_TIME[0], "2026-11-24T15:05:00Z,err"), {}, "line 3: not a number: 'err'"),
    "dates that can be read in two ways": (("03/04/2026 14:30,3",), {}, "whether the day or the month comes first"),
    "too many rows": (IN_TIME, {}, "more than 1 rows: make several files"),
    "what lies ahead": (("2026-11-25T15:00:00Z,3",), {"leave_out": True}, "lie ahead"),
    "nothing left": (("2026-11-24T15:00:00Z,err",), {"leave_out": True}, "no row can be used"),
    "another medium": (IN_TIME, {"logger": "p1", "medium": "air"}, "measures food, not air"),
    "a probe that stood elsewhere": (IN_TIME, {"logger": "p1", "unit": "Reach-in"}, "stood somewhere else"),
    "no such probe": (IN_TIME, {"unit": None}, "logger-7"),
    "no such unit": (IN_TIME, {"unit": "Cellar"}, "Cellar"),
    "a thinned day": (("2022-11-24T15:00:00Z,3",), {}, "were thinned: what was found of them stands"),
}


def test_a_file_that_is_refused_leaves_nothing(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each with its reason; not a reading, not a placement, not an entry."""
    kitchen.probe("p1")
    kitchen.unit("Walk-in 1", "walk-in", "p1", at_ms=T0 - DAY)
    kitchen.unit("Reach-in", "reach-in")
    with kitchen.store.write() as session:
        shared = {"roots": [], "taken": 1, "left_count": 0, "left_root": "", "verdicts": "", "keep_days": 731}
        session.add(ThinnedDay(probe_id=1, day=day_of(T0 - 1461 * DAY), part=0, by="Ines", thinned_ms=NOW, **shared))
    for name, (rows, more, said) in REFUSED.items():
        monkeypatch.setattr(logger_files, "MOST_ROWS", 1 if name == "too many rows" else 9)
        with pytest.raises((ConfigError, UnknownNameError)) as refused:
            _import(kitchen, _file(tmp_path, *rows), **more)
        assert said in str(refused.value), name
        assert str(tmp_path) not in str(refused.value), name
    with kitchen.store.read() as session:
        assert events(session, kinds=[EventKind.READ_BACK]) == []
        assert [placed.probe_id for placed in placements(session)] == [1]
        assert len(load_series(session, 1, 0, NOW)) == 0


def test_rows_may_be_left_out_and_the_file_is_read_once(kitchen: Kitchen, tmp_path: Path) -> None:
    """Which rows and why is kept; the same file again is a mistake."""
    kitchen.unit("Walk-in 1", "walk-in")
    file = _file(tmp_path, *IN_TIME, "2026-11-24T15:10:00Z,err", "soon,3")
    found = _import(kitchen, file, leave_out=True)
    assert len(found.file.series) == 2
    with kitchen.store.read() as session:
        (event,) = events(session, kinds=[EventKind.READ_BACK])
    assert event.facts["left_out"] == 2
    assert event.facts["reasons"] == [[4, "not a number: 'err'"], [5, "not a time: 'soon'"]]
    assert "2 rows left out" in event.text
    with pytest.raises(ConfigError, match="already read back, by Ines"):
        _import(kitchen, file, leave_out=True)


@pytest.mark.parametrize(
    ("dates", "row", "at"),
    [
        ("day-first", "03/04/2026 14:30", "2026-04-03T20:30:00Z"),  # Denver is at UTC−6 in April
        ("month-first", "03/04/2026 2:30:15 PM", "2026-03-04T21:30:15Z"),  # and at UTC−7 in early March
        ("month-first", "3.4.2026 12:05 am", "2026-03-04T07:05:00Z"),
    ],
)
def test_dates_are_read_as_they_are_said_to_be_meant(
    kitchen: Kitchen, tmp_path: Path, dates: str, row: str, at: str
) -> None:
    """By the site's clock; ISO 8601 needs no word."""
    kitchen.unit("Walk-in 1", "walk-in")
    found = _import(kitchen, _file(tmp_path, f"{row},3"), dates=logger_files.DateOrder(dates))
    assert to_iso(found.file.first_ms) == at


def test_a_month_that_is_none_is_no_time(kitchen: Kitchen, tmp_path: Path) -> None:
    """Said the wrong way round, the row is named, never turned."""
    kitchen.unit("Walk-in 1", "walk-in")
    for row in ("03/14/2026 14:30", "03/04/2026 13:30 PM"):
        with pytest.raises(ConfigError, match="line 2: not a time"):
            _import(kitchen, _file(tmp_path, f"{row},3"), dates=logger_files.DateOrder.DAY_FIRST, leave_out=False)
