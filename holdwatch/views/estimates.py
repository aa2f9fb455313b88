"""The food that a unit's air leads to, for the chart of the air."""

from dataclasses import replace

import numpy as np
from sqlmodel import Session

from holdwatch.charts.curves import TraceView
from holdwatch.charts.reduce import segments
from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.science.foodlag import COLDEST_C, WARMEST_C, lagged_c
from holdwatch.storage.traces import load_trace
from holdwatch.storage.unit_lag import food_lag

__all__ = ["with_estimate"]

LEAD_MS = 12 * MS_PER_HOUR
"""Ours: so much of the air before the chart the food is followed through, where it was read."""
_LEAD_POINTS = 200


def with_estimate(session: Session, unit_id: int, probe_id: int, trace: TraceView) -> TraceView:
    """Return a trace of air with the food estimated from it; as it is where its points are further apart than the lag."""
    if len(trace) < 2 or bool(((trace.mean_c < COLDEST_C) | (trace.mean_c > WARMEST_C)).any()):  # noqa: PLR2004
        return trace
    lag = food_lag(session, unit_id, int(trace.at_ms[-1]))
    number = segments(trace.at_ms, trace.holes)
    inside = np.diff(trace.at_ms)[np.diff(number) == 0]
    if not len(inside) or float(np.median(inside)) > lag.lag_min * MS_PER_MINUTE:
        return trace
    lead = load_trace(session, probe_id, trace.from_ms - LEAD_MS, int(trace.at_ms[0]) - 1, _LEAD_POINTS)
    food = np.empty(len(trace))
    for n in np.unique(number).tolist():
        here = number == n
        at, air = trace.at_ms[here], trace.mean_c[here]
        real = (lead.mean_c >= COLDEST_C) & (lead.mean_c <= WARMEST_C)
        if n == number[0] and bool(real.any()):
            at, air = np.concatenate([lead.at_ms[real], at]), np.concatenate([lead.mean_c[real], air])
        followed = lagged_c((at - at[0]) / MS_PER_MINUTE, air, lag_min=lag.lag_min)
        food[here] = followed[len(at) - int(here.sum()) :]
    return replace(trace, food_c=food, food_lag_min=lag.lag_min)
