"""Pots, pans and stirred food against printed examples, and against another library's solver."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp  # type: ignore[import-untyped]  # the library has no types

from holdwatch.errors import OutOfRangeError
from holdwatch.science.bodies import brick_theta, mixed_theta, short_cylinder_theta
from holdwatch.science.conduction import cylinder_theta, slab_theta
from tests.science.published import published


@published(brick_theta, source="Lienhard, A Heat Transfer Textbook, Example 5.12")
def test_brick_theta_matches_lienhard_example_5_12() -> None:
    """A square iron bar, 100 °C in a coolant of 20 °C: 0.93 × 0.91 from the charts, so 87.7 °C, 10 s later.

    Read in the notebooks of FOSSEE (Python-Textbook-Companions) on 2026-11-25. A chart is read to 2 % of the difference.
    """
    theta = float(brick_theta((0.565, 0.565), (0.2105, 0.2105), (0.0, 0.5)))
    assert 20 + 80 * theta == pytest.approx(87.7, abs=0.02 * 80)


@published(mixed_theta, source="Geankoplis, Transport Processes, Example 5.2-1")
def test_mixed_theta_matches_geankoplis_example_5_2_1() -> None:
    """A steel ball of 699.9 K, an hour in 394.3 K: the book prints 474.6 K."""
    radius, h = 0.0254, 11.36
    capacity = 7849 * 460.6 * 4 / 3 * math.pi * radius**3
    theta = float(mixed_theta(3600.0, h, 4 * math.pi * radius**2, capacity))
    assert 394.3 + (699.9 - 394.3) * theta == pytest.approx(474.6, abs=0.05)


def _stepped(biots: tuple[float, float], fourier: float, cells: int) -> float:
    """Return θ in the middle of a square bar by SciPy's stiff solver on a quarter of it, cut into cells."""
    width = 1.0 / cells

    def flow(_: float, flat: NDArray[np.float64]) -> NDArray[np.float64]:
        field = flat.reshape(cells, cells)
        change = np.zeros_like(field)
        for axis, biot in enumerate(biots):
            along = np.moveaxis(field, axis, 0)
            into = np.moveaxis(change, axis, 0)  # a view
            step = np.diff(along, axis=0) / width**2
            into[:-1] += step
            into[1:] -= step
            into[-1] -= along[-1] / (width * (1.0 / biot + width / 2))
        return change.ravel()

    solved = solve_ivp(flow, (0.0, fourier), np.ones(cells * cells), method="LSODA", rtol=1e-7, atol=1e-9)
    middle = solved.y[:, -1].reshape(cells, cells)
    return float(middle[0, 0] + (middle[0, 0] - middle[1, 1]) / 8)  # from the cell's own middle to the bar's


@published(brick_theta, source="SciPy's LSODA on a bar cut into cells")
@pytest.mark.parametrize(("biots", "fourier"), [((0.3, 2.0), 0.4), ((5.0, 1.0), 0.15), ((20.0, 20.0), 0.3)])
def test_brick_theta_agrees_with_a_scipy_solver(biots: tuple[float, float], fourier: float) -> None:
    """A scheme that knows nothing of series finds the same middle within 0.002 of the whole difference."""
    assert float(brick_theta((fourier, fourier), biots)) == pytest.approx(_stepped(biots, fourier, 24), abs=0.002)


def test_brick_theta_of_one_direction_is_a_slab() -> None:
    """Two sides far away leave the slab."""
    assert float(brick_theta((0.5, 1e-4, 1e-4), (2.0, 0.1, 0.1))) == pytest.approx(
        float(slab_theta(0.5, 2.0)), abs=1e-9
    )


def test_short_cylinder_theta_very_high_is_a_long_cylinder() -> None:
    """Ends that are far away do not cool the middle."""
    short = short_cylinder_theta(0.5, 1.0, 100.0, half_height_over_radius=50.0)
    assert float(short) == pytest.approx(float(cylinder_theta(0.5, 1.0)), abs=1e-9)


def test_mixed_theta_halves_in_the_half_life() -> None:
    """After the time constant times ln 2 a half is left."""
    half = math.log(2) * 4000.0 / (200.0 * 0.1)
    assert mixed_theta([0.0, half, 2 * half], 200.0, 0.1, 4000.0) == pytest.approx([1.0, 0.5, 0.25])


def test_bodies_that_are_none_are_refused() -> None:
    """No wall, no capacity, a time before the start, or directions that do not match."""
    with pytest.raises(OutOfRangeError, match="area"):
        mixed_theta(1.0, 10.0, 0.0, 100.0)
    with pytest.raises(OutOfRangeError, match="heat capacity"):
        mixed_theta(1.0, 10.0, 1.0, math.nan)
    with pytest.raises(OutOfRangeError, match="time"):
        mixed_theta([1.0, -1.0], 10.0, 1.0, 100.0)
    with pytest.raises(OutOfRangeError, match="ratio"):
        short_cylinder_theta(0.5, 1.0, 1.0, half_height_over_radius=0.0)
    with pytest.raises(ValueError, match="argument"):
        brick_theta((0.5, 0.5), (1.0,))
