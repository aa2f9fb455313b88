"""What cool-faster and schedule share: a food in its container, what a code asks of cooling, and how times are told."""

import math
from dataclasses import dataclass

from holdwatch.calculators.foods import Food, properties_of
from holdwatch.language import N_, _, decimals
from holdwatch.limits.model import Counts, Limits
from holdwatch.quantities import Duration, Scale, Temperature
from holdwatch.science.cooling_time import Body, Interval, Pan, Pot

__all__ = ["BEYOND", "EDGE", "INSIDE", "Asked", "about", "asked_by", "body_of", "depth_told", "interval_told", "stands"]

DEPTH_OFF = 0.10
"""How far a depth that somebody says may be off. Ours."""

INSIDE, EDGE, BEYOND = N_("inside"), N_("on the edge"), N_("beyond")
_SHORT_S, _MIDDLING_S = 20 * 60, 3 * 3600


@dataclass(frozen=True)
class Asked:
    """A level to be reached, and within which time where a code asks for one."""

    level: Temperature
    within: Duration | None = None
    after: Temperature | None = None
    """From where the time counts; ``None``: from the start that is given."""
    clause: str = ""

    def counted_from(self, start_c: float) -> float:
        """Return at which temperature the clock of the limit starts, of food that starts at `start_c`."""
        return start_c if self.after is None else min(self.after.celsius, start_c)

    def told(self, start_c: float) -> str:
        """Return the level with its limit."""
        if self.within is None:
            return _("To {level}").format(level=self.level)
        counted = self.after is not None and self.after.celsius <= start_c
        return _("{start} to {level}, within {within}").format(
            start=self.after if counted else _("Start"), level=self.level, within=self.within
        )


def asked_by(limits: Limits) -> tuple[Asked, ...]:
    """Return what a code asks of cooling; nothing where it has no figure."""
    if limits.cooling is None:
        return ()
    start = before = limits.cooling.start.temperature
    found = []
    for stage in limits.cooling.stages:
        after = start if stage.counts is Counts.TOTAL else before
        before = stage.target.temperature
        found.append(Asked(before, stage.within, after, stage.clause))
    return tuple(found)


def body_of(food: Food, container: Pan | Pot, depth_m: float) -> Body:
    """Return a food in its container, with what its figures may be off."""
    made, off = properties_of(food), (DEPTH_OFF, food.conductivity_off, food.capacity_off)
    return Body(container, depth_m, made, *off, turns_over=food.turns_over)


def stands(time: Interval, within: Duration) -> str:
    """Return where an estimate lies against a limit: inside or beyond with all its uncertainty, or on the edge."""
    limit_s = within.ms / 1_000
    if time.high <= limit_s:
        return INSIDE
    return BEYOND if time.low > limit_s else EDGE


def about(seconds: float) -> str:
    """Write a length of time as finely as an estimate deserves."""
    if math.isinf(seconds):
        return _("never")
    step = 60 if seconds < _SHORT_S else 300 if seconds < _MIDDLING_S else 900
    minutes = max(step * round(seconds / step), 60) // 60
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


def interval_told(time: Interval) -> str:
    """Write an estimate with its ends."""
    if math.isinf(time.low):
        return _("never: too warm there")
    if math.isinf(time.middle):
        return _("perhaps never; {length} at the earliest").format(length=about(time.low))
    if math.isinf(time.high):
        return _("{length} ({low}, or perhaps never)").format(length=about(time.middle), low=about(time.low))
    return _("{length} ({low} to {high})").format(length=about(time.middle), low=about(time.low), high=about(time.high))


def depth_told(depth_m: float, scale: Scale) -> str:
    """Write a depth in the measure that goes with a scale."""
    return decimals(f"{depth_m / 0.0254:.1f} in" if scale is Scale.F else f"{depth_m * 100:.1f} cm")
