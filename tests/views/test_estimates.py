"""The food that a unit's air leads to, on the chart of the air."""

import numpy as np
import pytest

from holdwatch.storage.unit_lag import set_food_lag
from holdwatch.views.model import ProbeRow
from holdwatch.views.units import unit_view
from tests.watch.conftest import kitchen
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen

__all__ = ["kitchen"]


def _row(
    kitchen: Kitchen, medium: str, *, first_ms: int = T0, hours: int = 6, lag_min: float | None = None
) -> ProbeRow:
    """Let a probe read 2 °C for three hours and 10 °C from then on, and return its row on the unit's page."""
    kitchen.probe("a1", medium)
    unit = kitchen.unit("Walk-in 1", "walk-in", "a1")
    if lag_min is not None:
        with kitchen.store.write() as session:
            set_food_lag(session, unit, lag_min, how="set", now_ms=T0, by="Ana")
    told = [(at, 2.0 if at < T0 + 3 * HOUR else 10.0) for at in range(T0, T0 + hours * HOUR, 2 * MIN)]
    kitchen.arrive("a1", told, T0 + hours * HOUR)
    with kitchen.store.read() as session:
        view = unit_view(session, unit.id or 0, first_ms, T0 + hours * HOUR, T0 + hours * HOUR)
    assert view is not None
    return view.probes[0]


def test_air_has_the_food_that_it_leads_to(kitchen: Kitchen) -> None:
    """With the unit's own lag, as 10 − 8·e^(−t/τ) from the jump on."""
    trace = _row(kitchen, "air", lag_min=90).trace
    assert trace.food_c is not None
    assert trace.food_lag_min == 90
    since_min = (trace.at_ms - T0 - 3 * HOUR) / MIN
    later = since_min > 10
    assert np.abs(trace.food_c[later] - (10 - 8 * np.exp(-since_min[later] / 90))).max() < 0.15
    assert trace.food_c[since_min < -5] == pytest.approx(2.0)


def test_food_is_followed_from_before_the_chart(kitchen: Kitchen) -> None:
    """A chart that begins after the jump does not begin with food as warm as the air."""
    trace = _row(kitchen, "air", first_ms=T0 + 3 * HOUR + 30 * MIN, lag_min=90).trace
    assert trace.food_c is not None
    assert float(trace.food_c[0]) == pytest.approx(10 - 8 * np.exp(-30 / 90), abs=0.15)


def test_food_itself_is_never_estimated(kitchen: Kitchen) -> None:
    """What is read needs no estimate."""
    assert _row(kitchen, "food").trace.food_c is None


def test_chart_too_coarse_for_the_lag_estimates_nothing(kitchen: Kitchen) -> None:
    """A month in points of an hour and more says nothing of food that follows within minutes."""
    row = _row(kitchen, "air", first_ms=T0 - 30 * DAY, lag_min=1)
    assert row.trace.food_c is None
