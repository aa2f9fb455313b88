"""The simulated layer of food against the exact series solution."""

import numpy as np
import pytest

from devices.simulator.foods import CUSTARD, PASTRY_CREAM, Food
from devices.simulator.slab import cool_layer
from holdwatch.science.conduction import slab_theta


def _exact(
    food: Food, length_m: float, h: float, start: float, around: float, seconds: np.ndarray, at: float
) -> np.ndarray:
    fourier = food.diffusivity_m2_s * seconds / length_m**2
    return around + (start - around) * slab_theta(
        np.where(fourier < 1e-4, 0.0, fourier), h * length_m / food.k_w_mk, at
    )


@pytest.mark.parametrize("food", [CUSTARD, PASTRY_CREAM], ids=lambda food: food.name)
@pytest.mark.parametrize(("depth", "h"), [(0.0508, 5.0), (0.0508, 25.0), (0.0762, 10.0), (0.1016, 100.0)])
@pytest.mark.parametrize("both_faces", [True, False])
@pytest.mark.parametrize("at", [0.0, 0.35])
def test_cool_layer_follows_the_series_of_a_slab(
    food: Food, depth: float, h: float, at: float, *, both_faces: bool
) -> None:
    """Incropera et al., Fundamentals of Heat and Mass Transfer, section 5.5.1: the exact series of a plane wall.

    57.2 °C in air of 3 °C for six hours, within 0.03 °C all the way.
    """
    count = 6 * 180
    made = cool_layer(
        food,
        depth_m=depth,
        both_faces=both_faces,
        start_c=57.2,
        air_c=np.full(count, 3.0),
        h_w_m2k=np.full(count, h),
        step_s=20.0,
        probe_at=at,
    )
    length = depth / 2 if both_faces else depth
    exact = _exact(food, length, h, 57.2, 3.0, 20.0 * np.arange(count + 1), at)
    assert np.abs(made - exact).max() < 0.03


def test_cool_layer_in_other_air_goes_on_from_where_it_was() -> None:
    """Two spans, one after the other, join; after hours in the second air the food has its temperature."""
    air = np.concatenate([np.full(180, 24.0), np.full(5 * 2160, 3.0)])
    made = cool_layer(
        CUSTARD, depth_m=0.03, both_faces=True, start_c=80.0, air_c=air, h_w_m2k=np.full(len(air), 20.0), step_s=20.0
    )
    assert (np.diff(made) <= 1e-9).all()
    assert made[180] > 24
    assert made[-1] == pytest.approx(3.0, abs=0.01)
