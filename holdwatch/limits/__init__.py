"""Published limits as data: one file a code of practice."""

from holdwatch.limits.loading import known_limits, load_limits
from holdwatch.limits.model import (
    AmbientCoolingLimits,
    Cited,
    Confidence,
    CookingLimits,
    CookingRow,
    CoolingLimits,
    CoolingStage,
    Counts,
    CumulativeLimits,
    DateMarkLimits,
    HoldingLimits,
    Limits,
    NoFigure,
    ReheatingLimits,
    SpellTolerance,
    Standing,
    TimeControlLimits,
)

__all__ = [
    "AmbientCoolingLimits",
    "Cited",
    "Confidence",
    "CookingLimits",
    "CookingRow",
    "CoolingLimits",
    "CoolingStage",
    "Counts",
    "CumulativeLimits",
    "DateMarkLimits",
    "HoldingLimits",
    "Limits",
    "NoFigure",
    "ReheatingLimits",
    "SpellTolerance",
    "Standing",
    "TimeControlLimits",
    "known_limits",
    "load_limits",
]
