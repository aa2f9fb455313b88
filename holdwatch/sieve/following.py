"""A food probe that follows the air: it swings with the compressor as only something light can.

Food that has cooled to the temperature of its unit is no ground for doubt; food that swings as far as the air,
at the same time as the air, and about as warm, is. All figures here are ours, from no code of practice.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.quantities import span_c
from holdwatch.readings import Series

__all__ = ["air_followed"]

WINDOW_MS = 20 * MS_PER_MINUTE
COVERED_MS = 15 * MS_PER_MINUTE  # of the window, at least
READINGS = 8  # in the window, at least
AIR_AGE_MS = 10 * MS_PER_MINUTE  # an air reading speaks for so long
AIR_SWING_C = span_c(1)  # standard deviation; less tells nothing
SWING_SHARE = 0.8
ALIKE = 0.95  # correlation
NEAR_C = span_c(4)


def air_followed(series: Series, air: Series, settled: Sequence[int]) -> list[tuple[int, int]]:
    """Return the stretches (first index, one past the last) in which a food probe followed the air.

    Parameters
    ----------
    series : the food probe.
    air : the air around it; without it nothing can be said.
    settled : instants at which the probe was known to be in the food: no stretch reaches across one. [ms]
    """
    at = series.at_ms
    if len(at) < READINGS or len(air) < 2:  # noqa: PLR2004 - one air reading shows no swing
        return []
    low = np.searchsorted(at, at - WINDOW_MS, side="left")
    for instant in settled:
        low = np.where(at >= instant, np.maximum(low, np.searchsorted(at, instant, side="left")), low)
    follows = _alike(series, air, low) & (at - at[low] >= COVERED_MS) & (np.arange(len(at)) - low + 1 >= READINGS)
    stretches: list[tuple[int, int]] = []
    for index in np.flatnonzero(follows).tolist():
        first = int(low[index])
        if stretches and first < stretches[-1][1]:
            stretches[-1] = (stretches[-1][0], index + 1)
        else:
            stretches.append((first, index + 1))
    return stretches


def _alike(series: Series, air: Series, low: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return for the window that ends at each reading whether probe and air moved as one."""
    at = series.at_ms
    beside = np.interp(at, air.at_ms, air.celsius)
    after = np.minimum(np.searchsorted(air.at_ms, at, side="left"), len(air) - 1)
    age = np.minimum(np.abs(air.at_ms[after] - at), np.abs(air.at_ms[np.maximum(after - 1, 0)] - at))
    food, around = series.celsius - series.celsius.mean(), beside - series.celsius.mean()
    stop = np.arange(len(at)) + 1
    count = stop - low

    def mean(values: NDArray[np.float64]) -> NDArray[np.float64]:
        total = np.concatenate(([0.0], np.cumsum(values)))
        result: NDArray[np.float64] = (total[stop] - total[low]) / count
        return result

    mean_food, mean_air = mean(food), mean(around)
    spread_food = np.sqrt(np.maximum(mean(food**2) - mean_food**2, 0.0))
    spread_air = np.sqrt(np.maximum(mean(around**2) - mean_air**2, 0.0))
    together = mean(food * around) - mean_food * mean_air
    known = mean((age <= AIR_AGE_MS).astype(np.float64)) >= 1.0
    result: NDArray[np.bool_] = (
        known
        & (spread_air >= AIR_SWING_C)
        & (spread_food >= SWING_SHARE * spread_air)
        & (together >= ALIKE * spread_food * spread_air)
        & (np.abs(mean_food - mean_air) <= NEAR_C)
    )
    return result
