"""Keeping readings and reading them back, against the bare driver on the same table.

Run ``python -m benchmarks.storing``. On SQLite with a year of one probe (a million readings) and of ten; on PostgreSQL,
where it is installed, with the million. Both bring every commit to the disk.
"""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from sqlmodel import Session

from benchmarks.support import alternate, is_small, rate, say, seconds_of, table, times_of
from holdwatch.clock import MS_PER_DAY
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.readings import (
    NewReading,
    count_readings,
    load_series,
    load_trace,
    recompute_rollups,
    write_readings,
)
from holdwatch.storage.register import add_probe
from tests.support.postgres import find_binaries, postgres_cluster

FIRST_MS = 1_767_225_600_000  # 1 January 2026
EVERY_MS = 30_000
YEAR_MS = 365 * MS_PER_DAY
POINTS = 500
LIVE_PROBES = 100
_INSERT = "INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING"
_RANGE = "SELECT at_ms, celsius FROM reading WHERE probe_id = ? AND at_ms >= ? AND at_ms <= ? ORDER BY at_ms"
_BUCKET = "bucket_ms, count, first_ms, last_ms, min_c, mean_c, max_c, hole_ms"
_Row = tuple[int, int, float, int, int]


def main() -> None:
    """Measure, and print the section of the page."""
    small = is_small()
    runs = 2 if small else 3
    length_ms = YEAR_MS // 12 if small else YEAR_MS
    say(
        "## Storing",
        "",
        "*Bare*: the driver alone on the same table with the same primary key, one commit a group, no look for doubles, no"
        f" roll-ups, no arrival for the watch. {runs} runs of each, in turn; median (least–most). Rows were counted after"
        " every run.",
        "",
    )
    with tempfile.TemporaryDirectory() as name:
        for probes in (1, 2 if small else 10):
            with sqlite(Path(name) / str(probes)) as opened:
                measure(opened, "SQLite", probes, length_ms, runs)
    if find_binaries() is None:
        say("", "PostgreSQL is not installed here: nothing was measured on it.", "")
        return
    with postgresql() as opened:
        measure(opened, "PostgreSQL", 1, length_ms, runs)


@dataclass
class Opened:
    """A store, and the bare driver's connection to it."""

    store: Store
    bare: Any

    def query(self, sql: str, *parameters: object) -> list[Any]:
        """Return the rows of a query by the bare driver."""
        rows: list[Any] = self._cursor(sql, parameters).fetchall()
        return rows

    def insert(self, rows: list[_Row]) -> None:
        """Write a group by the bare driver, and commit it."""
        if self.store.is_sqlite:
            self.bare.execute("BEGIN IMMEDIATE")
            self.bare.executemany(_INSERT, rows)
            self.bare.execute("COMMIT")
            return
        with self.bare.transaction(), self.bare.cursor() as cursor:
            cursor.executemany(_INSERT.replace("?", "%s"), rows)

    def forget(self, probe_ids: range) -> None:
        """Delete what was written of probes, outside of what is measured."""
        for name in ("reading", "rollup_5m", "rollup_1h", "arrival"):
            self._cursor(f"DELETE FROM {name} WHERE probe_id BETWEEN ? AND ?", (probe_ids[0], probe_ids[-1]))  # noqa: S608  names of our own

    def _cursor(self, sql: str, parameters: tuple[object, ...]) -> Any:
        return self.bare.execute(sql if self.store.is_sqlite else sql.replace("?", "%s"), parameters)


def measure(opened: Opened, name: str, probes: int, length_ms: int, runs: int) -> None:
    """Fill a store, and measure writing into it and reading out of it."""
    made = fill(opened, probes, length_ms)
    days = length_ms // MS_PER_DAY
    say(
        f"### {name}, {made:,} readings: {probes} probe{'s' * (probes > 1)}, every {EVERY_MS // 1_000} s for {days} days"
    )
    write(opened, made, probes, runs)
    read(opened, length_ms, runs)


# ---------------------------------------------------------------- writing


