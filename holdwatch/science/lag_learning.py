"""How slowly the food in a unit follows its air, learned from a probe in each."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _, decimals
from holdwatch.readings import Series
from holdwatch.science.foodlag import LONGEST_GAP_MIN, lagged_c

__all__ = ["FoodLag", "learn_lag"]

Array = NDArray[np.float64]

SHORTEST_PAIR_MIN = 180.0
FEWEST_PAIRED = 24
SMALLEST_SWING_C = 0.4
"""Ours: with food that moves less than this there is nothing to learn from."""
LARGEST_OFFSET_C = 2.0
"""What two thermometers may differ by: FDA Food Code 4-203.11 and .12, 1 and 1.5 °C, about two together."""
LARGEST_MISS_C = 1.0
WIDEST = 2.5
"""Ours: an interval whose ends are further apart than this factor settles nothing."""
_SHARE_INDEPENDENT = 0.1  # neighbouring residuals go together: so many of them count as separate
_FEWEST_INDEPENDENT = 8.0
_CHI2_90 = 2.706  # of one free figure
_SMALLEST_MISS_C = 0.02  # no record is better than the step of its probes
_LEAST_DOUBT = 0.05  # relative; one lag is never quite the food's
_GRID_MIN = np.geomspace(3.0, 600.0, 40)


@dataclass(frozen=True)
class FoodLag:
    """How slowly the food in a place follows its air; `lag_min` is ``None`` where the record does not settle it."""

    lag_min: float | None
    low_min: float | None
    high_min: float | None
    """Nine times of ten it lies between these."""
    offset_c: float | None
    """How far the food's probe is above the air's in the long run."""
    miss_c: float | None
    """Root mean square of what is left."""
    reason: str


def learn_lag(air: Series, food: Series) -> FoodLag:
    r"""Learn how slowly food follows its air, from a probe in each.

    Least squares over τ of :math:`T_{food} = \mathrm{lag}_\tau(T_{air}) + b + c\,e^{-t/\tau}`; b is bounded to what two
    thermometers may differ by, c is the food's own beginning. The surroundings are the measured air: nothing else is
    free, for a fit with free surroundings runs away.

    Parameters
    ----------
    air, food : Series. [ms, °C], of one unit.

    Returns
    -------
    FoodLag

    Raises
    ------
    OutOfRangeError
        If a temperature of the air is outside −60 to 300 °C.

    Notes
    -----
    Learned from the longest stretch without a hole of more than 20 min in the air. No answer, with its reason, where the
    two share less than three hours or 24 readings of the food, where the food hardly moves, where it does not follow
    this air within 1 °C, or where the interval is wider than a factor of 2.5. Candidates from 3 to 600 min.

    Examples
    --------
    >>> import numpy as np
    >>> at = np.arange(0, 12 * 60, 2.0)
    >>> air = 3 + 6 * ((at % 240) < 30)
    >>> food = lagged_c(at, air, lag_min=70)
    >>> made = learn_lag(Series((at * 60_000).astype(np.int64), air), Series((at * 60_000).astype(np.int64), food))
    >>> round(made.lag_min)
    70

    References
    ----------
    The lag as in `lagged_c`; the profile of the sum of squares as in D. M. Bates, D. G. Watts, *Nonlinear Regression
    Analysis and Its Applications*, Wiley 1988, section 6.1.
    """
    air_part, food_part = _shared(air, food)
    span_min = (int(food_part.at_ms[-1]) - int(food_part.at_ms[0])) / MS_PER_MINUTE if len(food_part) else 0.0
    if len(food_part) < FEWEST_PAIRED or span_min < SHORTEST_PAIR_MIN:
        said = _("air and food were read together for {hours} h, {count} times: too little yet")
        return _no(said.format(hours=decimals(f"{span_min / 60:.1f}"), count=len(food_part)))
    fit = _Fit.of(air_part, food_part)
    missed = np.array([fit.missed(lag) for lag in _GRID_MIN])
    best = _refined(fit, int(missed.argmin()))
    least, offset, swing = fit.solved(best)
    miss = math.sqrt(least / len(food_part))
    if swing < SMALLEST_SWING_C:
        said = _("the food moved by {swing} °C with its air: too little to learn from")
        return _no(said.format(swing=decimals(f"{swing:.1f}")))
    if miss > LARGEST_MISS_C or abs(offset) >= LARGEST_OFFSET_C:
        return _no(_("the food does not follow this air: look where the two probes stand"))
    low, high = _interval(fit, best, least)
    if low is None or high is None or high / low > WIDEST:
        return _no(_("the record does not settle it yet: it needs a defrost, a busy door or a warm hour"))
    words = _("learned from {hours} h of air and food together").format(hours=f"{span_min / 60:.0f}")
    return FoodLag(best, low, high, offset, miss, words)


def _no(reason: str) -> FoodLag:
    return FoodLag(None, None, None, None, None, reason)


def _shared(air: Series, food: Series) -> tuple[Series, Series]:
    """Return the longest stretch of air without a hole, and the food's readings in it."""
    if not len(air) or not len(food):
        return Series.empty(), Series.empty()
    breaks = np.flatnonzero(np.diff(air.at_ms) > LONGEST_GAP_MIN * MS_PER_MINUTE) + 1
    ends = [(int(part[0]), int(part[-1])) for part in np.split(air.at_ms, breaks)]
    pairs = [(air.between(*span), food.between(*span)) for span in ends]
    return max(pairs, key=lambda pair: int(pair[1].at_ms[-1] - pair[1].at_ms[0]) if len(pair[1]) else -1)


