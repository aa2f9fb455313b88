"""How long food of a given depth takes to cool in given surroundings, and how far that may be off.

Pure conduction from one temperature throughout, at the point that cools last; what each figure may be off is carried
through one at a time, and the parts are added as the square root of their squares.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from holdwatch.errors import OutOfRangeError
from holdwatch.language import N_, _
from holdwatch.science._roots import Array, cylinder_roots, slab_roots
from holdwatch.science.bodies import mixed_theta
from holdwatch.science.conduction import biot_number, cylinder_theta, slab_theta
from holdwatch.science.properties import Properties

__all__ = ["Body", "Interval", "Pan", "Pot", "Range", "Surroundings", "cooling_times", "face_temperature"]

DEPTH_LOW_M, DEPTH_HIGH_M = 0.005, 0.30
WIDTH_LOW_M, WIDTH_HIGH_M = 0.02, 1.0
LEVEL_LOW_C, START_HIGH_C = 0.0, 150.0
FREEZES_C = 0.0
"""Water; food with sugar or salt freezes lower, so that what rests on this figure is on the slow side."""

_UNTOUCHED = 0.02
"""Up to this Fourier number the middle has its first temperature, within 1e-6: the series is not asked."""
_SOONEST = 2e-4
"""The Fourier number from which the temperature of a face can be told."""
_STEPS = 240
_LAST_THETA = 1e-5


@dataclass(frozen=True)
class Range:
    """A figure, and between which ends it lies nine times of ten."""

    low: float
    middle: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.middle <= self.high:
            raise OutOfRangeError(_("the middle of a range"), self.middle, self.low, self.high, "")


@dataclass(frozen=True)
class Pan:
    """A rectangular container."""

    length_m: float
    width_m: float


@dataclass(frozen=True)
class Pot:
    """A round container."""

    diameter_m: float


_SIDES = {
    "length_m": N_("the length of the container"),
    "width_m": N_("the width of the container"),
    "diameter_m": N_("the diameter of the container"),
}


@dataclass(frozen=True)
class Body:
    """Food in a container, and by which share of themselves its figures may be off."""

    container: Pan | Pot
    depth_m: float
    properties: Properties
    depth_off: float = 0.0
    conductivity_off: float = 0.0
    capacity_off: float = 0.0
    turns_over: float = 1.0
    """A liquid turns over by itself: by this its conductivity may be multiplied at the fast end."""

    def __post_init__(self) -> None:
        _within(_("the part of turning over"), self.turns_over, 1.0, 100.0, _("times"))
        for name, size in vars(self.container).items():
            part = _(_SIDES[name])
            _within(part, size * 100, WIDTH_LOW_M * 100, WIDTH_HIGH_M * 100, "cm")

    @property
    def capacity_j_k(self) -> float:
        """Heat capacity of all of it."""
        floor = self.floor_m2
        return floor * self.depth_m * self.properties.density_kg_m3 * self.properties.heat_capacity_j_kgk

    @property
    def floor_m2(self) -> float:
        """The area of its bottom."""
        if isinstance(self.container, Pot):
            return math.pi / 4 * self.container.diameter_m**2
        return self.container.length_m * self.container.width_m

    @property
    def wall_m2(self) -> float:
        """The area of its sides, up to where the food stands."""
        if isinstance(self.container, Pot):
            return math.pi * self.container.diameter_m * self.depth_m
        return 2 * (self.container.length_m + self.container.width_m) * self.depth_m


@dataclass(frozen=True)
class Surroundings:
    """What food stands in: how cold, how well it takes heat, and on which faces."""

    celsius: Range
    h_w_m2k: Range
    both_faces: bool = True
    """Top and bottom; otherwise only one of them. The sides always."""
    mixed: bool = False
    """The food is stirred all the while: of one temperature, through bottom and sides."""


@dataclass(frozen=True)
class Interval:
    """How long something takes, in s; infinite where it never happens."""

    low: float
    middle: float
    high: float


def cooling_times(
    body: Body, around: Surroundings, start_c: float, levels_c: Sequence[float], counted_from_c: float | None = None
) -> tuple[Interval, ...]:
    r"""Return after which time the slowest point of the food is at each level.

    .. math:: \theta(t) = \frac{T - T_\infty}{T_{start} - T_\infty} = \theta_{depth}\,\theta_{sides};
        \qquad \ln\frac{t_{high}}{t} = \sqrt{\sum_i \ln^2 \frac{t_i}{t}}

    Parameters
    ----------
    body : Body. [m, and the units of `Properties`]
    around : Surroundings. [°C, W/(m² K)]
    start_c : float. [°C], throughout.
    levels_c : sequence of float. [°C]
    counted_from_c : float or None. [°C], where the time begins if that is not at once: a code counts from 135 °F.

    Returns
    -------
    tuple of Interval, one for each level. [s]

    Raises
    ------
    OutOfRangeError
        If a level is not from 0 °C (unfrozen) to `start_c`, `start_c` above 150 °C, `counted_from_c` not between them,
        the depth outside 5 to 300 mm, or the surroundings outside −60 to 100 °C. (`Body` itself refuses containers that
        are not 2 cm to 1 m wide.)

    Notes
    -----
    `t_i` is the time with one figure at the worse of its two ends: surroundings, surface coefficient, conductivity, heat
    capacity, depth, and whether the outside freezes: where it would, the slow end is what the same food takes in
    surroundings of 0 °C, which no freezing food exceeds. A liquid that turns over by itself is faster than its middle
    figure: `turns_over` widens the fast end. Evaporation makes the beginning faster than this; lids, crowding and a warm
    load make it slower.

    Examples
    --------
    Çengel, Example 4-8: a short brass cylinder of 120 °C in air of 25 °C; after 15 min the book's charts have 63 °C.

    >>> brass = Body(Pot(0.10), 0.12, Properties(8530.0, 380.0, 110.0))
    >>> air = Surroundings(Range(25.0, 25.0, 25.0), Range(60.0, 60.0, 60.0))
    >>> round(cooling_times(brass, air, 120.0, [63.0])[0].middle / 60)
    15

    References
    ----------
    Y. A. Çengel, *Heat Transfer: A Practical Approach*, sections 4-2 and 4-4; JCGM 100:2008 (GUM), 5.1.2, for adding
    the parts of an uncertainty.
    """
    _within(_("the depth of the food"), body.depth_m * 100, DEPTH_LOW_M * 100, DEPTH_HIGH_M * 100, "cm")
    _within(_("the temperature of the surroundings"), around.celsius.low, -60.0, 100.0, "°C")
    _within(_("the temperature of the surroundings"), around.celsius.high, -60.0, 100.0, "°C")
    _within(_("the temperature at the start"), start_c, LEVEL_LOW_C, START_HIGH_C, "°C")
    for level in levels_c:
        _within(_("the level to be reached"), level, LEVEL_LOW_C, start_c, "°C")
    begins = start_c if counted_from_c is None else counted_from_c
    _within(_("the temperature from which time counts"), begins, max(levels_c), start_c, "°C")
    asked = np.array([begins, *levels_c])

    def times(of: Body, place: Surroundings) -> Array:
        at = _seconds(of, place, start_c, asked)
        return np.where(np.isinf(at[1:]), math.inf, at[1:] - at[0] if math.isfinite(at[0]) else math.inf)

    middle = times(body, around)
    pairs = [[times(of, place) for of, place in pair] for pair in _pairs(body, around, start_c, levels_c)]
    faster = np.array([np.minimum.reduce([*pair, middle]) for pair in pairs])
    slower = np.array([np.maximum.reduce([*pair, middle]) for pair in pairs])
    return tuple(_interval(float(middle[n]), faster[:, n], slower[:, n]) for n in range(len(levels_c)))


def face_temperature(body: Body, around: Surroundings, start_c: float, seconds: float) -> float:
    r"""Return the temperature in the middle of the face of the food after a time.

    .. math:: T = T_\infty + (T_{start} - T_\infty)\, \theta_{slab}(Fo, Bi, 1)\, \theta_{sides}

    Parameters
    ----------
    body, around : Body, Surroundings. Their middle figures.
    start_c : float. [°C]
    seconds : float. [s]

    Returns
    -------
    float. [°C]

    Raises
    ------
    OutOfRangeError
        If the Fourier number is neither 0 nor from 1e-4 to 1e6.

    Notes
    -----
    The face that is cooled; of stirred food, the temperature of all of it.

    Examples
    --------
    Geankoplis, Example 5.3-2, butter on an insulated bottom, turned round: after 5 h the book's chart has 292.2 K at a
    face in air of 297.1 K, 4.9 K off, which is 25 % of the difference.

    >>> butter = Body(Pan(1.0, 1.0), 0.0462, Properties(998.0, 2300.0, 0.197))
    >>> air = Surroundings(Range(4.45, 4.45, 4.45), Range(8.52, 8.52, 8.52), both_faces=False)
    >>> round(face_temperature(butter, air, 23.95, 5 * 3600), 1)
    9.2

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, section 5.5.
    """
    at = np.array([seconds], dtype=np.float64)
    infinity, h = around.celsius.middle, around.h_w_m2k.middle
    if around.mixed:
        theta = mixed_theta(at, h, body.floor_m2 + body.wall_m2, body.capacity_j_k)
    else:
        across, *sides = _directions(body, around)
        theta = slab_theta(_fourier(body, at, across[1]), biot_number(h, across[1], _k(body)), 1.0)
        for kind, length in sides:
            theta = theta * _middle(kind, _fourier(body, at, length), biot_number(h, length, _k(body)))
    return float(infinity + (start_c - infinity) * theta[0])


# ---------------------------------------------------------------- one case


def _within(name: str, value: float, low: float, high: float, unit: str) -> None:
    if not low <= value <= high:
        raise OutOfRangeError(name, value, low, high, unit)


def _k(body: Body) -> float:
    return body.properties.conductivity_w_mk


def _fourier(body: Body, seconds: Array, length_m: float) -> Array:
    return body.properties.diffusivity_m2_s * seconds / length_m**2


def _directions(body: Body, around: Surroundings) -> list[tuple[str, float]]:
    """Return the shape and the half thickness or radius of each direction, the depth first."""
    depth = body.depth_m / 2 if around.both_faces else body.depth_m
    if isinstance(body.container, Pot):
        return [("slab", depth), ("cylinder", body.container.diameter_m / 2)]
    return [("slab", depth), ("slab", body.container.length_m / 2), ("slab", body.container.width_m / 2)]


def _middle(kind: str, fourier: Array, biot: float) -> Array:
    """Return θ in the middle of one direction; before anything arrives there it is 1."""
    theta = cylinder_theta if kind == "cylinder" else slab_theta
    arrived = fourier > _UNTOUCHED
    return np.where(arrived, theta(np.where(arrived, fourier, _UNTOUCHED), biot), 1.0)


def _seconds(body: Body, around: Surroundings, start_c: float, levels_c: Array) -> Array:
    """Return when the slowest point is at each level, all figures at their middle."""
    infinity, h = around.celsius.middle, around.h_w_m2k.middle
    if start_c <= infinity:
        return np.where(levels_c >= start_c, 0.0, math.inf)
    wanted = (levels_c - infinity) / (start_c - infinity)
    log_wanted = np.log(np.maximum(wanted, _LAST_THETA))
    if around.mixed:
        at = -log_wanted * body.capacity_j_k / (h * (body.floor_m2 + body.wall_m2))
    else:
        directions = [(kind, length, biot_number(h, length, _k(body))) for kind, length in _directions(body, around)]
        roots = {"slab": slab_roots, "cylinder": cylinder_roots}
        slowest_rate = body.properties.diffusivity_m2_s * sum(
            float(roots[kind](biot, 1)[0]) ** 2 / length**2 for kind, length, biot in directions
        )
        begins = _UNTOUCHED * min(length for _, length, _ in directions) ** 2 / body.properties.diffusivity_m2_s
        grid = np.geomspace(begins, begins + (1.0 - math.log(_LAST_THETA)) / slowest_rate, _STEPS)
        theta = np.ones_like(grid)
        for kind, length, biot in directions:
            theta = theta * _middle(kind, _fourier(body, grid, length), biot)
        falling = np.log(np.minimum.accumulate(theta))
        at = np.interp(-log_wanted, np.append(0.0, -falling), np.append(0.0, grid))
    return np.where(wanted >= 1.0, 0.0, np.where(wanted > _LAST_THETA, at, math.inf))


# ---------------------------------------------------------------- how far it may be off


def _pairs(
    body: Body, around: Surroundings, start_c: float, levels_c: Sequence[float]
) -> list[list[tuple[Body, Surroundings]]]:
    """Return, for each figure, the cases in which it is at one of its ends."""
    made = body.properties

    def with_made(off: float, name: str) -> tuple[Body, Surroundings]:
        return replace(body, properties=replace(made, **{name: getattr(made, name) * (1.0 + off)})), around

    def air(celsius: float) -> tuple[Body, Surroundings]:
        return body, replace(around, celsius=Range(celsius, celsius, celsius))

    def skin(h: float) -> tuple[Body, Surroundings]:
        return body, replace(around, h_w_m2k=Range(h, h, h))

    def deep(off: float) -> tuple[Body, Surroundings]:
        return replace(body, depth_m=body.depth_m * (1.0 + off)), around

    by_itself = (1.0 + body.conductivity_off) * body.turns_over
    pairs = [
        [air(around.celsius.low), air(around.celsius.high)],
        [skin(around.h_w_m2k.high), skin(around.h_w_m2k.low)],
        [with_made(off, "conductivity_w_mk") for off in (by_itself - 1.0, -body.conductivity_off)],
        [with_made(off * body.capacity_off, "heat_capacity_j_kgk") for off in (-1, 1)],
        [deep(off * body.depth_off) for off in (-1, 1)],
    ]
    if around.celsius.middle < FREEZES_C and not around.mixed:
        reached = float(_seconds(body, around, start_c, np.array([min(levels_c)]))[0])
        at = max(reached, _SOONEST * body.depth_m**2 / body.properties.diffusivity_m2_s)
        if math.isfinite(at) and face_temperature(body, around, start_c, at) < FREEZES_C:
            pairs.append([air(FREEZES_C)])
    return pairs


def _interval(middle: float, faster: Array, slower: Array) -> Interval:
    """Add the parts up, in logarithms, each side by itself."""
    if math.isinf(middle):
        return Interval(float(faster.min()), math.inf, math.inf)
    if middle <= 0.0:
        return Interval(0.0, 0.0, 0.0)
    down = math.sqrt(float(np.sum(np.log(np.maximum(faster, 1e-3) / middle) ** 2)))
    if np.isinf(slower).any():
        return Interval(middle * math.exp(-down), middle, math.inf)
    up = math.sqrt(float(np.sum(np.log(slower / middle) ** 2)))
    return Interval(middle * math.exp(-down), middle, middle * math.exp(up))
