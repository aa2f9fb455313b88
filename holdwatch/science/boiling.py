"""Where pure water boils at a pressure, and the pressure of its vapour at a temperature.

Both are exact turns of one equation, the saturation line of IAPWS-IF97 (region 4). It agrees with the scientific
formulation IAPWS-95 within 0.0003 °C between 500 and 1100 hPa. Written here because the product needs these two
lines of a library that holds thousands; the tests hold them against two such libraries.
"""

import math

from holdwatch.errors import OutOfRangeError
from holdwatch.language import _

__all__ = ["ICE_POINT_C", "boiling_point_c", "saturation_pressure_pa"]

ICE_POINT_C = 0.0
"""Melting ice in water, stirred, at any kitchen's pressure: it moves by less than 0.005 °C from the sea to 5000 m."""

_ZERO_K = 273.15
_CRITICAL_K = 647.096
_TRIPLE_PA = 611.213
_CRITICAL_PA = 22.064e6
_PA_PER_MPA = 1e6
# IAPWS R7-97(2012), table 34
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def saturation_pressure_pa(celsius: float) -> float:
    r"""Return the pressure at which pure water boils at a temperature.

    .. math:: p = \left[\frac{2C}{-B + \sqrt{B^2 - 4AC}}\right]^4

    where A, B and C are quadratics in ϑ = T + n₉/(T − n₁₀), p in MPa, T in K.

    Parameters
    ----------
    celsius : float. [°C], 0 to 373.946, ends included.

    Returns
    -------
    float. [Pa]

    Raises
    ------
    OutOfRangeError
        If the temperature is outside that range.

    Examples
    --------
    >>> round(saturation_pressure_pa(300 - 273.15) / 1e6, 11)
    0.00353658941

    References
    ----------
    IAPWS R7-97(2012), *Revised Release on the IAPWS Industrial Formulation 1997*, equation 30, tables 34 and 35.
    """
    kelvin = celsius + _ZERO_K
    if not _ZERO_K <= kelvin <= _CRITICAL_K:
        raise OutOfRangeError(_("the temperature of the water"), celsius, 0.0, _CRITICAL_K - _ZERO_K, "°C")
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = theta**2 + _N[0] * theta + _N[1]
    b = _N[2] * theta**2 + _N[3] * theta + _N[4]
    c = _N[5] * theta**2 + _N[6] * theta + _N[7]
    return float((2 * c / (-b + math.sqrt(b**2 - 4 * a * c))) ** 4 * _PA_PER_MPA)


def boiling_point_c(pressure_pa: float) -> float:
    r"""Return the temperature at which pure water boils at a pressure.

    .. math:: T = \frac{n_{10} + D - \sqrt{(n_{10} + D)^2 - 4 (n_9 + n_{10} D)}}{2}

    where D follows from β = p^{1/4} (p in MPa): the same equation as `saturation_pressure_pa`, solved for T.

    Parameters
    ----------
    pressure_pa : float. [Pa], the pressure over the water, 611.213 to 22 064 000, ends included.

    Returns
    -------
    float. [°C]; 99.974, not 100.000, at 101 325 Pa, on the temperature scale of 1990.

    Raises
    ------
    OutOfRangeError
        If the pressure is outside that range.

    Notes
    -----
    For pure water at its surface. Ten centimetres down the pressure of the water adds 0.3 °C; salt, sugar and hard
    water add more, and a smooth clean pan lets water overheat a little before it bubbles.

    Examples
    --------
    >>> round(boiling_point_c(0.1e6) + 273.15, 6)
    372.755919

    References
    ----------
    IAPWS R7-97(2012), equation 31, tables 34 and 36.
    """
    if not _TRIPLE_PA <= pressure_pa <= _CRITICAL_PA:
        raise OutOfRangeError(_("the pressure"), pressure_pa, _TRIPLE_PA, _CRITICAL_PA, "Pa")
    beta = (pressure_pa / _PA_PER_MPA) ** 0.25
    e = beta**2 + _N[2] * beta + _N[5]
    f = _N[0] * beta**2 + _N[3] * beta + _N[6]
    g = _N[1] * beta**2 + _N[4] * beta + _N[7]
    d = 2 * g / (-f - math.sqrt(f**2 - 4 * e * g))
    total = _N[9] + d
    return float((total - math.sqrt(total**2 - 4 * (_N[8] + _N[9] * d))) / 2 - _ZERO_K)
