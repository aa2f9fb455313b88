"""Chance that can be asked again: the same seed, name and instant always give the same number.

A simulated kitchen can so be entered at any instant, and left and entered again, without keeping any state.
"""

import itertools
import zlib
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

__all__ = ["happenings", "normals", "uniforms"]

Array = NDArray[np.float64]
Instants = NDArray[np.int64]

HOUR_MS = 3_600_000
_SECONDS = 3600


def _generator(seed: int, name: str, hour: int) -> np.random.Generator:
    """Return the generator of one hour of one thing."""
    return np.random.default_rng([seed, zlib.crc32(name.encode()), hour & 0xFFFFFFFF])


def _by_hour(at_ms: Instants) -> Iterator[tuple[int, slice, NDArray[np.int64]]]:
    """Split rising instants by hour: the hour, where its instants stand, and their seconds within it."""
    if len(at_ms) == 0:
        return
    hours = at_ms // HOUR_MS
    begins = np.concatenate([[0], np.flatnonzero(np.diff(hours)) + 1, [len(hours)]])
    for first, end in itertools.pairwise(begins):
        part = slice(int(first), int(end))
        yield int(hours[first]), part, (at_ms[part] % HOUR_MS) // 1000


def normals(seed: int, name: str, at_ms: Instants) -> Array:
    """Return a standard normal number for each instant (to the second) of a thing's own."""
    drawn = np.empty(len(at_ms))
    for hour, part, second in _by_hour(at_ms):
        drawn[part] = _generator(seed, name, hour).standard_normal(_SECONDS)[second]
    return drawn


def uniforms(seed: int, name: str, at_ms: Instants) -> Array:
    """Return a number from 0 up to 1 for each instant (to the second) of a thing's own."""
    drawn = np.empty(len(at_ms))
    for hour, part, second in _by_hour(at_ms):
        drawn[part] = _generator(seed, name, hour).random(_SECONDS)[second]
    return drawn


def happenings(seed: int, name: str, first_hour: int, last_hour: int, per_hour: Array) -> Iterator[tuple[int, float]]:
    """Yield (instant in ms, size from 0.5 to 1.5) of what happens by chance.

    `per_hour` holds how often it happens in each of the 24 hours of the day (UTC); hours are counted since 1970.
    """
    for hour in range(first_hour, last_hour + 1):
        generator = _generator(seed, name, hour)
        for share in np.sort(generator.random(int(generator.poisson(per_hour[hour % 24])))):
            yield hour * HOUR_MS + int(share * HOUR_MS), float(generator.uniform(0.5, 1.5))
