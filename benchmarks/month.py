"""A month of a large kitchen: 20 units and 30 batches a day, judged by the real watch; what a log of a month is printed of."""

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.quantities import celsius_of_f
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import write_history
from holdwatch.storage.register import add_probe, add_unit, end_batch, note, place, set_site, start_batch
from holdwatch.storage.tables import EventKind, Probe
from holdwatch.watch.rounds import Watch

__all__ = ["FIRST_MS", "fill_month"]

FIRST_MS = 1_789_279_200_000  # 13 September 2026, midnight in Denver
BY = "benchmark"
PANS, A_DAY_EACH = 10, 3
UNIT_EVERY_MS, PAN_EVERY_MS = 2 * MS_PER_MINUTE, MS_PER_MINUTE
BATCH_MS, BETWEEN_MS = 7 * MS_PER_HOUR, 8 * MS_PER_HOUR
SLOW_EVERY = 20
PRODUCTS = ("Pastry cream", "Custard", "Crème anglaise", "Lemon curd", "Chocolate ganache")


def fill_month(store: Store, *, units: int = 20, days: int = 30) -> int:
    """Fill an empty store and let the watch find what there is; return the instant after the last day. [ms]."""
    last_ms = FIRST_MS + days * MS_PER_DAY
    with store.write() as session:
        set_site(
            session, name="Linden Street Patisserie", timezone="America/Denver", limits="us-food-code-2022", unit="F",
            from_ms=FIRST_MS, now_ms=FIRST_MS, by=BY,
        )  # fmt: skip
        for number in range(1, units + 1):
            _unit(session, number, last_ms)
        pans = [add_probe(session, f"pan-{n}", medium="food", now_ms=FIRST_MS, by=BY) for n in range(1, PANS + 1)]
        for day in range(days):
            for turn in range(A_DAY_EACH):
                for number, pan in enumerate(pans):
                    _batch(session, day, turn, number, pan)
    report = Watch(store).catch_up(last_ms)
    assert not report.trouble, report.trouble
    assert report.judged >= units
    return last_ms


def _unit(session: Session, number: int, last_ms: int) -> None:
    """Write a unit whose food probe swings with the compressor and is warm for an hour once a fortnight."""
    unit = add_unit(session, f"Reach-in {number}", "reach-in", now_ms=FIRST_MS, by=BY)
    probe = add_probe(session, f"fridge-{number}", medium="food", now_ms=FIRST_MS, by=BY)
    place(session, probe, unit=unit, at_ms=FIRST_MS, now_ms=FIRST_MS, by=BY)
    at_ms = np.arange(FIRST_MS, last_ms, UNIT_EVERY_MS, dtype=np.int64)
    hours = (at_ms - FIRST_MS) / MS_PER_HOUR
    warm = 6 * np.clip(1 - np.abs((hours - 17 * number) % 336 - 168), 0, None)
    _write(session, probe, at_ms, 37.5 + 1.2 * np.sin(2 * np.pi * hours / 0.7) + warm)


def _batch(session: Session, day: int, turn: int, number: int, pan: Probe) -> None:
    """Write a batch from the heat to its end; one in twenty cools too slowly."""
    count = (day * A_DAY_EACH + turn) * PANS + number
    begin = FIRST_MS + day * MS_PER_DAY + turn * BETWEEN_MS + number * 3 * MS_PER_MINUTE
    product = PRODUCTS[count % len(PRODUCTS)]
    batch = start_batch(session, product=product, lot=f"B-{count + 1:04}", vessels=2, at_ms=begin, now_ms=begin, by=BY)
    place(session, pan, batch=batch, vessel=1, slowest=True, at_ms=begin, now_ms=begin, by=BY)
    note(session, batch, EventKind.LEFT_HEAT, at_ms=begin, now_ms=begin, by=BY)
    at_ms = np.arange(begin, begin + BATCH_MS, PAN_EVERY_MS, dtype=np.int64)
    tau_min = 140.0 if count % SLOW_EVERY == 0 else 50.0
    _write(session, pan, at_ms, 36 + 114 * np.exp(-(at_ms - begin) / MS_PER_MINUTE / tau_min))
    at = begin + BATCH_MS
    end_batch(session, batch, outcome="served", at_ms=at, now_ms=at, by=BY)


def _write(session: Session, probe: Probe, at_ms: NDArray[np.int64], fahrenheit: NDArray[np.float64]) -> None:
    celsius = np.array([celsius_of_f(value) for value in fahrenheit.tolist()])
    write_history(session, id_of(probe), at_ms, celsius, int(at_ms[-1]))
