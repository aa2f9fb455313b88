"""A kitchen with a morning behind it, judged by the watch itself."""

import atexit
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from sqlmodel import Session

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.language import ENGLISH
from holdwatch.storage.batching import note, start_batch
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.ids import id_of
from holdwatch.storage.placing import place
from holdwatch.storage.readings import write_history
from holdwatch.storage.register import add_probe, add_unit, set_site
from holdwatch.storage.tables import EventKind
from holdwatch.watch.rounds import go_round
from tests.charts.kitchen import at, cooling
from tests.support.temporary import temporary_root

NOW = at(2026, 10, 14, 11, 42)
BATCH_START = NOW - 90 * MS_PER_MINUTE
BY = "Mara"


@dataclass(frozen=True)
class Morning:
    """The store, and the numbers of what is in it."""

    store: Store
    well: int
    slow: int
    walk_in: int


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Store]:
    """A store that knows the site and nothing else."""
    with closing(_begun(tmp_path)) as store:
        yield store


def _begun(directory: Path, language: str = ENGLISH) -> Store:
    """Return a new store that knows the site."""
    store = open_store(store_url(directory, None), migrate=True)
    with store.write() as session:
        set_site(
            session,
            name="Linden Street Patisserie",
            timezone="America/Denver",
            limits="us-food-code-2022",
            unit="F",
            language=language,
            from_ms=NOW - 20 * MS_PER_DAY,
            now_ms=NOW - 20 * MS_PER_DAY,
            by=BY,
        )
    return store


def walk_in_day(until_ms: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return thirty hours in the walk-in: cold, but warm for an hour the evening before, and unread for another."""
    minute = np.arange(-30 * 60, 1, dtype=np.int64)
    celsius = 3.0 + 0.5 * np.sin(minute / 12.0)
    celsius[(minute > -16 * 60) & (minute < -15 * 60)] = 8.0
    read = (minute <= -5 * 60) | (minute >= -4 * 60)
    return until_ms + minute[read] * MS_PER_MINUTE, celsius[read]


def _batch(session: Session, lot: str, product: str, rate: float, code: str, vessels: int) -> int:
    probe = add_probe(session, code, medium="food", now_ms=BATCH_START, by=BY)
    batch = start_batch(
        session, product=product, lot=lot, vessels=vessels, at_ms=BATCH_START, now_ms=BATCH_START, by=BY
    )
    place(session, probe, batch=batch, vessel=1, slowest=vessels > 1, at_ms=BATCH_START, now_ms=BATCH_START, by=BY)
    note(session, batch, EventKind.LEFT_HEAT, at_ms=BATCH_START, now_ms=BATCH_START, by=BY)
    series = cooling(BATCH_START, 90, rate)
    write_history(session, id_of(probe), series.at_ms, series.celsius, NOW)
    return id_of(batch)


@pytest.fixture
def morning(tmp_path: Path) -> Iterator[Morning]:
    """A batch that cools well, one that will miss, and a walk-in with a bad evening; the watch has gone round."""
    with morning_in(tmp_path) as made:
        yield made


@contextmanager
def morning_in(directory: Path, language: str = ENGLISH) -> Iterator[Morning]:
    """Give the morning of a site that speaks a language, in a directory of its own."""
    made, well, slow, walk_in = _watched(language)
    shutil.copytree(made, directory, dirs_exist_ok=True)
    with closing(open_store(store_url(directory, None))) as store:
        yield Morning(store, well, slow, walk_in)


@cache
def _watched(language: str) -> tuple[Path, int, int, int]:
    """Make the morning once for a language; return where, and the numbers of what is in it."""
    directory = Path(tempfile.mkdtemp(dir=temporary_root()))
    atexit.register(shutil.rmtree, directory)
    early = NOW - 30 * MS_PER_HOUR
    with closing(_begun(directory, language)) as store:
        with store.write() as session:
            unit = add_unit(session, "Walk-in 1", "walk-in", now_ms=early, by=BY)
            probe = add_probe(session, "w1", medium="food", now_ms=early, by=BY)
            place(session, probe, unit=unit, at_ms=early, now_ms=early, by=BY)
            write_history(session, id_of(probe), *walk_in_day(NOW), NOW)
            well = _batch(session, "L-0412", "Pastry cream", 1.1, "p1", 6)
            slow = _batch(session, "B-0412", "Custard", 0.42, "p2", 1)
            walk_in = id_of(unit)
        for _ in range(4):
            go_round(store, NOW)
    return directory, well, slow, walk_in
