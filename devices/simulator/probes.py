"""What a probe makes of a temperature: lag, noise, steps, and readings that get lost."""

from dataclasses import dataclass

import numpy as np

from devices.simulator.chance import Array, Instants, normals, uniforms

__all__ = ["DIGITAL", "THERMISTOR", "Sensor", "lost", "read"]

_BLOCK_MS = 600_000


@dataclass(frozen=True)
class Sensor:
    """How a kind of probe errs."""

    step_c: float
    """The smallest step it tells. [°C]"""
    noise_c: float
    lag_s: float
    drop: float = 0.003
    """Share of readings that are lost one by one."""
    outage: float = 0.002
    """Share of ten-minute blocks in which all readings are lost."""


DIGITAL = Sensor(step_c=1 / 16, noise_c=0.03, lag_s=25)
"""A digital chip in a steel sleeve: 12 bits, 1/16 °C (Maxim DS18B20 data sheet, table "Temperature/Data Relationship")."""
THERMISTOR = Sensor(step_c=0.01, noise_c=0.05, lag_s=8)
"""A thin thermistor needle, read by a converter with more bits than it is true."""


def read(sensor: Sensor, name: str, at_ms: Instants, true_c: Array, seed: int) -> Array:
    """Return what the probe says of the true temperatures, lag already in them, in °C."""
    noisy = true_c + sensor.noise_c * normals(seed, f"noise of {name}", at_ms)
    return np.asarray(np.round(noisy / sensor.step_c) * sensor.step_c, dtype=np.float64)


def lost(sensor: Sensor, name: str, at_ms: Instants, seed: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return which readings never leave the probe."""
    single = uniforms(seed, f"loss of {name}", at_ms) < sensor.drop
    blocks, place = np.unique(at_ms // _BLOCK_MS, return_inverse=True)
    out = uniforms(seed, f"outage of {name}", blocks * _BLOCK_MS) < sensor.outage
    return np.asarray(single | out[place], dtype=np.bool_)
