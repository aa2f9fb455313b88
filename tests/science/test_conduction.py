"""Conduction against the figures that textbooks print, and against another library."""

import math

import numpy as np
import pytest
from scipy import optimize, special  # type: ignore[import-untyped]  # the library has no types

from holdwatch.errors import OutOfRangeError
from holdwatch.science.bodies import short_cylinder_theta
from holdwatch.science.conduction import (
    biot_number,
    cylinder_eigenvalues,
    cylinder_theta,
    fourier_number,
    slab_eigenvalues,
    slab_theta,
)
from tests.science.published import published
from tests.science.published_tables import published_rows

TABLE = published_rows("cengel_table_4_2.csv")
EXAMPLES = published_rows("conduction_examples.csv")


@published(slab_eigenvalues, source="Çengel, Heat Transfer, Table 4-2")
@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"Bi={row['biot']}")
def test_slab_eigenvalues_matches_cengel_table_4_2(row: dict[str, str]) -> None:
    """The first eigenvalue and coefficient of a wall are those of the table.

    The coefficient may differ by one unit of the last digit: at Bi = 5 the exact 1.24025 is printed as 1.2403.
    """
    zeta = float(slab_eigenvalues(float(row["biot"]), 1)[0])
    coefficient = 4 * math.sin(zeta) / (2 * zeta + math.sin(2 * zeta))
    assert zeta == pytest.approx(float(row["wall_lambda1"]), abs=0.00005)
    assert coefficient == pytest.approx(float(row["wall_a1"]), abs=0.0001)


@published(cylinder_eigenvalues, source="Çengel, Heat Transfer, Table 4-2")
@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"Bi={row['biot']}")
def test_cylinder_eigenvalues_matches_cengel_table_4_2(row: dict[str, str]) -> None:
    """The first eigenvalue and coefficient of a long cylinder are those of the table.

    The eigenvalue may differ by one unit of the last digit: at Bi = 2 the exact 1.59945 is printed as 1.5995.
    """
    zeta = float(cylinder_eigenvalues(float(row["biot"]), 1)[0])
    j0, j1 = special.j0(zeta), special.j1(zeta)
    assert zeta == pytest.approx(float(row["cylinder_lambda1"]), abs=0.0001)
    assert 2 / zeta * j1 / (j0**2 + j1**2) == pytest.approx(float(row["cylinder_a1"]), abs=0.00005)


def _theta(row: dict[str, str]) -> float:
    length, h, k = float(row["length"]), float(row["h"]), float(row["k"])
    fourier = fourier_number(float(row["diffusivity"]), float(row["seconds"]), length)
    biot, position = biot_number(h, length, k), float(row["position"])
    if row["shape"] == "slab":
        return float(slab_theta(fourier, biot, position))
    if row["shape"] == "cylinder":
        return float(cylinder_theta(fourier, biot, position))
    height = float(row["height"])
    return float(
        short_cylinder_theta(fourier, biot, biot_number(h, height, k), half_height_over_radius=height / length)
    )


@published(
    slab_theta,
    cylinder_theta,
    short_cylinder_theta,
    source="worked examples of Incropera, Geankoplis and Lienhard, each named in its row",
)
@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["example"])
def test_theta_matches_textbook_examples(row: dict[str, str]) -> None:
    """The temperature of each worked example comes out within what the book's reading allows."""
    start, around = float(row["initial"]), float(row["surroundings"])
    assert around + (start - around) * _theta(row) == pytest.approx(float(row["printed"]), abs=float(row["tolerance"]))


@published(fourier_number, source="Incropera, Example 5.4")
def test_fourier_number_matches_incropera_example_5_4() -> None:
    """Incropera, Example 5.4 prints Fo = 5.64 after 8 minutes."""
    assert fourier_number(18.8e-6, 480, 0.04) == pytest.approx(5.64, abs=0.005)


