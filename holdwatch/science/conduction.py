"""Exact transient conduction in a slab and a long cylinder; their products are in :mod:`holdwatch.science.bodies`.

A body of one temperature is put at an instant into surroundings of another, with one surface coefficient.
Everything here is dimensionless, as in the textbooks:

- ``theta`` = (T − T∞)/(T_i − T∞): 1 at the start, 0 when the body has the temperature of its surroundings;
- ``fourier`` = α t / L²; ``biot`` = h L / k;
- L is the **half** thickness of a slab cooled on both faces (the whole thickness of one cooled on one face and
  insulated on the other), the **radius** of a cylinder. The length V/A of the lumped method is another one: mixing
  the two is a known published error.

What the solutions leave out: evaporation, radiation beyond what h holds, stirring, a surface coefficient or
surroundings that change, properties that depend on temperature.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from holdwatch.errors import OutOfRangeError
from holdwatch.language import _
from holdwatch.science._roots import Array, bessel, cylinder_roots, slab_roots

__all__ = [
    "biot_number",
    "cylinder_eigenvalues",
    "cylinder_theta",
    "fourier_number",
    "slab_eigenvalues",
    "slab_theta",
]

BIOT_LOW, BIOT_HIGH = 1e-4, 1e5
FOURIER_LOW, FOURIER_HIGH = 1e-4, 1e6
MOST_EIGENVALUES = 400
_NEGLIGIBLE = 40.0  # exp(−40) = 4e-18: a term that small adds nothing to a double


def _checked(name: str, value: float, low: float, high: float, unit: str = "(dimensionless)") -> float:
    """Return `value`, or refuse it when it is not from `low` to `high`, ends included."""
    if not low <= value <= high:
        raise OutOfRangeError(name, value, low, high, unit)
    return float(value)


def biot_number(h_w_m2k: float, length_m: float, k_w_mk: float) -> float:
    r"""Compare the resistance inside a body with that at its surface.

    .. math:: Bi = h L / k

    Parameters
    ----------
    h_w_m2k : float. [W/m²K], surface coefficient.
    length_m : float. [m], half thickness of a slab, radius of a cylinder.
    k_w_mk : float. [W/mK], conductivity of the body.

    Returns
    -------
    float. [–]

    Raises
    ------
    OutOfRangeError
        If one of them is not above 0 (up to 1e6).

    Examples
    --------
    Lienhard, apples in a refrigerator (Example 5.2): radius 0.05 m, h = 6, k = 0.603.

    >>> round(biot_number(6, 0.05, 0.603), 4)
    0.4975

    References
    ----------
    J. H. Lienhard IV and V, *A Heat Transfer Textbook*, Example 5.2.
    """
    h = _checked("the surface coefficient", h_w_m2k, 1e-9, 1e6, "W/m²K")
    length = _checked("the length", length_m, 1e-9, 1e6, "m")
    return h * length / _checked("the conductivity", k_w_mk, 1e-9, 1e6, "W/mK")


def fourier_number(diffusivity_m2_s: float, seconds: float, length_m: float) -> float:
    r"""Express a time as a multiple of the time that heat needs to cross a body.

    .. math:: Fo = \alpha t / L^2

    Parameters
    ----------
    diffusivity_m2_s : float. [m²/s], α = k/(ρ c_p).
    seconds : float. [s]
    length_m : float. [m], half thickness of a slab, radius of a cylinder.

    Returns
    -------
    float. [–]

    Raises
    ------
    OutOfRangeError
        If the time is negative, or one of the others is not above 0 (up to 1e6).

    Examples
    --------
    Lienhard, apples in a refrigerator (Example 5.2): 22 300 s.

    >>> round(fourier_number(0.603 / (997.6 * 4180), 22300, 0.05), 2)
    1.29

    References
    ----------
    J. H. Lienhard IV and V, *A Heat Transfer Textbook*, Example 5.2.
    """
    diffusivity = _checked("the diffusivity", diffusivity_m2_s, 1e-15, 1e6, "m²/s")
    length = _checked("the length", length_m, 1e-9, 1e6, "m")
    return diffusivity * _checked("the time", seconds, 0.0, 1e12, "s") / length**2


def _counted(count: int) -> int:
    """Refuse a number of eigenvalues that was not asked of the root finding."""
    return int(_checked("the number of eigenvalues", count, 1, MOST_EIGENVALUES))


def slab_eigenvalues(biot: float, count: int) -> Array:
    r"""Return the first eigenvalues of a slab with convection at its faces.

    .. math:: \zeta \tan\zeta = Bi, \qquad (n-1)\pi < \zeta_n < (n-\tfrac12)\pi

    Parameters
    ----------
    biot : float. [–], h L/k with the half thickness L.
    count : int. How many.

    Returns
    -------
    float array, shape (count,). [–], rising.

    Raises
    ------
    OutOfRangeError
        If `biot` is not from 1e-4 to 1e5, or `count` not from 1 to 400, ends included.

    Notes
    -----
    Right to about 1e-12 of the value: each root is bracketed by the equation itself, so none is skipped.

    Examples
    --------
    >>> slab_eigenvalues(1.0, 1).round(4).tolist()  # Çengel, Table 4-2
    [0.8603]

    References
    ----------
    Y. A. Çengel, *Heat Transfer: A Practical Approach*, equation 4-10 ff. and Table 4-2.
    """
    biot = _checked("the Biot number", biot, BIOT_LOW, BIOT_HIGH)
    return slab_roots(biot, _counted(count)).copy()


def cylinder_eigenvalues(biot: float, count: int) -> Array:
    r"""Return the first eigenvalues of a long cylinder with convection at its surface.

    .. math:: \zeta J_1(\zeta) / J_0(\zeta) = Bi

    Parameters
    ----------
    biot : float. [–], h r/k with the radius r.
    count : int. How many.

    Returns
    -------
    float array, shape (count,). [–], rising.

    Raises
    ------
    OutOfRangeError
        If `biot` is not from 1e-4 to 1e5, or `count` not from 1 to 400, ends included.

    Notes
    -----
    Each root lies between a zero of J1 and the next zero of J0, which bracket it.

    Examples
    --------
    >>> cylinder_eigenvalues(1.0, 1).round(4).tolist()  # Çengel, Table 4-2
    [1.2558]

    References
    ----------
    Y. A. Çengel, *Heat Transfer: A Practical Approach*, Table 4-2; NIST DLMF 10.9.2 for J0 and J1.
    """
    biot = _checked("the Biot number", biot, BIOT_LOW, BIOT_HIGH)
    return cylinder_roots(biot, _counted(count)).copy()


def _terms(fourier: Array) -> int:
    """Return how many terms matter at the smallest time asked."""
    moving = fourier[fourier > 0]
    if not len(moving):
        return 1
    return min(MOST_EIGENVALUES, 3 + math.ceil(math.sqrt(_NEGLIGIBLE / float(moving.min())) / math.pi))


def _times(fourier: ArrayLike) -> Array:
    """Check the Fourier numbers: 0, or from the smallest to the largest covered."""
    times = np.asarray(fourier, dtype=np.float64)
    for value in times[~((times == 0) | ((times >= FOURIER_LOW) & (times <= FOURIER_HIGH)))][:1]:
        raise OutOfRangeError(
            _("the Fourier number"), float(value), FOURIER_LOW, FOURIER_HIGH, _("(dimensionless, or 0)")
        )
    return times


def _sum(fourier: Array, zeta: Array, weight: Array) -> Array:
    """Add the series up; at the very start it is 1 by definition."""
    series = np.exp(-(zeta**2) * fourier[..., None]) @ weight
    return np.where(fourier == 0, 1.0, series)


def slab_theta(fourier: ArrayLike, biot: float, position: float = 0.0) -> Array:
    r"""Return how far a slab still is from its surroundings, from 1 to 0.

    .. math:: \theta = \sum_n \frac{4\sin\zeta_n}{2\zeta_n + \sin 2\zeta_n} e^{-\zeta_n^2 Fo} \cos(\zeta_n x/L)

    Parameters
    ----------
    fourier : float or array, any shape. [–], α t/L².
    biot : float. [–], h L/k, L the half thickness (cooled on both faces).
    position : float. [–], x/L: 0 in the middle, 1 at a face.

    Returns
    -------
    float array of the shape of `fourier`. [–]

    Raises
    ------
    OutOfRangeError
        If `fourier` is neither 0 nor from 1e-4 to 1e6, `biot` not from 1e-4 to 1e5, or `position` not from 0 to 1, ends
        included.

    Notes
    -----
    The sum has as many terms as reach 4e-18; it is exact for the problem stated at the top of this module. A pan cooled
    through its top only, at depth d, is the half of a slab 2 d thick.

    Examples
    --------
    Geankoplis, Example 5.3-2, butter on an insulated bottom (Bi = 2, Fo = 0.7238): the book's chart says 287.4 K.

    >>> bool(abs(297.1 + (277.6 - 297.1) * slab_theta(0.7238, 8.52 * 0.0462 / 0.197) - 287.4) < 0.3)
    True

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, section 5.5.1, equations 5.42a–c.
    """
    times = _times(fourier)
    biot = _checked("the Biot number", biot, BIOT_LOW, BIOT_HIGH)
    position = _checked("the position", position, 0.0, 1.0)
    zeta = slab_roots(biot, _terms(times))
    weight = 4.0 * np.sin(zeta) / (2.0 * zeta + np.sin(2.0 * zeta)) * np.cos(zeta * position)
    return _sum(times, zeta, weight)


def cylinder_theta(fourier: ArrayLike, biot: float, position: float = 0.0) -> Array:
    r"""Return how far a long cylinder still is from its surroundings, from 1 to 0.

    .. math::
        \theta = \sum_n \frac{2}{\zeta_n} \frac{J_1(\zeta_n)}{J_0^2(\zeta_n) + J_1^2(\zeta_n)} e^{-\zeta_n^2 Fo}
        J_0(\zeta_n r/r_o)

    Parameters
    ----------
    fourier : float or array, any shape. [–], α t/r_o².
    biot : float. [–], h r_o/k.
    position : float. [–], r/r_o: 0 on the axis, 1 at the surface.

    Returns
    -------
    float array of the shape of `fourier`. [–]

    Raises
    ------
    OutOfRangeError
        As :func:`slab_theta`.

    Notes
    -----
    Both ends are left out: for a vessel about as high as wide use
    :func:`holdwatch.science.bodies.short_cylinder_theta`.

    Examples
    --------
    Geankoplis, Example 5.3-3, a can taken as an infinite cylinder: 29.4 °C in steam of 115.6 °C.

    >>> bool(abs(115.6 + (29.4 - 115.6) * cylinder_theta(0.46739, 4540 * 0.03405 / 0.83) - 104.4) < 2)
    True

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, section 5.6.1, equations 5.50a–c.
    """
    times = _times(fourier)
    biot = _checked("the Biot number", biot, BIOT_LOW, BIOT_HIGH)
    position = _checked("the position", position, 0.0, 1.0)
    zeta = cylinder_roots(biot, _terms(times))
    j0, j1 = bessel(0, zeta), bessel(1, zeta)
    return _sum(times, zeta, 2.0 / zeta * j1 / (j0**2 + j1**2) * bessel(0, zeta * position))
