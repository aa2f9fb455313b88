"""Mean kinetic temperature: a figure of stored medicines, shown for comparison and never as a criterion of food safety."""

import math

import numpy as np
from numpy.typing import ArrayLike

from holdwatch.errors import OutOfRangeError
from holdwatch.language import _

__all__ = ["mean_kinetic_c"]

COLDEST_C, WARMEST_C = -60.0, 300.0
HEAT_OVER_R_K = 10_000.0
"""ΔH/R with 83.144 kJ/mol, as USP <1160> takes it."""


def mean_kinetic_c(celsius: ArrayLike, minutes: ArrayLike | None = None) -> float:
    r"""Return the mean kinetic temperature: a comparison figure of stored medicines, no criterion of food safety.

    .. math:: T_K = \frac{\Delta H/R}{-\ln\left(\sum w_i e^{-\Delta H/(R T_i)} / \sum w_i\right)}

    Parameters
    ----------
    celsius : array, shape (n,). [°C], −60 to 300, ends included.
    minutes : array, shape (n,), or None. [min], how long each stands for; the same each if not given.

    Returns
    -------
    float. [°C], never below the mean.

    Raises
    ------
    OutOfRangeError
        If a temperature is outside its range.
    ValueError
        If there is no temperature, or the lengths do not pair up with them or are not above 0 together.

    Notes
    -----
    ΔH/R is 10 000 K, that of a chemical reaction of 83.144 kJ/mol. Bacteria do not follow it, and no food code names it.

    Examples
    --------
    >>> round(mean_kinetic_c([2, 2, 5, 8, 8, 8, 8]), 2)
    6.25

    References
    ----------
    *United States Pharmacopeia* 29, <1160> Pharmaceutical Calculations in Prescription Compounding, mean kinetic
    temperature; J. D. Haynes 1971, *Journal of Pharmaceutical Sciences* 60:927–929 (from memory).
    """
    values = np.atleast_1d(np.asarray(celsius, dtype=np.float64))
    weight = np.ones_like(values) if minutes is None else np.atleast_1d(np.asarray(minutes, dtype=np.float64))
    if not len(values) or weight.shape != values.shape or bool((weight < 0).any()) or not weight.sum() > 0:
        message = "temperatures and how long each stood are to pair up, and to be at all"
        raise ValueError(message)
    beyond = values[~((values >= COLDEST_C) & (values <= WARMEST_C))]
    if len(beyond):
        raise OutOfRangeError(_("the temperature"), float(beyond[0]), COLDEST_C, WARMEST_C, "°C")
    rates = np.exp(-HEAT_OVER_R_K / (values + 273.15))
    return float(HEAT_OVER_R_K / -math.log(float(np.average(rates, weights=weight))) - 273.15)
