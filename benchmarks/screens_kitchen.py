"""A kitchen with a past to look at: sixteen probes in units, batches that cool now, and years of days that are over.

The readings are made by the database itself, their roll-ups as always. What the watch says of the present is the watch's own; the
past is a day that the watch has judged, copied to each day before it. So the past may be read more seldom than the present
and nothing but the number of readings differs.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from benchmarks.storing import Opened, sqlite
from holdwatch import clock
from holdwatch.charts.reduce import LARGEST_GAP_MS
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.storage.batching import end_batch, note, start_batch
from holdwatch.storage.ids import id_of
from holdwatch.storage.placing import place
from holdwatch.storage.readings import recompute_rollups, write_history
from holdwatch.storage.register import add_probe, add_unit, set_site
from holdwatch.storage.tables import EventKind
from holdwatch.watch.rounds import Watch

UNITS, RUNNING, A_DAY = 16, 6, 6
EVERY_MS = 30 * MS_PER_SECOND
BY = "Mara"
SELDOM_MS = LARGEST_GAP_MS
"""The longest step that is drawn as a line and proves holding: at a longer one the past would be a row of gaps."""
COOLED_H = 3
JUDGED_MS = 2 * MS_PER_DAY
"""So much the watch itself has judged; it would take minutes to judge years."""
_READINGS = """
WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i + 1 < ?)
INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags)
SELECT ?, ? + i * ?, 3 + (i % 53) / 32.0 + (i % 3001 = 0) * 2.5, 180, 1 FROM n
"""
_DEALT_WITH = """
INSERT INTO event (at_ms, recorded_ms, kind, batch_id, unit_id, probe_id, finding_id, text, by, facts)
SELECT closed_ms, closed_ms, 'action', batch_id, unit_id, probe_id, id, 'cold again, moved', ?,
       '{"act": "action", "disposition": "discard"}'