def write(opened: Opened, there: int, probes: int, runs: int) -> None:
    """Compare groups of readings as they come live: of a hundred probes in turn, each at its next instant."""
    rows = []
    ids = range(probes + 1, probes + 1 + LIVE_PROBES)
    for size, groups in ((1, 500), (100, 100), (1_000, 40)):
        count = size * groups
        told = [_live(ids, n) for n in range(count)]
        parts = [told[start : start + size] for start in range(0, count, size)]

        def ours(parts: list[list[_Row]] = parts) -> float:
            def keep() -> None:
                for part in parts:
                    with opened.store.write() as session:
                        write_readings(
                            session, [NewReading(p, at, c, at + lag, f) for p, at, c, lag, f in part], FIRST_MS
                        )

            return timed(opened, keep, there + sum(map(len, parts)), ids)

        def bare(parts: list[list[_Row]] = parts) -> float:
            def keep() -> None:
                for part in parts:
                    opened.insert(part)

            return timed(opened, keep, there + sum(map(len, parts)), ids)

        kept, raw = (spread.per(count) for spread in alternate(runs, ours, bare))
        rows.append((f"{size:,} a commit", rate(kept), rate(raw), f"{kept.median / raw.median:.2f}"))
    table(("written in groups of", "`write_readings`", "bare `executemany`", "ratio"), rows)


def timed(opened: Opened, work: Callable[[], object], expected: int, ids: range) -> float:
    """Return how long something takes that must leave so many readings behind; then take them away. [s]."""
    took = seconds_of(work)
    with opened.store.read() as session:
        kept = count_readings(session)
    assert kept == expected, (kept, expected)
    opened.forget(ids)
    return took


def _live(ids: range, number: int) -> _Row:
    return (
        ids[number % len(ids)],
        FIRST_MS + YEAR_MS + number // len(ids) * EVERY_MS,
        3 + number % 37 / 16,
        180,
        0,
    )


# ---------------------------------------------------------------- reading


def read(opened: Opened, length_ms: int, runs: int) -> None:
    """Compare spans of one probe, as arrays and as a drawn trace."""
    end_ms = FIRST_MS + length_ms
    spans = [_span(opened, end_ms - days * MS_PER_DAY, end_ms, 2 * runs + 1) for days in (1, 30)]
    table(("one probe's span", "`load_series`", "bare `fetchall` of the same rows", "ratio"), spans)
    traces = [
        _trace(opened, end_ms - 30 * MS_PER_DAY, end_ms, ("rollup_5m", 300_000), runs),
        _trace(opened, FIRST_MS, end_ms, ("rollup_1h", 3_600_000), runs),
    ]
    head = ("one probe's trace", "`load_trace`", "bare: the roll-ups it needs", "ratio", "bare: every reading", "ratio")
    table(head, traces)


def _span(opened: Opened, first_ms: int, end_ms: int, runs: int) -> tuple[str, ...]:
    """Compare reading a span as arrays with fetching its rows."""
    expected = (end_ms - first_ms) // EVERY_MS

    def loaded(session: Session) -> int:
        return len(load_series(session, 1, first_ms, end_ms - 1))

    ours = _reading(opened, loaded, (expected, expected))
    kept, raw = alternate(runs, ours, _bare(opened, _RANGE, (1, first_ms, end_ms - 1), expected))
    days = (end_ms - first_ms) // MS_PER_DAY
    return f"{days} d, {expected:,} readings", times_of(kept), times_of(raw), f"{kept.median / raw.median:.2f}"


