"""When will cooling food reach a level? An interval, or no answer with its reason.

The readings are fitted with the course that the middle of a cooling body takes: the slowest mode of conduction with a
surface coefficient, the lag of a thick pan's middle, a faster beginning from buoyancy and evaporation, and the air's own
settling. Nothing is fitted freely: each parameter has its physical middle, spread and bounds, and the surroundings are
measured, told, or one of the kinds that there are in and around a kitchen, each weighed by how well it explains the
readings. A free fit runs away: on a measured curve it finds the surroundings where the readings end, and concludes that
nothing will ever cool further. What remains open after the fit is drawn many times, and the draws are the interval.

A forecast never changes a verdict.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import OutOfRangeError
from holdwatch.language import _
from holdwatch.quantities import Scale, format_difference, format_temperature
from holdwatch.readings import Series
from holdwatch.science import _surroundings
from holdwatch.science._cooling import AROUND, PARAMETERS, Fit, Prior, course, fit, sample
from holdwatch.science._stretch import Stretch, cooling_part, know_of_move, stretches_of

__all__ = ["Forecast", "forecast"]

Array = NDArray[np.float64]

CONFIDENCE = 0.9
TARGET_LOW_C, TARGET_HIGH_C = -40.0, 150.0
SURROUNDINGS_LOW_C, SURROUNDINGS_HIGH_C = -60.0, 100.0

FEWEST_READINGS = 3
SMALLEST_FALL_C = 2.0
STALE_MS = 30 * MS_PER_MINUTE
"""With the last reading older than this there is nothing to look ahead from."""

_LIKELY = 0.5
_STRANGE = 0.15  # a miss of this part of the fall: no course of cooling explains the readings
_STRANGE_C = 3.0
_MISS_TRUST = 1.5  # what the first fit leaves over says how far single readings may be off: stirring makes steps
_RATE_DOUBT = 0.03  # relative; the part of the rate ahead that no fit sees: doors, neighbours, stirring
_RATE_DOUBT_UNMEASURED = 0.06
_RATE_DOUBT_MOVED, _SETTLED = 0.4, 0.4  # just after a move the middle has not felt the new place yet
_LATELY = np.array([0.4, 0.3, 0.2, 0.1])  # the last misses count so much in where the course goes on from
_DRAWS, _FEWEST_DRAWS = 240, 40
_UNLIKELY = 0.003  # cases less likely than that are left out
_AHEAD_H = np.concatenate([[0.0], np.geomspace(0.03, 96.0, 30)])
_PATH_POINTS = 40
_PATH_LONGEST_MS = 12 * MS_PER_HOUR
_REST_MS = 40 * MS_PER_MINUTE
_REST_C = 0.4
"""A fall smaller than this over that time is rest: then, and only then, unmeasured surroundings may be said to be too warm."""
_QUANTILES = (0.5 - 0.5 * CONFIDENCE, 0.5, 0.5 + 0.5 * CONFIDENCE)


_NORMAL = np.random.default_rng(7).standard_normal((_DRAWS // 2, PARAMETERS + 1))
_NORMAL = np.stack([_NORMAL, -_NORMAL], axis=1).reshape(_DRAWS, -1)
"""The same normal draws each time, in pairs of opposite sign."""


@dataclass(frozen=True)
class Forecast:
    """When a level will be reached, as things stand.

    `reaches` is ``None`` when the readings do not support a forecast yet, ``False`` when the level will not be reached
    as things stand; `reason` says why. `latest_ms` is ``None`` when it cannot be excluded that it is never reached.
    """

    target_c: float
    reaches: bool | None
    expected_ms: int | None
    earliest_ms: int | None
    latest_ms: int | None
    reason: str
    confidence: float = CONFIDENCE
    path: tuple[tuple[int, float, float, float], ...] = ()
    """The course ahead for the fan of the chart: (instant in ms, low, middle, high in °C), at most 40 points."""


@dataclass(frozen=True)
class _Ahead:
    """Many courses ahead: the temperature of each at some hours from the last reading on, and how likely it is."""

    celsius: Array
    """Shape (courses, hours), never rising. [°C]"""
    floor_c: Array
    weight: Array


def forecast(
    series: Series,
    *,
    target_c: float,
    now_ms: int,
    surroundings_c: float | None,
    moved_ms: tuple[int, ...] = (),
    air: Series | None = None,
    scale: Scale = Scale.C,
) -> Forecast:
    r"""Say when food that cools will reach a level, with an interval that holds nine times of ten.

    .. math:: T = T_\infty + (T_0 - T_\infty)(u - a\,e^{-\kappa\lambda t}), \qquad
        \dot u = -\lambda (1 + \beta u + \varepsilon e^{-t/\tau})\,u, \qquad u(0) = 1 + a

    Parameters
    ----------
    series : Series. [ms, °C]
        The readings of one vessel; those after `now_ms` are not seen, those before the last of `moved_ms` tell only of
        the body.
    target_c : float. [°C], the level asked for.
    now_ms : int. [ms since 1970-01-01 UTC]
    surroundings_c : float or None. [°C], the temperature of the air or bath, if it is measured or told.
    moved_ms : tuple of int. [ms], when the vessel was moved into other surroundings.
    air : Series or None. [ms, °C], the air probe of the unit that the vessel stands in. With five readings since the food
        came there it says where the air settles, in place of `surroundings_c`.
    scale : Scale. In which the reason writes temperatures.

    Returns
    -------
    Forecast

    Raises
    ------
    OutOfRangeError
        If `target_c` is not from −40 to 150 °C, or `surroundings_c` not from −60 to 100 °C, ends included.

    Notes
    -----
    λ is the first eigenvalue of conduction with a surface coefficient, 0.005 to 40 1/h; a, the lag of the middle, −0.15 to
    1.1 (0.27 slab, 0.60 cylinder, 1 sphere in the limit); β and ε, buoyancy and a wet top, −0.3 to 2.5 and to 1.5.
    Measured surroundings are taken to be right within 0.5 °C (one standard deviation, ours); without, the kinds of
    surroundings between −30 and 35 °C are weighed, which makes the interval wide, as it should be. A move that nobody
    declared is found where two courses explain the readings better than one. It leaves out freezing, a door that
    stays open, and what will be done next. Its skill on coolings that it never saw is in docs/benchmarks.md.

    Examples
    --------
    135 °F falling to 100 °F in the first hour in surroundings of 38 °F reaches 70 °F after 2.478 h (computed from the
    two-point formula):

    >>> import numpy as np
    >>> hours = np.arange(0, 1.01, 0.05)
    >>> celsius = (38 + 97 * 10 ** (-0.194380 * hours) - 32) / 1.8
    >>> made = forecast(Series((hours * 3.6e6).astype(np.int64), celsius), target_c=(70 - 32) / 1.8,
    ...                 now_ms=3_600_000, surroundings_c=(38 - 32) / 1.8)
    >>> made.reaches, round(made.expected_ms / 3.6e6, 1)
    (True, 2.4)

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, sections 5.5 and 5.6: the series whose first terms
    these are. C. Hedeen, D. Schaffner, L. Brown 2022, *Journal of Environmental Health*, PMC9380651: the two-point form
    of its tail. M. N. Igo, C. Hedeen, D. Schaffner 2021, *Journal of Food Protection*: 29 foods, most fitted with R² > 0.90.
    """
    _refuse_impossible(target_c, surroundings_c)
    moved = max((at for at in moved_ms if at <= now_ms), default=None)
    cooling = cooling_part(series, moved if moved is not None else -(2**62), now_ms)
    refusal = _not_yet(cooling, target_c, now_ms, scale)
    if refusal is not None:
        return refusal
    settles = _surroundings.heading(air, int(cooling.at_ms[0]), now_ms) if air is not None else None
    around_c = settles.settles_c if settles is not None else surroundings_c
    if around_c is not None and around_c >= target_c:
        there = format_temperature(around_c, scale)
        said = _("the surroundings are at {degrees}: it will not get that cold there")
        return _none(target_c, said.format(degrees=there), False)
    stretches = stretches_of(series, cooling, moved, around_c, _surroundings.MEASURED_SD_C)
    last_ms = int(cooling.at_ms[-1])
    ahead = _both([_ahead_of(stretch, share, around_c, settles, last_ms) for stretch, share in stretches])
    if ahead is None:
        return _none(target_c, _("its readings do not run as those of food that cools: is the probe in the food?"))
    stretch = max(stretches, key=lambda each: each[1])[0]
    hours = _hours_to(ahead, target_c)
    never = float(ahead.weight[~np.isfinite(hours)].sum())
    path = _path(ahead, hours, last_ms)
    if never > _LIKELY:
        sure = around_c is not None or (never > CONFIDENCE and _rests(cooling))
        words = _("as it falls now it will not get that cold") if sure else _("its surroundings may be too warm for it")
        return Forecast(target_c, False if sure else None, None, None, None, words, path=path)
    early, __, late = (_instant(last_ms, float(h)) for h in _quantiles(hours, ahead.weight))
    gets_there = np.where(np.isfinite(hours), ahead.weight, 0.0)
    middle = _instant(last_ms, float(_quantiles(np.minimum(hours, 1e9), gets_there / gets_there.sum())[1]))
    return Forecast(target_c, True, middle, early, late, _basis(cooling, stretch, around_c, scale), path=path)


def _refuse_impossible(target_c: float, surroundings_c: float | None) -> None:
    """Refuse a level or surroundings that no food here can have."""
    if not TARGET_LOW_C <= target_c <= TARGET_HIGH_C:
        raise OutOfRangeError(_("the level"), target_c, TARGET_LOW_C, TARGET_HIGH_C, "°C")
    if surroundings_c is not None and not SURROUNDINGS_LOW_C <= surroundings_c <= SURROUNDINGS_HIGH_C:
        raise OutOfRangeError(_("the surroundings"), surroundings_c, SURROUNDINGS_LOW_C, SURROUNDINGS_HIGH_C, "°C")


def _none(target_c: float, reason: str, reaches: bool | None = None) -> Forecast:
    """Return an answer without an instant."""
    return Forecast(target_c, reaches, None, None, None, reason)


def _not_yet(cooling: Series, target_c: float, now_ms: int, scale: Scale) -> Forecast | None:
    """Return the answer where no course is needed or none can be drawn."""
    if len(cooling) == 0:
        return _none(target_c, _("there is no reading since it was put where it is"))
    below = np.flatnonzero(cooling.celsius <= target_c)
    if len(below):
        at = int(cooling.at_ms[below[0]])
        return Forecast(target_c, True, at, at, at, _("it is there already"))
    if now_ms - int(cooling.at_ms[-1]) > STALE_MS:
        minutes = (now_ms - int(cooling.at_ms[-1])) // MS_PER_MINUTE
        return _none(target_c, _("the last reading is {minutes} min old").format(minutes=minutes))
    if len(cooling) < FEWEST_READINGS:
        return _none(target_c, _("too few readings since it began to cool here"))
    if float(cooling.celsius[0] - cooling.celsius[-1]) < SMALLEST_FALL_C:
        fall = format_difference(SMALLEST_FALL_C, scale, 1)
        return _none(target_c, _("it has fallen by less than {degrees} yet").format(degrees=fall))
    return None


def _rests(cooling: Series) -> bool:
    """Tell whether it has all but stopped falling."""
    lately = cooling.between(int(cooling.at_ms[-1]) - _REST_MS, int(cooling.at_ms[-1]))
    long_enough = int(lately.at_ms[-1] - lately.at_ms[0]) > _REST_MS // 2
    return long_enough and float(lately.celsius[0] - lately.celsius[-1]) < _REST_C


def _fit_twice(stretch: Stretch, prior: Prior) -> Fit | None:
    """Fit, and fit again with the noise that the first fit found; ``None`` if nothing explains the readings."""
    first = fit(stretch.hours, stretch.celsius, stretch.noise_c, prior)
    miss = np.sqrt(((stretch.celsius - course(first.best, stretch.hours)) ** 2).mean(axis=1))
    fall = float(stretch.celsius[0] - stretch.celsius[-1])
    if float(miss.min()) > max(_STRANGE_C, _STRANGE * fall):
        return None
    kept = first.weight >= _UNLIKELY
    noise = np.hypot(stretch.noise_c, _MISS_TRUST * miss[kept, None])
    return fit(stretch.hours, stretch.celsius, noise, prior.only(kept), begin=first.best[kept])


def _ahead_of(
    stretch: Stretch, share: float, around_c: float | None, settles: _surroundings.Heading | None, last_ms: int
) -> _Ahead | None:
    """Return the courses ahead that a piece of the record tells of; ``None`` if nothing explains its readings."""
    start_c = float(stretch.celsius[0])
    if around_c is None:
        prior = _surroundings.unknown(start_c)
    else:
        prior = _surroundings.known(around_c, None if stretch.found else settles, start_c)
    know_of_move(prior, stretch)
    fitted = _fit_twice(stretch, prior.or_plain())
    if fitted is None:
        return None
    ahead = _look_ahead(fitted, stretch, (last_ms - stretch.start_ms) / MS_PER_HOUR, measured=around_c is not None)
    return _Ahead(ahead.celsius, ahead.floor_c, ahead.weight * share)


def _both(found: list[_Ahead | None]) -> _Ahead | None:
    """Put the courses of several pieces together."""
    ahead = [each for each in found if each is not None]
    if not ahead:
        return None
    weight = np.concatenate([each.weight for each in ahead])
    celsius, floor_c = (np.concatenate(rows) for rows in zip(*((a.celsius, a.floor_c) for a in ahead), strict=True))
    return _Ahead(celsius, floor_c, weight / weight.sum())


def _look_ahead(fitted: Fit, stretch: Stretch, last_h: float, *, measured: bool) -> _Ahead:
    """Draw courses from the fit, and let each go on from where the last readings are."""
    fitted = fitted.only(fitted.weight >= _UNLIKELY)
    normal = _NORMAL[: max(_FEWEST_DRAWS, _DRAWS // len(fitted.score))]
    drawn = sample(fitted, normal)
    if not measured:
        drawn[..., AROUND] = _surroundings.within_bounds(drawn[..., AROUND])
    doubt = _RATE_DOUBT if measured else _RATE_DOUBT_UNMEASURED
    if stretch.moved:
        fallen = float((stretch.celsius[0] - stretch.celsius[-1]) / (stretch.celsius[0] - drawn[..., AROUND].mean()))
        doubt = math.hypot(doubt, _RATE_DOUBT_MOVED * max(0.0, 1.0 - fallen / _SETTLED))
    celsius = course(drawn, last_h + _AHEAD_H * np.exp(doubt * normal[:, PARAMETERS, None]))
    latest = slice(-1, -1 - len(_LATELY), -1)
    off = stretch.celsius[latest] - course(drawn, stretch.hours[latest])
    share = _LATELY[: off.shape[-1]] / _LATELY[: off.shape[-1]].sum()
    fades = np.exp(-np.exp(drawn[..., :1]) * _AHEAD_H)
    celsius = np.minimum.accumulate(celsius + 0.7 * (off @ share)[..., None] * fades, axis=-1)
    count = len(normal)
    return _Ahead(
        celsius.reshape(-1, len(_AHEAD_H)),
        drawn[..., AROUND].ravel(),
        np.repeat(fitted.weight / count, count),
    )


def _hours_to(ahead: _Ahead, target_c: float) -> Array:
    """Return the hours to the target on each course; infinite where it is never reached."""
    rows = np.arange(len(ahead.celsius))
    after = np.argmax(ahead.celsius <= target_c, axis=1)
    before = np.maximum(after - 1, 0)
    floor = np.minimum(ahead.floor_c, np.minimum(ahead.celsius[rows, after], target_c) - 0.05)
    high, low = (np.log(np.maximum(ahead.celsius[rows, n] - floor, 1e-3)) for n in (before, after))
    share = np.clip((high - np.log(target_c - floor)) / np.maximum(high - low, 1e-9), 0.0, 1.0)
    hours = _AHEAD_H[before] + share * (_AHEAD_H[after] - _AHEAD_H[before])
    return np.where(ahead.celsius[:, -1] > target_c, np.inf, hours)


def _quantiles(values: Array, weight: Array) -> Array:
    """Return the values below which 5, 50 and 95 % of the weight lie, of each column."""
    order = np.argsort(values, axis=0)
    weights = weight[order]
    below = np.cumsum(weights, axis=0) - 0.5 * weights
    rows = [np.minimum((below < q).sum(axis=0), len(values) - 1)[None, ...] for q in _QUANTILES]
    ordered = np.take_along_axis(values, order, axis=0)
    return np.concatenate([np.take_along_axis(ordered, row, axis=0) for row in rows])


def _instant(last_ms: int, hours: float) -> int | None:
    """Return the instant that many hours after the last reading."""
    return None if not math.isfinite(hours) or hours > 24 * 30 else last_ms + round(hours * MS_PER_HOUR)


def _path(ahead: _Ahead, hours: Array, last_ms: int) -> tuple[tuple[int, float, float, float], ...]:
    """Return the fan from the last reading to the far end of the interval."""
    longest = _PATH_LONGEST_MS / MS_PER_HOUR
    reach = min(max(float(_quantiles(np.minimum(hours, longest), ahead.weight)[2]) * 1.05, 0.25), longest)
    at_h = np.linspace(0.0, reach, _PATH_POINTS)
    low, middle, high = (np.interp(at_h, _AHEAD_H, fan) for fan in _quantiles(ahead.celsius, ahead.weight))
    return tuple(
        (last_ms + round(float(h) * MS_PER_HOUR), float(a), float(b), float(c))
        for h, a, b, c in zip(at_h, low, middle, high, strict=True)
    )


def _basis(cooling: Series, stretch: Stretch, around_c: float | None, scale: Scale) -> str:
    """Say in words what the forecast rests on."""
    minutes = int(cooling.at_ms[-1] - cooling.at_ms[0]) // MS_PER_MINUTE
    if around_c is None:
        said, around = _("from {count} readings over {minutes} min, surroundings not measured"), ""
    else:
        said = _("from {count} readings over {minutes} min, surroundings at {degrees}")
        around = format_temperature(around_c, scale)
    words = said.format(count=len(cooling), minutes=minutes, degrees=around)
    if not stretch.found:
        return words
    ago = (int(cooling.at_ms[-1]) - stretch.start_ms) // MS_PER_MINUTE
    moved = _("it cools otherwise since {minutes} min, as food that was moved").format(minutes=ago)
    return f"{words}; {moved}"
