r"""The curve that the forecast fits to cooling food, and how it is fitted within physical bounds.

The middle of a cooling body follows the slowest mode of conduction, less what the faster modes still hold back: a thick
pan's middle lags. The slowest mode falls faster at first, because buoyant air and a wet top carry more heat from a hot
surface. With u its distance from the surroundings as a share of that at the start,

.. math::
    \dot u = -\lambda\,(1 + \beta u + \varepsilon e^{-t/\tau_{skin}})\,u, \qquad u(0) = 1 + a

    T = T_\infty + (T_0 - T_\infty)(u - a\,e^{-\kappa\lambda t}) + d\,\frac{\lambda}{\lambda - 1/\tau}
    (e^{-t/\tau} - e^{-\lambda t})

The last term is the food's answer to air that starts d above where it settles (a warmed walk-in, a chiller pulled down).
λ and a, κ are the first eigenvalue of the exact series, its amplitude less 1, and the ratio of the next ones to it; a body
of one temperature starts level, which asks for κ = (1 + a)/a, and κ is told as a multiple of that. Each parameter has a
middle, a spread and hard bounds; all are fitted together, for several kinds of surroundings at once.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "AROUND",
    "EXCESS",
    "LAG",
    "LN_RATE",
    "PARAMETERS",
    "SPEED",
    "START",
    "Fit",
    "Prior",
    "course",
    "fit",
    "sample",
    "slopes",
]

Array = NDArray[np.float64]

LN_RATE, LAG, SPEED, CURVE, WET, AROUND, START, EXCESS, LN_TAU = range(9)
PARAMETERS = 9
SKIN_H = 0.5
"""In which time a wet top grows a skin or runs dry. [h]"""

_MIDDLE = np.array([math.log(0.7), 0.15, -0.1, 0.0, 0.15, 0.0, 0.0, 0.0, math.log(0.3)])
_SPREAD = np.array([1.3, 0.15, 0.30, 0.12, 0.20, 1.0, 0.6, 1.5, 0.5])
_LOW = np.array([math.log(5e-3), -0.15, -1.6, -0.3, -0.3, -40.0, -60.0, -40.0, math.log(0.05)])
_HIGH = np.array([math.log(40.0), 1.1, 1.2, 2.5, 1.5, 100.0, 300.0, 60.0, math.log(2.0)])
"""Ours, from the exact series (a: 0 for a thin body, 0.27 a slab, 0.6 a cylinder, 1 a sphere, a little below 0 near the
surface) and from what a solver shows of buoyant and wet tops."""
_PLAIN = ((LAG, 0.03, 0.04), (CURVE, 0.0, 0.06), (WET, 0.0, 0.06))
_PLAIN_SHARE = 0.3
"""Ours: so many coolings are all but a plain exponential, of a thin or stirred body with a dry top."""
_THIN = 0.04
_SAME_RATE = 1e-3
_STEPS = 6
_DIAGONAL = np.arange(PARAMETERS)


@dataclass(frozen=True)
class Prior:
    """What is known before the readings are looked at: a row for each case that is weighed."""

    middle: Array
    spread: Array
    share: Array

    @classmethod
    def of(cls, around_c: Array, around_sd_c: Array, share: Array, start_c: float) -> "Prior":
        """Return what is known of any food, in each of these surroundings."""
        middle, spread = (np.tile(row, (len(around_c), 1)) for row in (_MIDDLE, _SPREAD))
        middle[:, AROUND], spread[:, AROUND], middle[:, START] = around_c, around_sd_c, start_c
        return cls(middle, spread, share / share.sum())

    def or_plain(self) -> "Prior":
        """Return each case twice: as it is, and with a body that falls as a plain exponential does."""
        cases = len(self.share)
        both = Prior(
            np.vstack([self.middle, self.middle]),
            np.vstack([self.spread, self.spread]),
            np.concatenate([(1.0 - _PLAIN_SHARE) * self.share, _PLAIN_SHARE * self.share]),
        )
        for parameter, middle, spread in _PLAIN:
            both.know(parameter, middle, spread, rows=slice(cases, None))
        return both

    def only(self, kept: NDArray[np.bool_]) -> "Prior":
        """Return some of the cases."""
        return Prior(self.middle[kept], self.spread[kept], self.share[kept])

    def know(self, parameter: int, middle: Array | float, spread: Array | float, rows: slice = slice(None)) -> None:
        """Write down what is known of one parameter."""
        self.middle[rows, parameter], self.spread[rows, parameter] = middle, spread


@dataclass(frozen=True)
class Fit:
    """The likeliest parameters of each case, how sure they are, and how likely the case is."""

    best: Array
    root: Array
    """Cholesky factors of the covariances, shape (cases, parameters, parameters)."""
    score: Array
    """Logarithm of how likely each case is, up to a constant."""

    def only(self, kept: NDArray[np.bool_]) -> "Fit":
        """Return some of the cases."""
        return Fit(self.best[kept], self.root[kept], self.score[kept])

    @property
    def weight(self) -> Array:
        """The likelihood of each case, adding up to 1."""
        weight = np.exp(self.score - self.score.max())
        return np.asarray(weight / weight.sum(), dtype=np.float64)


def course(parameters: Array, hours: Array) -> Array:
    """Return the temperature at hours since the start: shape (…, parameters) and (…, n) give (…, n), in °C."""
    left, answer = _shapes(parameters, hours)
    return _together(parameters, left, answer)


def slopes(parameters: Array, hours: Array) -> Array:
    """Return how the course changes with each parameter: shape (…, parameters) and (…, n) give (…, parameters, n)."""
    return _Parts(parameters, hours).slopes(parameters)


def _together(parameters: Array, left: Array, answer: Array) -> Array:
    around, start, excess = (parameters[..., n, None] for n in (AROUND, START, EXCESS))
    return np.asarray(around + (start - around) * left + excess * answer, dtype=np.float64)


def _shapes(parameters: Array, hours: Array) -> tuple[Array, Array]:
    """Return which part of its distance the food still has, and what it has of a degree that the air has lost."""
    parts = _Parts(parameters, hours)
    return parts.slow - parts.fast, parts.answer


class _Parts:
    """What a course is made of, and how each part changes with the parameters in which it is bent."""

    def __init__(self, parameters: Array, hours: Array) -> None:
        rate, own = np.exp(parameters[..., LN_RATE, None]), np.exp(-parameters[..., LN_TAU, None])
        lag, self.curve, wet = (parameters[..., n, None] for n in (LAG, CURVE, WET))
        self.hours = np.maximum(hours, 0.0)
        self.rate, self.own, self.lag, self.begun = rate, own, lag, 1.0 + lag
        self.gone = rate * self.hours
        self.drying = rate * SKIN_H * np.expm1(-self.hours / SKIN_H)
        self.wet_gone = wet * self.drying - self.gone
        self.bend = self.begun / (1.0 + self.curve * self.begun)
        self.way = self.bend * np.exp(self.wet_gone)
        self.open = np.maximum(1.0 - self.curve * self.way, 1e-3)
        self.slow = self.way / self.open
        self.thick = np.maximum(np.abs(lag), _THIN)
        self.pace = np.exp(parameters[..., SPEED, None]) / self.thick
        self.sooner = self.pace * self.begun * self.gone
        self.fading = np.exp(-np.minimum(self.sooner, 60.0))
        self.fast = lag * self.fading
        apart = rate - own
        self.apart = np.where(np.abs(apart) < _SAME_RATE, _SAME_RATE, apart)
        self.plain, self.air = np.exp(-self.gone), np.exp(-own * self.hours)
        self.share = rate / self.apart
        self.answer = self.share * (self.air - self.plain)

    def slopes(self, parameters: Array) -> Array:
        """Return how the temperature changes with each parameter, shape (…, parameters, n)."""
        left = self.slow - self.fast
        away = (parameters[..., START] - parameters[..., AROUND])[..., None]
        excess = parameters[..., EXCESS, None]
        per_way = self.open**-2
        moved = per_way * self.way
        swap = self.own * self.share / self.apart * (self.air - self.plain)
        thick = np.abs(self.lag) > _THIN  # a thin one may have a lag of nothing, by which nothing is divided
        quicker = self.pace - np.where(thick, self.pace * self.begun / np.where(thick, self.lag, 1.0), 0.0)
        late = self.fast * self.sooner
        slope = np.empty((*parameters.shape, left.shape[-1]))
        slope[..., LN_RATE, :] = away * (moved * self.wet_gone + late) + excess * (
            self.share * self.gone * self.plain - swap
        )
        slope[..., LAG, :] = away * (moved * self.bend / self.begun**2 - self.fading + self.fast * self.gone * quicker)
        slope[..., SPEED, :] = away * late
        slope[..., CURVE, :] = away * moved * (self.way - self.bend)
        slope[..., WET, :] = away * moved * self.drying
        slope[..., AROUND, :], slope[..., START, :], slope[..., EXCESS, :] = 1.0 - left, left, self.answer
        slope[..., LN_TAU, :] = excess * (self.share * self.own * self.hours * self.air - swap)
        return slope


def fit(hours: Array, celsius: Array, noise_c: Array, prior: Prior, begin: Array | None = None) -> Fit:
    """Fit every case to the readings.

    Parameters
    ----------
    hours : shape (n,), or (cases, n) where cases start at instants of their own. [h]
    celsius : shape (n,). [°C]
    noise_c : shape (n,) or (cases, n), infinite where a case does not look at a reading. [°C]
    prior : a row for each case.
    begin : where to start from, shape (cases, parameters); by default the prior's middle.
    """
    cases = len(prior.share)
    hours, noise_c = (np.broadcast_to(each, (cases, len(celsius))) for each in (hours, noise_c))
    best = _begin(hours, celsius, noise_c, prior) if begin is None else begin
    damp = np.full(cases, 1e-2)
    look = _look(best, hours, celsius, noise_c, prior)
    for _ in range(_STEPS if begin is None else _STEPS // 2):
        tried = np.clip(best + look.step(damp), _LOW, _HIGH)
        found = _look(tried, hours, celsius, noise_c, prior)
        better = found.cost < look.cost
        best = np.where(better[:, None], tried, best)
        look = look.replaced(found, better)
        damp = np.clip(np.where(better, damp * 0.2, damp * 10.0), 1e-9, 1e9)
    covariance = np.linalg.inv(look.curvature)
    root = np.linalg.cholesky(0.5 * (covariance + covariance.transpose(0, 2, 1)) + 1e-12 * np.eye(PARAMETERS))
    volume = np.log(np.diagonal(root, axis1=1, axis2=2) / prior.spread).sum(axis=1)
    score = np.log(prior.share) - 0.5 * look.cost + volume
    return Fit(best, np.asarray(root, dtype=np.float64), np.asarray(score, dtype=np.float64))


def sample(fitted: Fit, draws: Array) -> Array:
    """Return parameters drawn as each case has them, shape (cases, draws, parameters), within the bounds."""
    made = fitted.best[:, None, :] + draws[None, :, :PARAMETERS] @ fitted.root.transpose(0, 2, 1)
    return np.asarray(np.clip(made, _LOW, _HIGH), dtype=np.float64)


@dataclass(frozen=True)
class _Look:
    """How far each case is from the readings and from what was known, and which way is down."""

    cost: Array
    curvature: Array
    downhill: Array

    def step(self, damp: Array) -> Array:
        """Return the damped step."""
        damped = self.curvature.copy()
        damped[:, _DIAGONAL, _DIAGONAL] *= 1.0 + damp[:, None]
        return np.asarray(np.linalg.solve(damped, self.downhill[:, :, None])[:, :, 0], dtype=np.float64)

    def replaced(self, other: "_Look", where: NDArray[np.bool_]) -> "_Look":
        """Return the other's rows where they are better."""
        return _Look(
            np.where(where, other.cost, self.cost),
            np.where(where[:, None, None], other.curvature, self.curvature),
            np.where(where[:, None], other.downhill, self.downhill),
        )