def _trace(opened: Opened, first_ms: int, end_ms: int, rollup: tuple[str, int], runs: int) -> tuple[str, ...]:
    """Compare a drawn trace with fetching the roll-ups it is made of, and with fetching every reading."""
    name, width = rollup

    def drawn(session: Session) -> int:
        return len(load_trace(session, 1, first_ms, end_ms - 1, POINTS))

    sql = f"SELECT {_BUCKET} FROM {name} WHERE probe_id = ? AND bucket_ms >= ? AND bucket_ms <= ? ORDER BY bucket_ms"  # noqa: S608  names of our own
    span = (1, first_ms, end_ms - 1)
    ours, rolled, every = alternate(
        2 * runs + 1,
        _reading(opened, drawn, (POINTS // 3, POINTS)),
        _bare(opened, sql, span, (end_ms - first_ms) // width),
        _bare(opened, _RANGE, span, (end_ms - first_ms) // EVERY_MS),
    )
    days = (end_ms - first_ms) // MS_PER_DAY
    least, most = f"{ours.median / rolled.median:.2f}", f"{ours.median / every.median:.3f}"
    return f"{days} d in {POINTS} points", times_of(ours), times_of(rolled), least, times_of(every), most


def _reading(opened: Opened, work: Callable[[Session], int], within: tuple[int, int]) -> Callable[[], float]:
    """Return what measures a look into the store, and checks how much it saw."""
    seen: list[int] = []

    def look() -> None:
        with opened.store.read() as session:
            seen.append(work(session))

    def measured() -> float:
        took = seconds_of(look)
        assert within[0] <= seen[-1] <= within[1], (seen[-1], within)
        return took

    return measured


def _bare(opened: Opened, sql: str, parameters: tuple[int, ...], expected: int) -> Callable[[], float]:
    """Return what measures a query by the bare driver, and counts its rows."""
    seen: list[int] = []

    def measured() -> float:
        took = seconds_of(lambda: seen.append(len(opened.query(sql, *parameters))))
        assert seen[-1] == expected, (seen[-1], expected)
        return took

    return measured


# ---------------------------------------------------------------- the stores


@contextmanager
def sqlite(directory: Path) -> Iterator[Opened]:
    """Make a store on SQLite, and open it twice."""
    import sqlite3

    directory.mkdir()
    store = open_store(store_url(directory, None), migrate=True)
    bare = sqlite3.connect(directory / "holdwatch.db", isolation_level=None)
    bare.execute("PRAGMA synchronous = FULL")
    try:
        yield Opened(store, bare)
    finally:
        bare.close()
        store.close()


@contextmanager
def postgresql() -> Iterator[Opened]:
    """Make a store on a PostgreSQL server of our own, and open it twice."""
    import psycopg

    with postgres_cluster(durable=True) as cluster:
        url = cluster.url(cluster.create())
        store = open_store(url, migrate=True)
        with psycopg.connect(url, autocommit=True) as bare:
            assert bare.execute("SHOW fsync").fetchone() == ("on",)
            yield Opened(store, bare)
        store.close()


def fill(opened: Opened, probes: int, length_ms: int) -> int:
    """Write the readings by the shortest way, and their roll-ups; return how many there are."""
    with opened.store.write() as session:
        for number in range(probes + LIVE_PROBES):
            add_probe(session, f"p{number}", medium="food", now_ms=FIRST_MS, by="benchmark")
    at_ms = np.arange(FIRST_MS, FIRST_MS + length_ms, EVERY_MS)
    celsius = 3 + np.sin(np.arange(len(at_ms)) / 40).round(2)
    instants, values = at_ms.tolist(), celsius.tolist()
    for probe_id in range(1, probes + 1):
        rows = ((probe_id, at, value, 180, 0) for at, value in zip(instants, values, strict=True))
        if opened.store.is_sqlite:
            opened.bare.execute("BEGIN IMMEDIATE")
            opened.bare.executemany(_INSERT, rows)
            opened.bare.execute("COMMIT")
        else:
            with opened.bare.cursor().copy("COPY reading (probe_id, at_ms, celsius, lag_ms, flags) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        with opened.store.write() as session:
            recompute_rollups(session, probe_id, FIRST_MS, FIRST_MS + length_ms)
    if not opened.store.is_sqlite:
        opened.bare.execute("ANALYZE")
    with opened.store.read() as session:
        made = count_readings(session)
    assert made == probes * len(at_ms), made
    return made


if __name__ == "__main__":
    main()
