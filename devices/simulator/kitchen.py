"""A kitchen's temperatures as arrays: what stands in a unit, and pans that cool.

Everything is a function of its plan, the seed and the instants asked for.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from devices.simulator.chance import Array, Instants
from devices.simulator.foods import Food
from devices.simulator.probes import Sensor, lost, read
from devices.simulator.rooms import Room, air, lagged
from devices.simulator.slab import cool_layer

__all__ = ["Pan", "Readings", "Stay", "pan_true", "simulate_pan", "simulate_unit"]

Readings = tuple[Instants, Array]
"""Instants in ms and temperatures in °C, as a probe tells them."""

STEP_MS = 20_000
HAND_C = 22.0
"""What a probe reads before it is put into food. [°C]"""


@dataclass(frozen=True)
class Stay:
    """Where a pan stands from an instant on, and how well it gives off its heat there."""

    from_ms: int
    room: str
    h_w_m2k: float


@dataclass(frozen=True)
class Pan:
    """A layer of hot food on its way: first in one place, then in others."""

    food: Food
    depth_m: float
    start_c: float
    stays: tuple[Stay, ...]
    both_faces: bool = True
    probe_at: float = 0.1

    @property
    def start_ms(self) -> int:
        """The instant at which the whole of it has `start_c`."""
        return self.stays[0].from_ms


def simulate_unit(
    room: Room, sensor: Sensor, name: str, at_ms: Instants, seed: int, *, tau_s: float | None = None
) -> Readings:
    """Return what a probe in a unit tells: of the air, or (with the time constant `tau_s`) of food that stands there."""
    true = lagged(room, at_ms, seed, sensor.lag_s if tau_s is None else tau_s)
    return _told(sensor, name, at_ms, true, seed)


def pan_true(pan: Pan, rooms: Mapping[str, Room], until_ms: int, seed: int) -> Readings:
    """Return the true temperature at the probe's place from the pan's start to `until_ms`, every 20 s."""
    count = max(0, -(-(until_ms - pan.start_ms) // STEP_MS))
    grid = pan.start_ms + STEP_MS * np.arange(count + 1, dtype=np.int64)
    middle = grid[:-1] + STEP_MS // 2
    around, h = np.empty(count), np.empty(count)
    ends = [*(stay.from_ms for stay in pan.stays[1:]), until_ms + STEP_MS]
    for stay, end in zip(pan.stays, ends, strict=True):
        here = slice(int(np.searchsorted(middle, stay.from_ms)), int(np.searchsorted(middle, end)))
        around[here], h[here] = air(rooms[stay.room], middle[here], seed), stay.h_w_m2k
    celsius = cool_layer(
        pan.food,
        depth_m=pan.depth_m,
        both_faces=pan.both_faces,
        start_c=pan.start_c,
        air_c=around,
        h_w_m2k=h,
        step_s=STEP_MS / 1000,
        probe_at=pan.probe_at,
    )
    return grid, celsius


def simulate_pan(
    pan: Pan, rooms: Mapping[str, Room], sensor: Sensor, name: str, at_ms: Instants, seed: int, *, placed_ms: int
) -> Readings:
    """Return what a probe tells that is put into the pan at `placed_ms`: nothing before, then first its own settling."""
    asked = at_ms[at_ms >= max(placed_ms, pan.start_ms)]
    if len(asked) == 0:
        return asked, np.empty(0)
    grid, celsius = pan_true(pan, rooms, int(asked[-1]), seed)
    true = np.interp(asked, grid, celsius)
    settling = np.exp(-(asked - placed_ms) / (sensor.lag_s * 1000))
    return _told(sensor, name, asked, true + (HAND_C - true) * settling, seed)


def _told(sensor: Sensor, name: str, at_ms: Instants, true_c: Array, seed: int) -> Readings:
    """Return the readings that leave the probe."""
    kept = ~lost(sensor, name, at_ms, seed)
    return at_ms[kept], read(sensor, name, at_ms, true_c, seed)[kept]
