"""Which part of a record the forecast looks at: since the food was hot and since it was moved, in a few blocks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.readings import Series
from holdwatch.science._cooling import AROUND, LAG, LN_RATE, SPEED, START, Array, Fit, Prior, fit

__all__ = ["Stretch", "cooling_part", "know_of_move", "stretches_of"]

MOST_BLOCKS = 30
_WARMEST_C = 0.5
_LEVEL_MS = 40 * MS_PER_MINUTE
"""So long the middle of a thick pan may stay as warm as it was; warm for longer, it was kept hot."""
_NOISE_C = 0.2
"""A food probe's own noise and lag, and what one curve leaves out of a real one."""
_FADING = 0.03
"""What a curve leaves out grows with how much warmer the food was then."""
_INDEPENDENT = 12.0
"""Errors of neighbours go together: so many blocks count as separate."""
_BLOCKS_FOR_MOVES = 20
_TRIED_MOVES = 10
_SHARPER = 0.7
"""Whether it was moved is asked with less noise than where it goes: the difference lies in the shape."""
_UNLIKELY_MOVE = 0.05
_LEAST_BLOCKS = 3
_MOVE_COST = 3.0
"""So much likelier (as a logarithm) two places must be than one before a move is believed that nobody declared."""
_FASTER = 1.15
"""A move that nobody declared is believed only where the food falls so many times as fast after it."""
_ANYWHERE_C, _ANYWHERE_SD_C = 8.0, 12.0
_BEFORE_C, _BEFORE_SD_C = 18.0, 10.0
_MOVED_LAG = (0.12, 0.08)
_MOVED_SPEED = (-0.6, 0.4)
_MOVED_RATE = (0.4, 0.5)
"""Ours: after a move the middle has its curved beginning behind it, all but the part that the new air adds; and the new
place cools 1.5 times as fast as the old, give or take a factor of 1.65."""


@dataclass(frozen=True)
class Stretch:
    """The readings since the food stands where it is, averaged in blocks."""

    start_ms: int
    hours: Array
    """Since the start, shape (n,). [h]"""
    celsius: Array
    noise_c: Array
    moved: bool = False
    """Whether it was cooling already when it came here."""
    rate_before: float | None = None
    """Logarithm of its rate in the place before, if that was seen. [1/h]"""
    found: bool = False
    """Whether the readings alone tell of the move."""


def cooling_part(series: Series, first_ms: int, now_ms: int) -> Series:
    """Keep what was read from `first_ms` on and since it was warmest; of two values at an instant the warmer."""
    seen = series.between(first_ms, now_ms)
    if len(seen) == 0:
        return seen
    at_ms, starts = np.unique(seen.at_ms, return_index=True)
    celsius = np.maximum.reduceat(seen.celsius, starts)
    warm = np.flatnonzero(celsius >= celsius.max() - _WARMEST_C)
    begin = int(warm[np.argmax(at_ms[warm] >= at_ms[warm[-1]] - _LEVEL_MS)])
    return Series(at_ms[begin:], celsius[begin:])


def stretches_of(
    series: Series, cooling: Series, moved_ms: int | None, around_c: float | None, around_sd_c: float
) -> list[tuple[Stretch, float]]:
    """Return what to fit, and how likely: from the last declared move on, or from one that the readings tell of."""
    whole = _blocks(cooling)
    early = cooling_part(series, -(2**62), moved_ms) if moved_ms is not None else Series.empty()
    if len(early) < _LEAST_BLOCKS or early.celsius[0] - early.celsius[-1] < 2 * _WARMEST_C:
        return _with_found_move(whole, around_c, around_sd_c)
    before = _blocks(early)
    known = Prior.of(np.array([_BEFORE_C]), np.array([_BEFORE_SD_C]), np.ones(1), float(before.celsius[0]))
    rate = float(fit(before.hours, before.celsius, before.noise_c, known).best[0, LN_RATE])
    return [(Stretch(whole.start_ms, whole.hours, whole.celsius, whole.noise_c, moved=True, rate_before=rate), 1.0)]


def know_of_move(prior: Prior, stretch: Stretch) -> None:
    """Write down what a move tells of the course after it."""
    if stretch.moved:
        prior.know(LAG, *_MOVED_LAG)
        prior.know(SPEED, *_MOVED_SPEED)
    if stretch.rate_before is not None:
        prior.know(LN_RATE, stretch.rate_before + _MOVED_RATE[0], _MOVED_RATE[1])