@dataclass(frozen=True, eq=False)
class _Fit:
    """Air and food on one grid of instants."""

    at: Array
    air: Array
    places: NDArray[np.intp]
    food: Array

    @classmethod
    def of(cls, air: Series, food: Series) -> "_Fit":
        """Lay both on the union of their instants; of two foods at one instant the mean."""
        food_ms, back = np.unique(food.at_ms, return_inverse=True)
        celsius = np.bincount(back, weights=food.celsius) / np.bincount(back)
        air_ms, first = np.unique(air.at_ms, return_index=True)
        grid = np.union1d(air_ms, food_ms)
        at = (grid - grid[0]) / MS_PER_MINUTE
        return cls(at, np.interp(grid, air_ms, air.celsius[first]), np.searchsorted(grid, food_ms), celsius)

    def missed(self, lag_min: float) -> float:
        """Return the sum of squares that a lag leaves."""
        return self.solved(lag_min)[0]

    def solved(self, lag_min: float) -> tuple[float, float, float]:
        """Return the sum of squares, the offset, and how far the air moved the food. [°C², °C, °C]."""
        driven = lagged_c(self.at, self.air, lag_min=lag_min)[self.places]
        own = np.exp(-self.at[self.places] / lag_min)
        rest = self.food - driven
        (offset, begin), *_ = np.linalg.lstsq(np.column_stack([np.ones_like(own), own]), rest, rcond=None)
        if abs(offset) > LARGEST_OFFSET_C:
            offset = math.copysign(LARGEST_OFFSET_C, offset)
            begin = float(own @ (rest - offset) / (own @ own))
        left = rest - offset - begin * own
        return float(left @ left), float(offset), float(np.ptp(driven))


def _refined(fit: _Fit, best: int) -> float:
    """Search between the neighbours of the best candidate, by thirds of the logarithm."""
    low = math.log(_GRID_MIN[max(best - 1, 0)])
    high = math.log(_GRID_MIN[min(best + 1, len(_GRID_MIN) - 1)])
    while high - low > 1e-3:  # noqa: PLR2004  a thousandth of τ
        third = (high - low) / 3
        if fit.missed(math.exp(low + third)) <= fit.missed(math.exp(high - third)):
            high -= third
        else:
            low += third
    return math.exp((low + high) / 2)


def _interval(fit: _Fit, best: float, least: float) -> tuple[float | None, float | None]:
    """Return between which lags the sum of squares stays near its least; ``None`` where it never rises."""
    count = len(fit.food)
    separate = max(_FEWEST_INDEPENDENT, _SHARE_INDEPENDENT * count)
    level = max(least, _SMALLEST_MISS_C**2 * count) * (1.0 + _CHI2_90 / separate)
    low, high = (_crossing(fit, best, end, level) for end in (_GRID_MIN[0], _GRID_MIN[-1]))
    widened = math.exp(_LEAST_DOUBT)
    return None if low is None else min(low, best / widened), None if high is None else max(high, best * widened)


def _crossing(fit: _Fit, best: float, end: float, level: float) -> float | None:
    """Return where, between the best lag and an end of the candidates, the sum of squares crosses a level."""
    if fit.missed(end) <= level:
        return None
    inside, outside = math.log(best), math.log(end)
    for _halving in range(12):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if fit.missed(math.exp(middle)) <= level else (inside, middle)
    return math.exp((inside + outside) / 2)
