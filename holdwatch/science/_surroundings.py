"""What the surroundings of cooling food may be: measured, told, or one of the kinds there are in and around a kitchen."""

import math
from dataclasses import dataclass

import numpy as np

from holdwatch.clock import MS_PER_HOUR
from holdwatch.readings import Series
from holdwatch.science._cooling import EXCESS, LN_RATE, LN_TAU, Array, Prior

__all__ = ["COLDEST_C", "MEASURED_SD_C", "WARMEST_C", "Heading", "heading", "known", "unknown", "within_bounds"]

COLDEST_C, WARMEST_C = -30.0, 35.0
"""What the air or bath around cooling food can be, if nobody measures it: ours."""
MEASURED_SD_C = 0.5
"""How far measured air may be from what the food feels: its cycle, its place, its probe. Ours."""
_FAR_SD_C, _FAR_SHARE = 3.0, 0.1
"""One in ten is off by more: another corner, a probe on the wall, air that still settles. Ours."""

_FEWEST = 5
_OVER_MS = 2 * MS_PER_HOUR
_AIR_SD_C = 0.6
_AIR_INDEPENDENT = 20
_START_SD_C = 6.0
_TAUS_H = (0.08, 0.16, 0.33, 0.66)

_KINDS = np.array(
    [
        # air: middle, spread, share; rate: logarithm of the middle [1/h], spread; start of the air above: middle, spread
        (-18.0, 3.0, 0.06, -0.5, 1.0, 3.0, 3.0),  # freezer
        (-6.0, 5.0, 0.12, -0.2, 0.9, 9.0, 6.0),  # blast chiller, pulled down with its door just shut
        (0.8, 0.8, 0.12, 0.0, 0.9, 0.3, 0.7),  # ice bath
        (3.0, 1.6, 0.38, -0.9, 1.0, 1.5, 1.5),  # walk-in, reach-in
        (14.0, 5.0, 0.04, -0.9, 1.0, 0.0, 1.0),  # cellar, cold kitchen
        (22.5, 3.0, 0.25, -1.5, 0.9, 0.0, 0.5),  # bench
        (28.0, 4.0, 0.03, -1.5, 0.9, 0.0, 0.5),  # bench beside the ovens
    ]
).T
"""Ours: where food is cooled, how often, and how fast it cools there (surface coefficients of 5 to 25 W/m²K in still
air, 15 to 60 in a blast chiller, 100 and more in a bath; depths of 2 to 18 cm)."""


@dataclass(frozen=True)
class Heading:
    """Where measured air settles, and how far above that it was at the start."""

    settles_c: float
    sd_c: float
    excess_c: float
    tau_h: float


def heading(air: Series, start_ms: int, now_ms: int) -> Heading | None:
    """Fit air that settles exponentially; its cycle is its noise. ``None`` with too few readings since the start."""
    seen = air.between(max(start_ms, now_ms - _OVER_MS), now_ms)
    if len(seen) < _FEWEST:
        return None
    hours = (seen.at_ms - start_ms) / MS_PER_HOUR
    lately = np.exp(hours - hours[-1])
    scale = min(len(hours), _AIR_INDEPENDENT) / (len(hours) * _AIR_SD_C**2)
    mean = float(seen.celsius.mean())
    likeliest: tuple[float, Heading] | None = None
    for tau_h in _TAUS_H:
        basis = np.stack([np.ones(len(hours)), np.exp(-hours / tau_h)], axis=1)
        normal = scale * basis.T @ (lately[:, None] * basis)
        normal[1, 1] += _START_SD_C**-2
        settles, excess = np.linalg.solve(normal, scale * basis.T @ (lately * (seen.celsius - mean)))
        off = seen.celsius - mean - basis @ np.array([settles, excess])
        cost = scale * float(lately @ off**2) + (excess / _START_SD_C) ** 2
        if likeliest is None or cost < likeliest[0]:
            sd = math.sqrt(float(np.linalg.inv(normal)[0, 0]))
            likeliest = cost, Heading(mean + float(settles), sd, float(excess), tau_h)
    return likeliest[1] if likeliest is not None else None


def known(around_c: float, course: Heading | None, start_c: float) -> Prior:
    """Return what is known where the surroundings are measured or told: as told, or, seldom, a good deal off."""
    middle = around_c if course is None else course.settles_c
    near = MEASURED_SD_C if course is None else math.hypot(MEASURED_SD_C, course.sd_c)
    prior = Prior.of(np.full(2, middle), np.array([near, _FAR_SD_C]), np.array([1.0 - _FAR_SHARE, _FAR_SHARE]), start_c)
    if course is not None:
        prior.know(EXCESS, course.excess_c, 1.0)
        prior.know(LN_TAU, math.log(course.tau_h), 0.5)
    return prior


def unknown(start_c: float) -> Prior:
    """Return what is known where nobody measures the surroundings: the kinds there are."""
    around, around_sd, share, rate, rate_sd, excess, excess_sd = (np.asarray(row, dtype=np.float64) for row in _KINDS)
    prior = Prior.of(around, around_sd, share, start_c)
    prior.know(LN_RATE, rate, rate_sd)
    prior.know(EXCESS, excess, excess_sd)
    return prior


def within_bounds(around: Array) -> Array:
    """Keep drawn surroundings within what they can be."""
    return np.asarray(np.clip(around, COLDEST_C, WARMEST_C), dtype=np.float64)