def _blocks(series: Series) -> Stretch:
    """Average the readings in at most so many blocks of equal time, and say how far each may be off."""
    hours = (series.at_ms - series.at_ms[0]) / MS_PER_HOUR
    celsius, count = series.celsius, np.ones(len(hours))
    steps = np.diff(np.unique(celsius))
    if len(hours) > MOST_BLOCKS:
        edges = np.linspace(0.0, hours[-1], MOST_BLOCKS + 1)[1:-1]
        block = np.searchsorted(edges, hours, side="right")
        count = np.bincount(block, minlength=MOST_BLOCKS).astype(np.float64)
        filled = count > 0
        hours, celsius = (
            (np.bincount(block, values, minlength=MOST_BLOCKS)[filled] / count[filled]) for values in (hours, celsius)
        )
        count = count[filled]
    step = float(steps.min()) if len(steps) else 0.1
    fading = _FADING * (celsius - celsius[-1])
    noise = np.sqrt(_NOISE_C**2 / np.minimum(count, 4) + step**2 / 12 + fading**2)
    together = max(1.0, float(np.sqrt(len(hours) / _INDEPENDENT)))
    return Stretch(int(series.at_ms[0]), hours, celsius, noise * together)


def _with_found_move(whole: Stretch, around_c: float | None, around_sd_c: float) -> list[tuple[Stretch, float]]:
    """Ask how likely two places explain the readings better than one, and return what was read in the second too."""
    every = max(1, -(-len(whole.hours) // _BLOCKS_FOR_MOVES))
    seen = np.arange(len(whole.hours))[::-every][::-1]
    if len(seen) < 2 * _LEAST_BLOCKS + 2:
        return [(whole, 1.0)]
    cuts = np.unique(np.linspace(_LEAST_BLOCKS, len(seen) - _LEAST_BLOCKS, _TRIED_MOVES).astype(int))
    hours, celsius = whole.hours[seen], whole.celsius[seen]
    tried = _try_moves(hours, celsius, _SHARPER * whole.noise_c[seen], cuts, (around_c, around_sd_c))
    after, before = slice(1, 1 + len(cuts)), slice(1 + len(cuts), None)
    rates = _fall_per_hour(tried.best[1:], np.tile(celsius[cuts], 2)).reshape(2, -1)
    both = tried.score[after] + tried.score[before] - tried.score[0] - _MOVE_COST
    likeliest = int(np.argmax(both))
    if rates[0, likeliest] < _FASTER * rates[1, likeliest]:
        return [(whole, 1.0)]
    cut = int(seen[cuts[likeliest]])
    second = Stretch(
        whole.start_ms + round(float(whole.hours[cut]) * MS_PER_HOUR),
        whole.hours[cut:] - whole.hours[cut],
        whole.celsius[cut:],
        whole.noise_c[cut:],
        moved=True,
        rate_before=float(tried.best[before][likeliest, LN_RATE]),
        found=True,
    )
    moved = float(1.0 / (1.0 + np.exp(-np.clip(both[likeliest], -50.0, 50.0))))
    found = [(whole, 1.0 - moved), (second, moved)]
    return [(stretch, share) for stretch, share in found if share > _UNLIKELY_MOVE]


def _fall_per_hour(parameters: Array, celsius: Array) -> Array:
    """Return how fast food of that temperature falls in the surroundings of each fit. [°C/h]."""
    return np.asarray(np.exp(parameters[:, LN_RATE]) * (celsius - parameters[:, AROUND]), dtype=np.float64)


def _try_moves(
    hours: Array, celsius: Array, noise_c: Array, cuts: NDArray[np.int_], around: tuple[float | None, float]
) -> Fit:
    """Fit the whole, then what follows each cut, then what comes before it."""
    moves = len(cuts)
    after, before = slice(1, 1 + moves), slice(1 + moves, None)
    since, noise = (np.tile(row, (1 + 2 * moves, 1)) for row in (hours, noise_c))
    since[after] -= hours[cuts][:, None]
    earlier = np.arange(len(hours)) < cuts[:, None]
    noise[after][earlier] = np.inf
    noise[before][~earlier] = np.inf
    here_c, here_sd_c = (_ANYWHERE_C, _ANYWHERE_SD_C) if around[0] is None else (around[0], around[1])
    rows = np.ones(1 + 2 * moves)
    known = Prior.of(here_c * rows, here_sd_c * rows, rows, float(celsius[0]))
    known.share[:] = 1.0  # a whole course is one likelihood, two parts of one are two
    known.middle[after, START] = celsius[cuts]
    known.know(LAG, *_MOVED_LAG, rows=after)
    known.know(SPEED, *_MOVED_SPEED, rows=after)
    known.know(AROUND, _BEFORE_C, _BEFORE_SD_C, rows=before)
    return fit(since, celsius, noise, known)
