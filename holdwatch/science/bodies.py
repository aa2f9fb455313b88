"""How far pots, pans and stirred food still are from their surroundings: products of the one-way solutions.

The words θ, Fo and Bi are those of :mod:`holdwatch.science.conduction`.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from holdwatch.errors import OutOfRangeError
from holdwatch.language import _
from holdwatch.science._roots import Array
from holdwatch.science.conduction import cylinder_theta, slab_theta

__all__ = ["brick_theta", "mixed_theta", "short_cylinder_theta"]


def short_cylinder_theta(
    fourier: ArrayLike,
    biot_radius: float,
    biot_height: float,
    *,
    half_height_over_radius: float,
    radial: float = 0.0,
    axial: float = 0.0,
) -> Array:
    r"""Return how far a short cylinder (a bucket, a stock pot) still is from its surroundings.

    .. math:: \theta = \theta_{cylinder}(Fo, Bi_r)\; \theta_{slab}(Fo\,(r_o/L)^2, Bi_L)

    Parameters
    ----------
    fourier : float or array, any shape. [–], α t/r_o².
    biot_radius, biot_height : float. [–], h r_o/k and h L/k, L half the height.
    half_height_over_radius : float. [–], L/r_o.
    radial, axial : float. [–], r/r_o and x/L; 0 is the middle.

    Returns
    -------
    float array of the shape of `fourier`. [–]

    Raises
    ------
    OutOfRangeError
        As :func:`slab_theta`, for each of the two; and if L/r_o is not from 0.01 to 100, ends included.

    Notes
    -----
    Exact: the two directions of this problem separate.

    Examples
    --------
    Geankoplis, Example 5.3-4, the same can with its ends: the book's charts say 106.6 °C, which is 2 °C off.

    >>> theta = short_cylinder_theta(0.46739, 186.25, 277.88, half_height_over_radius=0.0508 / 0.03405)
    >>> bool(abs(115.6 + (29.4 - 115.6) * theta - 106.6) < 2)
    True

    References
    ----------
    Y. A. Çengel, *Heat Transfer: A Practical Approach*, section 4-4 and Table 4-5.
    """
    ratio = float(half_height_over_radius)
    if not 0.01 <= ratio <= 100.0:  # noqa: PLR2004  the range is the docstring's
        raise OutOfRangeError(_("the ratio of height to width"), ratio, 0.01, 100.0, _("(dimensionless)"))
    times = np.asarray(fourier, dtype=np.float64)
    return cylinder_theta(times, biot_radius, radial) * slab_theta(times / ratio**2, biot_height, axial)


def brick_theta(
    fourier: Sequence[ArrayLike], biot: Sequence[float], position: Sequence[float] = (0.0, 0.0, 0.0)
) -> Array:
    r"""Return how far a brick, such as the food in a rectangular pan, still is from its surroundings.

    .. math:: \theta = \prod_i \theta_{slab}(Fo_i, Bi_i, x_i/L_i)

    Parameters
    ----------
    fourier : one float or array for each direction. [–], α t/L_i², L_i half of that side.
    biot : one float for each direction. [–], h_i L_i/k.
    position : one float for each direction. [–], x_i/L_i; 0 is the middle.

    Returns
    -------
    float array of the shape of the Fourier numbers together. [–]

    Raises
    ------
    OutOfRangeError
        As :func:`holdwatch.science.conduction.slab_theta`, for each direction.
    ValueError
        If the three do not name the same number of directions.

    Notes
    -----
    Exact: the directions of this problem separate. Two directions are a long bar, one is a slab. A pan that is cooled
    through its top alone is the upper half of a brick twice as high.

    Examples
    --------
    Lienhard, Example 5.12: a square iron bar in a coolant; the book's charts say 87.7 °C.

    >>> theta = brick_theta((0.565, 0.565), (0.2105, 0.2105), (0.0, 0.5))
    >>> bool(abs(20 + 80 * theta - 87.7) < 1.6)
    True

    References
    ----------
    J. H. Lienhard IV and V, *A Heat Transfer Textbook*, section 5.7; Y. A. Çengel, *Heat Transfer: A Practical
    Approach*, Table 4-5.
    """
    theta = np.asarray(1.0)
    for times, number, place in zip(fourier, biot, position[: len(biot)], strict=True):
        theta = theta * slab_theta(times, number, place)
    return theta


def mixed_theta(seconds: ArrayLike, h_w_m2k: float, area_m2: float, heat_capacity_j_k: float) -> Array:
    r"""Return how far a stirred food, of one temperature throughout, still is from its surroundings.

    .. math:: \theta = \exp\left(-\frac{h A t}{\rho V c_p}\right)

    Parameters
    ----------
    seconds : float or array, any shape. [s]
    h_w_m2k : float. [W/(m² K)], from the stirred food through the wall to the surroundings.
    area_m2 : float. [m²], the wall that the surroundings touch.
    heat_capacity_j_k : float. [J/K], ρ V c_p of the whole food.

    Returns
    -------
    float array of the shape of `seconds`. [–]

    Raises
    ------
    OutOfRangeError
        If a time is negative, or one of the others is not above 0 (up to 1e9).

    Notes
    -----
    True of a body that is stirred, or so small or conductive that Bi (with the length V/A) is below 0.1.

    Examples
    --------
    Geankoplis, Example 5.2-1: a steel ball of 699.9 K in 394.3 K for an hour; the book prints 474.6 K.

    >>> theta = mixed_theta(3600, 11.36, 4 * math.pi * 0.0254**2, 7849 * 460.6 * 4 / 3 * math.pi * 0.0254**3)
    >>> round(394.3 + (699.9 - 394.3) * float(theta), 1)
    474.6

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, section 5.1, equation 5.6.
    """
    times = np.asarray(seconds, dtype=np.float64)
    for name, value, unit in (
        (_("the surface coefficient"), h_w_m2k, "W/m²K"),
        (_("the area"), area_m2, "m²"),
        (_("the heat capacity"), heat_capacity_j_k, "J/K"),
    ):
        if not 0.0 < value <= 1e9:  # noqa: PLR2004  the range is the docstring's
            raise OutOfRangeError(name, value, 0.0, 1e9, unit)
    for value in times[~(times >= 0)][:1]:
        raise OutOfRangeError(_("the time"), float(value), 0.0, math.inf, "s")
    return np.exp(-h_w_m2k * area_m2 / heat_capacity_j_k * times)