def _look(best: Array, hours: Array, celsius: Array, noise_c: Array, prior: Prior) -> _Look:
    parts = _Parts(best, hours)
    slope = parts.slopes(best)
    slope /= noise_c[:, None, :]
    off = (celsius - _together(best, parts.slow - parts.fast, parts.answer)) / noise_c
    apart = (prior.middle - best) / prior.spread
    curvature = slope @ slope.transpose(0, 2, 1)
    curvature[:, _DIAGONAL, _DIAGONAL] += prior.spread**-2
    downhill = (slope @ off[:, :, None])[:, :, 0] + apart / prior.spread
    return _Look((off**2).sum(axis=1) + (apart**2).sum(axis=1), curvature, downhill)


def _begin(hours: Array, celsius: Array, noise_c: Array, prior: Prior) -> Array:
    """Start from what is known, with the rate of the later half as if it were a plain exponential."""
    best = np.clip(prior.middle, _LOW, _HIGH)
    used = np.isfinite(noise_c)
    last = used.shape[1] - 1 - np.argmax(used[:, ::-1], axis=1)
    middle = (np.argmax(used, axis=1) + last) // 2
    rows = np.arange(len(best))
    high, low = (np.maximum(celsius[n] - best[:, AROUND], 0.5) for n in (middle, last))
    apart = np.maximum(hours[rows, last] - hours[rows, middle], 1e-3)
    rate = np.log(np.maximum(np.log(high / low) / apart, 1e-9))
    best[:, LN_RATE] = np.clip(rate, _LOW[LN_RATE] + 0.1, _HIGH[LN_RATE] - 0.1)
    return best
