"""Air pressure at an altitude, and what a weather report's figure means in a kitchen.

The pressure that decides where water boils is the one in the room, called station pressure. Weather services report
it *reduced to sea level*, so that maps compare places: at 1609 m the report says 1013 hPa where the room has 834 hPa,
and water boils 5 °C lower than the report's figure would make one believe.
"""

from holdwatch.errors import OutOfRangeError
from holdwatch.language import _

__all__ = ["WEATHER_SHARE", "geopotential_altitude_m", "standard_pressure_pa", "station_pressure_pa"]

SEA_LEVEL_PA = 101_325.0
SEA_LEVEL_K = 288.15
LAPSE_K_M = 0.0065
GRAVITY = 9.80665
AIR_KG_MOL = 0.0289644
GAS_J_MOL_K = 8.31432
"""The value that the standard of 1976 uses, not today's."""
EXPONENT = GRAVITY * AIR_KG_MOL / (GAS_J_MOL_K * LAPSE_K_M)
EARTH_M = 6_356_766.0

LOWEST_M, HIGHEST_M = -2_000.0, 11_000.0

WEATHER_SHARE = 0.03
"""How far weather takes the pressure of a place from the standard, as a share of it.

No source: sea-level pressure is nearly always within 980 to 1045 hPa, which is 3 % of 1013 hPa either way.
"""


def geopotential_altitude_m(geometric_m: float) -> float:
    r"""Return the altitude that the standard atmosphere counts in, of one measured in metres above the sea.

    .. math:: h = r z / (r + z)

    Gravity falls with height, so that h is a little less than z: 0.4 m at 1600 m.

    Parameters
    ----------
    geometric_m : float. [m], z, −2000 to 11 000, ends included.

    Returns
    -------
    float. [m]

    Raises
    ------
    OutOfRangeError
        If the altitude is outside that range.

    Examples
    --------
    >>> round(geopotential_altitude_m(1609.3), 1)  # Denver
    1608.9

    References
    ----------
    *U.S. Standard Atmosphere, 1976*, NOAA-S/T 76-1562, equation 18; r = 6 356 766 m.
    """
    height = _altitude(geometric_m)
    return EARTH_M * height / (EARTH_M + height)


def standard_pressure_pa(geopotential_m: float) -> float:
    r"""Return the pressure of the standard atmosphere at an altitude.

    .. math:: p = p_0 (1 - L h / T_0)^{g M / (R L)}

    with p₀ = 101 325 Pa, T₀ = 288.15 K, L = 0.0065 K/m; the exponent is 5.25588.

    Parameters
    ----------
    geopotential_m : float. [m], h, −2000 to 11 000, ends included.

    Returns
    -------
    float. [Pa]

    Raises
    ------
    OutOfRangeError
        If the altitude is outside that range, in which the temperature falls evenly.

    Notes
    -----
    A standard, not the weather: at one place the real pressure differs by up to about 3 % (`WEATHER_SHARE`), which
    moves the boiling point of water by 0.8 °C. Where a degree matters, read a barometer in the room.

    Examples
    --------
    >>> round(standard_pressure_pa(0)), round(standard_pressure_pa(1609))
    (101325, 83431)

    References
    ----------
    *U.S. Standard Atmosphere, 1976*, equation 33a; the same in ISO 2533:1975 below 11 km.
    """
    return float(SEA_LEVEL_PA * (1.0 - LAPSE_K_M * _altitude(geopotential_m) / SEA_LEVEL_K) ** EXPONENT)


def station_pressure_pa(reduced_pa: float, geopotential_m: float) -> float:
    r"""Return the pressure in the room of one that a weather report has reduced to sea level.

    The report's figure is taken as an altimeter setting: the pressure that a standard atmosphere with this station
    pressure would have at sea level.

    .. math:: p = p_0 \left[(A/p_0)^{1/n} - L h / T_0\right]^n, \quad n = 5.25588

    Parameters
    ----------
    reduced_pa : float. [Pa], A, 85 000 to 110 000, ends included.
    geopotential_m : float. [m], h of the room, −2000 to 11 000, ends included.

    Returns
    -------
    float. [Pa]

    Raises
    ------
    OutOfRangeError
        If either is outside its range; no place on earth has had such a pressure at sea level.

    Notes
    -----
    Services that reduce with the day's temperature instead of the standard one differ by some hPa high up: 3 hPa
    are 0.1 °C of boiling point. The handbook's form subtracts 0.3 hPa on the way, which is 0.01 °C.

    Examples
    --------
    >>> round(station_pressure_pa(101_325.0, 1609))  # the standard day, high up
    83431

    References
    ----------
    *Smithsonian Meteorological Tables*, 6th edition, 1951, page 269.
    """
    low, high = 85_000.0, 110_000.0
    if not low <= reduced_pa <= high:
        raise OutOfRangeError(_("the pressure reduced to sea level"), reduced_pa / 100, low / 100, high / 100, "hPa")
    root = (reduced_pa / SEA_LEVEL_PA) ** (1 / EXPONENT)
    return float(SEA_LEVEL_PA * (root - LAPSE_K_M * _altitude(geopotential_m) / SEA_LEVEL_K) ** EXPONENT)


def _altitude(metres: float) -> float:
    """Return the altitude, or refuse it where the standard's lowest layer ends."""
    if not LOWEST_M <= metres <= HIGHEST_M:
        raise OutOfRangeError(_("the altitude"), metres, LOWEST_M, HIGHEST_M, "m")
    return metres