@published(biot_number, source="Incropera, Example 5.4")
def test_biot_number_matches_incropera_example_5_4() -> None:
    """Incropera, Example 5.4 prints Bi = 0.313."""
    assert biot_number(500, 0.04, 63.9) == pytest.approx(0.313, abs=0.0005)


def test_slab_theta_first_term_matches_incropera_example_5_4() -> None:
    """Incropera, Example 5.4 interpolates the first eigenvalue of Bi = 0.313 in its table: 0.531."""
    assert float(slab_eigenvalues(0.313, 1)[0]) == pytest.approx(0.531, abs=0.001)


@pytest.mark.parametrize("biot", [1e-4, 0.05, 1.0, 20.0, 1e5])
def test_eigenvalues_agree_with_brentq_and_are_complete(biot: float) -> None:
    """Each root is the one that another library's root finder finds in its bracket."""
    slab, cylinder = slab_eigenvalues(biot, 12), cylinder_eigenvalues(biot, 12)
    zeros0, zeros1 = special.jn_zeros(0, 12), np.concatenate([[0.0], special.jn_zeros(1, 11)])
    for n in range(12):
        low, high = n * math.pi, (n + 0.5) * math.pi
        found = optimize.brentq(lambda z: z * math.sin(z) - biot * math.cos(z), low, high, xtol=1e-14)
        assert slab[n] == pytest.approx(found, rel=1e-9)
        found = optimize.brentq(lambda z: z * special.j1(z) - biot * special.j0(z), zeros1[n], zeros0[n], xtol=1e-14)
        assert cylinder[n] == pytest.approx(found, rel=1e-9)


def test_slab_theta_early_agrees_with_half_infinite_body() -> None:
    """At the start the face of a slab behaves as that of a body without end: exp(y²) erfc(y), y = Bi √Fo."""
    for fourier in (1e-4, 1e-3, 1e-2):
        y = 10.0 * math.sqrt(fourier)
        assert float(slab_theta(fourier, 10.0, 1.0)) == pytest.approx(math.exp(y * y) * math.erfc(y), abs=2e-5)


def test_theta_at_the_start_is_one_and_falls() -> None:
    """Nothing has cooled at time 0, and later is never warmer."""
    times = np.concatenate([[0.0], np.geomspace(1e-4, 50, 60)])
    for curve in (slab_theta(times, 2.0), cylinder_theta(times, 2.0)):
        assert curve[0] == 1.0
        assert (np.diff(curve) <= 1e-12).all()
        assert curve[-1] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("fourier", "biot", "position", "named"),
    [
        (-0.1, 1.0, 0.0, "Fourier"),
        (1e-5, 1.0, 0.0, "Fourier"),
        (math.nan, 1.0, 0.0, "Fourier"),
        (0.5, 0.0, 0.0, "Biot"),
        (0.5, math.nan, 0.0, "Biot"),
        (0.5, 1.0, 1.01, "position"),
    ],
)
def test_slab_theta_outside_its_range_refuses(fourier: float, biot: float, position: float, named: str) -> None:
    """Outside the stated range there is an error that names what was wrong, never a number."""
    with pytest.raises(OutOfRangeError, match=named):
        slab_theta(fourier, biot, position)
    with pytest.raises(OutOfRangeError, match=named):
        cylinder_theta(fourier, biot, position)


def test_numbers_from_impossible_bodies_are_refused() -> None:
    """A body without extent, conductivity or with time running backwards is refused."""
    with pytest.raises(OutOfRangeError, match="length"):
        biot_number(5, 0, 0.5)
    with pytest.raises(OutOfRangeError, match="conductivity"):
        biot_number(5, 0.1, -1)
    with pytest.raises(OutOfRangeError, match="time"):
        fourier_number(1e-7, -1, 0.1)
    with pytest.raises(OutOfRangeError, match="eigenvalues"):
        slab_eigenvalues(1.0, 0)
