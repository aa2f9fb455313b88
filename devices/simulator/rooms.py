"""The air of a kitchen's units: compressor cycle, defrost, doors, and now and then a fault.

The air is a function of seed and instant alone, so it may be asked for any span, in any order.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from devices.simulator.chance import HOUR_MS, Array, Instants, happenings

__all__ = ["Fault", "Room", "air", "lagged"]

MINUTE_MS = 60_000
_GRID_S = 60
_FORGOTTEN = 9.0  # time constants after which a disturbance is not felt any more


@dataclass(frozen=True)
class Fault:
    """A span in which the machine does not cool (or heat) and the air drifts towards another temperature."""

    from_ms: int
    to_ms: int
    towards_c: float
    tau_min: float = 45.0


@dataclass(frozen=True)
class Room:
    """A unit, a room or a bath, as its air (or water) behaves."""

    name: str
    set_c: float
    swing_c: float = 0.0
    """Half of what the compressor's cycle moves the air."""
    period_min: float = 15.0
    defrost_hours: tuple[int, ...] = ()
    """Hours of the day (UTC) at which a defrost begins."""
    defrost_min: float = 20.0
    defrost_rise_c: float = 0.0
    doors_per_hour: float = 0.0
    busy_hours: tuple[int, int] = (0, 24)
    """From and up to which hour (UTC) people work; the second may be above 24. Doors stay shut otherwise."""
    door_rise_c: float = 0.0
    door_tau_min: float = 4.0
    faults: tuple[Fault, ...] = ()


def _cycle(room: Room, at_ms: Instants) -> Array:
    """Return the compressor's saw: quick down while it runs, slow up while it rests."""
    turns = at_ms / (room.period_min * MINUTE_MS)
    # the period wanders a little with the load, so that no two days look alike
    turns = (
        turns
        + 0.3 * np.sin(2 * math.pi * at_ms / (5.7 * HOUR_MS))
        + 0.2 * np.sin(2 * math.pi * at_ms / (1.3 * HOUR_MS))
    )
    phase = turns % 1.0
    running = 0.4
    saw = np.where(phase < running, 1 - 2 * phase / running, -1 + 2 * (phase - running) / (1 - running))
    return np.asarray(room.swing_c * saw, dtype=np.float64)


def _pulses(room: Room, first_ms: int, last_ms: int, seed: int) -> Iterator[tuple[int, int, float, float, float]]:
    """Yield what disturbs the air: from, to (ms), the rise it tends to, and its time constants up and down (min)."""
    for fault in room.faults:
        yield fault.from_ms, fault.to_ms, fault.towards_c - room.set_c, fault.tau_min, fault.tau_min / 2
    first_hour, last_hour = (first_ms - 6 * HOUR_MS) // HOUR_MS, last_ms // HOUR_MS
    if room.defrost_rise_c:
        for hour in range(first_hour, last_hour + 1):
            if hour % 24 in room.defrost_hours:
                begin = hour * HOUR_MS
                yield begin, begin + int(room.defrost_min * MINUTE_MS), room.defrost_rise_c, room.defrost_min / 2, 6.0
    if room.doors_per_hour:
        opened, shut = room.busy_hours
        busy = np.array([any(opened <= h + 24 * d < shut for d in (0, 1)) for h in range(24)], dtype=np.float64)
        for at, size in happenings(seed, f"door of {room.name}", first_hour, last_hour, room.doors_per_hour * busy):
            yield (
                at,
                at + int(40_000 * size),
                room.door_rise_c * size / (1 - math.exp(-1)),
                0.67 * size,
                room.door_tau_min,
            )


def air(room: Room, at_ms: Instants, seed: int) -> Array:
    """Return the temperature of a room's air at rising instants, in °C."""
    celsius = room.set_c + _cycle(room, at_ms) + 0.15 * np.sin(2 * math.pi * at_ms / (24 * HOUR_MS))
    if len(at_ms) == 0:
        return celsius
    for begin, end, rise, up_min, down_min in _pulses(room, int(at_ms[0]), int(at_ms[-1]), seed):
        low = int(np.searchsorted(at_ms, begin))
        high = int(np.searchsorted(at_ms, end + _FORGOTTEN * down_min * MINUTE_MS))
        if low == high:
            continue
        since = at_ms[low:high] - begin
        grown = 1 - np.exp(-np.minimum(since, end - begin) / (up_min * MINUTE_MS))
        faded = np.exp(-np.maximum(at_ms[low:high] - end, 0) / (down_min * MINUTE_MS))
        celsius[low:high] += rise * grown * faded
    return celsius


def lagged(room: Room, at_ms: Instants, seed: int, tau_s: float) -> Array:
    """Return what follows a room's air with a lag: a sensor's metal, or food that has stood there for long, in °C."""
    if len(at_ms) == 0:
        return np.empty(0)
    step_ms = _GRID_S * 1000
    first = (int(at_ms[0]) - int(_FORGOTTEN * tau_s * 1000)) // step_ms
    grid: NDArray[np.int64] = np.arange(first, int(at_ms[-1]) // step_ms + 2, dtype=np.int64) * step_ms
    around = air(room, grid, seed)
    follow = 1 - math.exp(-_GRID_S / max(tau_s, 1.0))
    felt = np.empty_like(around)
    now = float(around[0])
    for n, value in enumerate(around.tolist()):
        now += follow * (value - now)
        felt[n] = now
    return np.interp(at_ms, grid, felt)
