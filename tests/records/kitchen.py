"""Three days of a kitchen of our own invention, over the night the clocks go back, judged by the real watch."""

from collections.abc import Callable
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import to_ms
from holdwatch.quantities import celsius_of_f
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.readings import write_history
from holdwatch.storage.register import (
    add_probe,
    add_unit,
    batch_named,
    end_batch,
    note,
    place,
    probe_named,
    start_batch,
    unit_named,
)
from holdwatch.storage.tables import EventKind
from holdwatch.watch.loop import Watch

MINUTE, HOUR, DAY = 60_000, 3_600_000, 86_400_000
T0 = to_ms(datetime(2026, 10, 31, 6, tzinfo=UTC))  # midnight in Denver
NOW = T0 + 3 * DAY - 4 * HOUR  # 19:00 MST on 2 November
BY = "ana"


def fill(store: Store) -> None:
    """Fill the store and let the watch find what there is to find."""
    with store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:9/hook", now_ms=T0, by=BY)
    _units(store)
    _batch(store, "L-101", "Pastry cream", 4 * HOUR, _cooling(48), "p4", ended=8 * HOUR)
    _batch(store, "L-102", "Custard", 30 * HOUR, _cooling(140), "p5", ended=39 * HOUR, action="discarded all six pans")
    _batch(store, "L-103", "Lemon curd", 54 * HOUR, _cooling(48), "p4", hole=(30, 150), ended=59 * HOUR)
    _batch(store, "L-104", "Crème anglaise", 67 * HOUR, _cooling(150), "p5")
    with store.write() as session:
        start_batch(session, product="Ganache", lot="L-105", at_ms=T0 + 60 * HOUR, now_ms=T0 + 60 * HOUR, by=BY)
    settle(store, NOW)


def settle(store: Store, now_ms: int) -> None:
    """Let the watch go round until nothing is left to look at."""
    watch = Watch(store, "http://127.0.0.1:8501", give_way=lambda _: None)
    for _ in range(200):
        now_ms += 1
        report = watch.go_round(now_ms)
        assert not report.trouble
        if not (report.arrivals or report.judged or report.due or report.unfinished):
            return
    raise AssertionError("the watch never comes to rest")


def _units(store: Store) -> None:
    """Write a walk-in with a warm spell and a gap, its air, and a display case whose probe never spoke."""
    with store.write() as session:
        for name, kind in (("Walk-in 1", "walk-in"), ("Display case", "display-case")):
            add_unit(session, name, kind, now_ms=T0, by=BY)
        for code, medium in (("p1", "food"), ("p2", "air"), ("p3", "food"), ("p4", "food"), ("p5", "food")):
            add_probe(session, code, medium=medium, now_ms=T0, by=BY)
        for code, unit in (("p1", "Walk-in 1"), ("p2", "Walk-in 1"), ("p3", "Display case")):
            probe = probe_named(session, code)
            place(session, probe, unit=unit_named(session, unit), at_ms=T0, now_ms=T0, by=BY)
    at = np.arange(T0, NOW, 5 * MINUTE, dtype=np.int64)
    hours = (at - T0) / HOUR
    cold = 37.5 + 1.2 * np.sin(hours * 2.1)
    warm = np.where((hours > 31) & (hours < 33.2), 8.0 * np.sin((hours - 31) / 2.2 * np.pi), 0.0)
    heard = (hours < 14) | (hours > 16.3)
    _write(store, "p1", at[heard], (cold + warm)[heard])
    _write(store, "p2", at, cold - 1.5 + 1.5 * np.sin(hours * 9))


def _cooling(tau_min: float) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    """Return how a pan at 150 °F cools towards 36 °F."""
    return lambda minutes: 36 + 114 * np.exp(-minutes / tau_min)


def _batch(
    store: Store,
    lot: str,
    product: str,
    start: int,
    cools: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    code: str,
    *,
    hole: tuple[int, int] | None = None,
    ended: int | None = None,
    action: str = "",
) -> None:
    """Write one batch: its start, its probe's readings, a hand reading, what was done, its end."""
    begin, end = T0 + start, NOW if ended is None else T0 + ended
    with store.write() as session:
        batch = start_batch(session, product=product, lot=lot, vessels=6, at_ms=begin, now_ms=begin, by=BY)
        place(
            session, probe_named(session, code), batch=batch, vessel=2, slowest=True, at_ms=begin, now_ms=begin, by=BY
        )
        note(session, batch, EventKind.LEFT_HEAT, at_ms=begin, now_ms=begin + MINUTE, by=BY)
    minutes = np.arange(0, (end - begin) / MINUTE, 2.0)
    if hole is not None:
        minutes = minutes[(minutes <= hole[0]) | (minutes >= hole[1])]
    _write(store, code, (begin + minutes * MINUTE).astype(np.int64), cools(minutes))
    with store.write() as session:
        batch = batch_named(session, lot)
        if action:
            at = T0 + ended - HOUR if ended is not None else begin
            note(session, batch, EventKind.ACTION, at_ms=at, now_ms=at + 2 * HOUR, by="ben", text=action)
        if ended is not None:
            outcome = "discarded" if action else "served"
            end_batch(session, batch, outcome=outcome, at_ms=T0 + ended, now_ms=T0 + ended, by=BY)
        if hole is not None:
            note(
                session, batch, EventKind.READING, at_ms=begin + 4 * HOUR, now_ms=begin + 5 * HOUR, by="ben", vessel=2,
                celsius=celsius_of_f(39.6),
            )  # fmt: skip


def _write(store: Store, code: str, at: NDArray[np.int64], fahrenheit: NDArray[np.float64]) -> None:
    """Write readings given in °F."""
    with store.write() as session:
        probe = probe_named(session, code)
        assert probe.id is not None
        write_history(session, probe.id, at, (fahrenheit - 32) / 1.8, int(at[-1]))
