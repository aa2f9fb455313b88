"""Published limits as data: one file a code of practice."""

from holdwatch.limits.loading import known_limits, load_limits
from holdwatch.limits.model import Confidence, CoolingLimits, CoolingStage, Counts, HoldingLimits, Limits, NoFigure

__all__ = [
    "Confidence",
    "CoolingLimits",
    "CoolingStage",
    "Counts",
    "HoldingLimits",
    "Limits",
    "NoFigure",
    "known_limits",
    "load_limits",
]
