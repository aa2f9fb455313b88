"""What a check of a probe at known temperatures shows: how far off it is, and what corrects it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from holdwatch.calculators.boil import ASKED_C, COLDEST_C, HOTTEST_C, ICE_C, POT_C, boiling_error_c, within_asked
from holdwatch.calculators.place import Place
from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import N_, _, decimals
from holdwatch.quantities import Scale
from holdwatch.readings import Medium
from holdwatch.science.boiling import ICE_POINT_C, boiling_point_c

__all__ = [
    "FOUND",
    "WHERE",
    "Line",
    "Method",
    "Outcome",
    "Point",
    "asked_c",
    "boiling",
    "error_of",
    "line_through",
    "melting_ice",
    "outcome_of",
    "reference",
]

AIR_C = {Scale.C: 1.5, Scale.F: 3.0 / 1.8}
"""FDA Food Code 4-203.12: a device for the air of a unit, or for water, is accurate to ±1.5 °C, one scaled only in
Fahrenheit to ±3 °F."""
LEAST_APART_C = 10.0
"""Ours: two points nearer to each other say nothing of the line through them. [°C]"""
LARGEST_SLOPE = 0.1
"""Ours: a probe whose scale is a tenth off is to be replaced, not corrected."""


class Method(StrEnum):
    """What a probe is held against."""

    ICE = "ice"  # melting ice in water, stirred
    BOILING = "boiling"  # water that boils, at the pressure in the room
    REFERENCE = "reference"  # a thermometer that is known better, in the same bath


class Outcome(StrEnum):
    """Whether a probe is within what is asked of its kind."""

    WITHIN = "within"
    BEYOND = "beyond"
    UNCLEAR = "unclear"  # the true temperature is not known well enough to tell


FOUND: Mapping[Outcome, str] = MappingProxyType(
    {
        Outcome.WITHIN: N_("within what is asked"),
        Outcome.BEYOND: N_("beyond what is asked"),
        Outcome.UNCLEAR: N_("cannot be told: the true temperature is not known well enough"),
    }
)
WHERE: Mapping[Method, str] = MappingProxyType(
    {
        Method.ICE: N_("in ice"),
        Method.BOILING: N_("in boiling water"),
        Method.REFERENCE: N_("beside the reference"),
    }
)
"""How screens, papers and the command line say them."""


@dataclass(frozen=True)
class Point:
    """A probe held at a temperature that is known."""

    method: Method
    true_c: float
    sure_c: float
    """How far the true temperature may be off, either way. [°C]"""
    shows_c: float
    """What the probe shows, before any correction. [°C]"""

    def __post_init__(self) -> None:
        """Refuse what is no temperature."""
        if not COLDEST_C <= self.shows_c <= HOTTEST_C:
            raise OutOfRangeError(_("what the probe shows"), self.shows_c, COLDEST_C, HOTTEST_C, "°C")


@dataclass(frozen=True)
class Line:
    """What a probe measures, from what it shows: ``slope · shown + offset``."""

    slope: float = 1.0
    offset_c: float = 0.0

    def of(self, shows_c: float) -> float:
        """Return what is measured. [°C]."""
        return self.slope * shows_c + self.offset_c


def melting_ice(shows_c: float) -> Point:
    """Return the point of a probe in melting ice and water, stirred."""
    return Point(Method.ICE, ICE_POINT_C, ICE_C, shows_c)


def boiling(shows_c: float, here: Place) -> Point:
    """Return the point of a probe in boiling water, at the pressure in the room."""
    return Point(Method.BOILING, boiling_point_c(here.pressure_pa), boiling_error_c(here) + POT_C, shows_c)


def reference(shows_c: float, true_c: float, sure_c: float) -> Point:
    """Return the point of a probe beside a better thermometer, which shows `true_c` give or take `sure_c`."""
    if not 0 <= sure_c < asked_c(Medium.FOOD, Scale.C):
        raise ConfigError(
            _(
                "a reference that may itself be {sure_c} °C off proves nothing: use one that is sure "
                "to half a degree or better"
            ).format(sure_c=decimals(f"{sure_c:g}"))
        )
    return Point(Method.REFERENCE, true_c, sure_c, shows_c)


def asked_c(medium: Medium, scale: Scale) -> float:
    """Return how far off a probe may be: of food as FDA Food Code 4-203.11 has it, else as 4-203.12. [°C]."""
    return (ASKED_C if medium is Medium.FOOD else AIR_C)[scale]


def outcome_of(points: Sequence[Point], asked: float, corrected: Line) -> Outcome:
    """Return whether a probe is within what is asked at every point, with the correction in force.

    One point beyond it is enough; where none is, one that cannot be told leaves it untold.

    Parameters
    ----------
    points : at least one.
    asked : how far off it may be. [°C]
    corrected : the correction in force at the check.

    Raises
    ------
    ConfigError
        If there is no point.
    """
    if not points:
        raise ConfigError(
            _("a check needs a point: what the probe shows in ice, in boiling water, or beside a reference")
        )
    words = {Outcome(within_asked(corrected.of(point.shows_c) - point.true_c, point.sure_c, asked)) for point in points}
    return next(word for word in (Outcome.BEYOND, Outcome.UNCLEAR, Outcome.WITHIN) if word in words)


def line_through(points: Sequence[Point]) -> Line:
    """Return what corrects a probe: an offset from one point, a line through two.

    Raises
    ------
    ConfigError
        If there are more points or none, two are too near to each other, or the probe is too far off to be corrected.
    """
    match sorted(points, key=lambda point: point.true_c):
        case [only]:
            return Line(1.0, only.true_c - only.shows_c)
        case [low, high]:
            return _through(low, high)
        case _:
            raise ConfigError(
                _("a correction is made from one point or two, not from {points}").format(points=len(points))
            )


def error_of(points: Sequence[Point]) -> Line:
    """Return what would have made a probe right: its correction, or where none can be made the offset of the worst point.

    A probe that is too far off to be corrected was wrong all the same.
    """
    try:
        return line_through(points)
    except ConfigError:
        worst = max(points, key=lambda point: abs(point.shows_c - point.true_c))
        return line_through([worst])


def _through(low: Point, high: Point) -> Line:
    if high.true_c - low.true_c < LEAST_APART_C or high.shows_c <= low.shows_c:
        raise ConfigError(
            _("the two points are too near to each other: choose two at least {least_apart_c} °C apart").format(
                least_apart_c=decimals(f"{LEAST_APART_C:g}")
            )
        )
    slope = (high.true_c - low.true_c) / (high.shows_c - low.shows_c)
    if abs(slope - 1) > LARGEST_SLOPE:
        raise ConfigError(_("between the two points its scale is more than a tenth off: replace the probe"))
    return Line(slope, low.true_c - slope * low.shows_c)
