"""Which batches the demonstration makes, when each of their steps falls, and how they cool.

Two weeks of ordinary days with two batches that go wrong and are thrown away; then sets of four that are alive on the
screen: one cooling well, one filled too deep, one forgotten on the bench, one cold already.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from devices.simulator.chance import Instants
from devices.simulator.kitchen import Pan, Readings, Stay, pan_true, simulate_pan
from devices.simulator.linden_street import PAN_DEVICES
from devices.simulator.rooms import Room
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE, to_datetime, to_ms
from holdwatch.demo.kitchen import COOKS, PRODUCTS, SLOTS, TIMEZONE, Product

__all__ = ["BatchPlan", "history_batches", "live_batches", "pan_readings"]

HISTORY_DAYS = 14
LIFE_MS = round(6.5 * MS_PER_HOUR)
PLACED_AFTER_MS = 2 * MS_PER_MINUTE
START_LEVEL_C = 57.22
"""Where the cooling clock starts, 135 °F."""
FORGOTTEN_DAY, CROWDED_DAY = 5, 10
_ZONE = ZoneInfo(TIMEZONE)
_SUNDAY = 6


@dataclass(frozen=True)
class BatchPlan:
    """A batch from its start to its end."""

    lot: str
    product: Product
    device: str
    pan: Pan
    end_ms: int
    outcome: str
    by: str
    action: str = ""
    """What was done about it when it had gone wrong, and ``""`` where nothing had."""

    @property
    def start_ms(self) -> int:
        """When it left the heat."""
        return self.pan.start_ms

    @property
    def placed_ms(self) -> int:
        """When the probe was put into it."""
        return self.start_ms + PLACED_AFTER_MS


def _plan(short: str, device: str, start_ms: int, end_ms: int, *, outcome: str = "used", action: str = "") -> BatchPlan:
    """Lay a product's way from an instant on."""
    product = PRODUCTS[short]
    stays = tuple(Stay(start_ms + round(minute * MS_PER_MINUTE), room, h) for minute, room, h in product.way)
    local = to_datetime(start_ms).astimezone(_ZONE)
    return BatchPlan(
        lot=f"{_initials(product.name)}-{local:%m%d-%H%M}",
        product=product,
        device=device,
        pan=Pan(product.food, product.depth_m, product.start_c, stays),
        end_ms=end_ms,
        outcome=outcome,
        by=COOKS[start_ms // MS_PER_HOUR % len(COOKS)],
        action=action,
    )


def _initials(name: str) -> str:
    """Return the first letters of a product's first two words, as the cooks write them on the tape."""
    return "".join(word[0].upper() for word in name.split()[:2])


def clock_starts_ms(plan: BatchPlan, rooms: Mapping[str, Room], seed: int) -> int:
    """Return the instant at which a batch falls below 135 °F."""
    grid, celsius = pan_true(plan.pan, rooms, plan.start_ms + 5 * MS_PER_HOUR, seed)
    return int(grid[int(np.argmax(celsius < START_LEVEL_C))])


def history_batches(first_ms: int, t0_ms: int, rooms: Mapping[str, Room], seed: int) -> list[BatchPlan]:
    """Return the batches of the two weeks before `t0_ms` that have ended before the live ones need their probes."""
    needed = {plan.device: plan.start_ms for plan in live_batches(t0_ms, rooms, seed)}
    made = []
    first_day = to_datetime(first_ms).astimezone(_ZONE).date()
    for day in range(HISTORY_DAYS + 1):
        date = first_day + timedelta(days=day)
        for slot in SLOTS:
            if slot.afternoon and date.weekday() == _SUNDAY:
                continue
            at = datetime(date.year, date.month, date.day, slot.hour, slot.minute, tzinfo=_ZONE)
            plan = _of_the_day(day, slot.product, slot.device, to_ms(at.astimezone(UTC)), rooms, seed)
            if plan.start_ms > first_ms and plan.end_ms + 5 * MS_PER_MINUTE < needed[plan.device]:
                made.append(plan)
    return sorted(made, key=lambda plan: plan.start_ms)


def _of_the_day(day: int, short: str, device: str, start_ms: int, rooms: Mapping[str, Room], seed: int) -> BatchPlan:
    """Return an ordinary batch, or on two days one that goes wrong."""
    if day == FORGOTTEN_DAY and device == "pan-4":
        plan = _plan("CF", device, start_ms, start_ms)
        end = clock_starts_ms(plan, rooms, seed) + 2 * MS_PER_HOUR + 25 * MS_PER_MINUTE
        action = "Thrown away: it stood on the bench and was not at 70 °F after 2 h. The bath is now made ready before cooking."
        return _plan("CF", device, start_ms, end, outcome="discarded", action=action)
    if day == CROWDED_DAY and device == "pan-1" and short == "LC":
        action = "Thrown away: not at 41 °F after 6 h. Trays go into the walk-in, never into the reach-in."
        return _plan("LR", device, start_ms, start_ms + 7 * MS_PER_HOUR, outcome="discarded", action=action)
    return _plan(short, device, start_ms, start_ms + LIFE_MS)


def live_batches(t0_ms: int, rooms: Mapping[str, Room], seed: int) -> list[BatchPlan]:
    """Return the four batches that are alive at `t0_ms`, where the screen is first looked at."""
    t0_ms -= t0_ms % MS_PER_MINUTE
    minute = MS_PER_MINUTE
    well = _plan("PC", "pan-1", t0_ms - 74 * minute, t0_ms - 74 * minute + LIFE_MS)
    deep = _clock_began("LD", "pan-2", t0_ms - 45 * minute, rooms, seed)
    forgotten = _clock_began("CF", "pan-3", t0_ms - 2 * MS_PER_HOUR - 3 * minute, rooms, seed)
    cold = _plan("FB", "pan-4", t0_ms - 200 * minute, t0_ms - 200 * minute + LIFE_MS)
    return [
        well,
        _plan(
            "LD",
            "pan-2",
            deep,
            t0_ms + 105 * minute,
            outcome="discarded",
            action="Thrown away: not at 70 °F after 2 h.",
        ),
        _plan(
            "CF", "pan-3", forgotten, t0_ms + 60 * minute, outcome="discarded", action="Thrown away: left on the bench."
        ),
        cold,
    ]


def _clock_began(short: str, device: str, clock_ms: int, rooms: Mapping[str, Room], seed: int) -> int:
    """Return when a batch must have left the heat so that it fell below 135 °F at about `clock_ms`."""
    guess = clock_ms - MS_PER_HOUR
    for _ in range(3):  # the air it stands in is not the same at every instant
        guess += clock_ms - clock_starts_ms(_plan(short, device, guess, guess), rooms, seed)
    return guess


def pan_readings(plan: BatchPlan, rooms: Mapping[str, Room], at_ms: Instants, seed: int) -> Readings:
    """Return what a batch's probe tells of it: nothing before it is placed, nothing after the end."""
    device = PAN_DEVICES[plan.device]
    inside = at_ms[(at_ms >= plan.placed_ms) & (at_ms < plan.end_ms)]
    return simulate_pan(plan.pan, rooms, device.sensor, device.code, inside, seed, placed_ms=plan.placed_ms)


def first_of_history(t0_ms: int) -> int:
    """Return where the two weeks begin."""
    return t0_ms - t0_ms % MS_PER_MINUTE - HISTORY_DAYS * MS_PER_DAY