FROM finding WHERE key LIKE 'past:%'
"""
_PRODUCTS = ("Pastry cream", "Lemon curd", "Custard", "Frangipane")


@contextmanager
def kitchen(data: Path, readings: int, *, past_every_ms: int = EVERY_MS) -> Iterator[Opened]:
    """Make a kitchen whose standing probes have about so many readings, one in thirty seconds, the last one now.

    Parameters
    ----------
    past_every_ms : int
        [ms], how often the probes were read before the days that the watch itself has judged: at most `SELDOM_MS`. The
        past is as long as it would be at one in thirty seconds.
    """
    now = clock.now_ms()
    first = now - readings // UNITS * EVERY_MS
    present = max(first, now - JUDGED_MS)
    with sqlite(data) as opened:
        _set_up(opened, first, now)
        for probe in range(1, UNITS + 1):
            for begin, end, every_ms in ((first, present, past_every_ms), (present, now, EVERY_MS)):
                if begin < end:
                    opened.bare.execute(_READINGS, (-((begin - end) // every_ms), probe, begin, every_ms))
            with opened.store.write() as session:
                recompute_rollups(session, probe, first, now)
        _cook(opened, now)
        Watch(opened.store).catch_up(now)
        _remember(opened, (now - first) // MS_PER_DAY, now)
        opened.bare.execute("UPDATE placement SET from_ms = ? WHERE unit_id IS NOT NULL", (first,))
        yield opened


def _set_up(opened: Opened, first: int, now: int) -> None:
    with opened.store.write() as session:
        set_site(
            session,
            name="Linden Street Patisserie",
            timezone="America/Denver",
            limits="us-food-code-2022",
            unit="F",
            from_ms=first,
            now_ms=now,
            by=BY,
        )
        for number in range(1, UNITS + 1):
            unit = add_unit(session, f"Walk-in {number:02}", "walk-in", now_ms=first, by=BY)
            probe = add_probe(session, f"w{number}", medium="food", now_ms=first, by=BY)
            place(session, probe, unit=unit, at_ms=now - JUDGED_MS, now_ms=now, by=BY)


def _cook(opened: Opened, now: int) -> None:
    """Start the batches that cool now, and one that was over yesterday."""
    for number in range(RUNNING + 1):
        over = number == RUNNING
        began = now - (MS_PER_DAY if over else 0) - COOLED_H * MS_PER_HOUR + number * 20 * MS_PER_MINUTE
        minutes = min((now - began) // MS_PER_MINUTE, COOLED_H * 60)
        at_ms = began + np.arange(minutes, dtype=np.int64) * MS_PER_MINUTE
        celsius = 1 + 84 * np.exp(-np.arange(minutes) / (60 + 8 * number))
        with opened.store.write() as session:
            probe = add_probe(session, f"p{number}", medium="food", now_ms=began, by=BY)
            made = start_batch(session, product=_PRODUCTS[number % 4], lot=f"R{number}", at_ms=began, now_ms=now, by=BY)
            place(session, probe, batch=made, at_ms=began, now_ms=now, by=BY)
            note(session, made, EventKind.LEFT_HEAT, at_ms=began, now_ms=now, by=BY)
            write_history(session, id_of(probe), at_ms, celsius.round(2), now)
            if over:
                ended = began + COOLED_H * MS_PER_HOUR
                end_batch(session, made, outcome="used", at_ms=ended, now_ms=now, by=BY)


def _remember(opened: Opened, days: int, now: int) -> None:
    """Copy the batch that is over, and what was found of the units a day ago, to every day before."""
    ((batch,),) = opened.query("SELECT id FROM batch WHERE lot = ?", f"R{RUNNING}")
    yesterday = clock.to_datetime(now - MS_PER_DAY).strftime("%Y-%m-%d")
    days_before = _counted(days)
    of_a_day = _counted(days * A_DAY)
    moved, lot = f"- i * {MS_PER_DAY // A_DAY}", "'P' || i"
    _copy(opened, of_a_day, "batch", f"id = {batch}", id="1000 + i", lot=lot, started_ms=moved, ended_ms=moved)
    mine = f"batch_id = {batch}"
    _copy(opened, of_a_day, "event", mine, id=None, batch_id="1000 + i", at_ms=moved, recorded_ms=moved)
    _copy(opened, of_a_day, "placement", mine, id=None, batch_id="1000 + i", from_ms=moved, to_ms=moved)
    _copy(
        opened, of_a_day, "clause_state", mine, id=None, batch_id="1000 + i", subject="'batch:' || (1000 + i) || ':1'"
    )
    _copy(
        opened,
        days_before,
        "clause_state",
        f"unit_id IS NOT NULL AND day = '{yesterday}'",
        id=None,
        day=f"date('{yesterday}', '-' || i || ' days')",
    )
    _copy(
        opened,
        _counted(days // 3),
        "finding",
        "id = (SELECT min(id) FROM finding)",
        id="1000 + i",
        key="'past:' || i",
        since_ms=f"- i * {3 * MS_PER_DAY}",
        opened_ms=f"- i * {3 * MS_PER_DAY}",
        closed_ms=f"{now} - i * {3 * MS_PER_DAY}",
    )
    opened.bare.execute(_DEALT_WITH, (BY,))  # nobody leaves a year of findings as they are


def _counted(below: int) -> str:
    return f"WITH RECURSIVE n(i) AS (VALUES (1) UNION ALL SELECT i + 1 FROM n WHERE i + 1 < {below:d})"  # noqa: S608  a number of ours


def _copy(opened: Opened, series: str, table: str, where: str, **changed: str | None) -> None:
    """Insert rows of a table again for each i of a series; a change that begins with a sign is added to the column."""
    names = [row[1] for row in opened.query(f"PRAGMA table_info({table})")]
    kept = [name for name in names if changed.get(name, "") is not None]

    def value(name: str) -> str:
        change = changed.get(name) or f'"{name}"'
        return f'"{name}" {change}' if change.startswith(("-", "+")) else change

    columns = ", ".join(f'"{name}"' for name in kept)
    chosen = ", ".join(map(value, kept))
    opened.bare.execute(
        f"{series} INSERT OR IGNORE INTO {table} ({columns}) SELECT {chosen} FROM {table}, n WHERE {where}"  # noqa: S608  names of our own
    )
