"""The pressure in the room, from a barometer there, from the altitude, or from a weather report and the altitude."""

from dataclasses import dataclass

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import N_, _
from holdwatch.science.atmosphere import (
    WEATHER_SHARE,
    geopotential_altitude_m,
    standard_pressure_pa,
    station_pressure_pa,
)

__all__ = ["ASK", "HIGHEST_PA", "LOWEST_PA", "Place", "place"]

LOWEST_PA, HIGHEST_PA = 50_000.0, 110_000.0
"""Where people cook: from the lowest shore to 5500 m."""
BAROMETER_PA = 150.0
"""How far a barometer in a telephone or on a wall may be off. No source: our estimate."""
REPORT_PA = 400.0
"""How far a reduced pressure, turned back, may be from that of the room: services reduce in several ways."""

ASK = N_(
    "say where: the altitude of the kitchen, such as 5280ft, or what a barometer in the room shows, such as 834hPa"
)


@dataclass(frozen=True)
class Place:
    """The pressure in a room, how far it may be off either way, and where it is from."""

    pressure_pa: float
    error_pa: float
    told: str


def place(
    *, pressure_pa: float | None = None, altitude_m: float | None = None, reported_pa: float | None = None
) -> Place:
    """Return the pressure in the room.

    Parameters
    ----------
    pressure_pa : float, optional. [Pa], shown by a barometer in the room that is not set to sea level.
    altitude_m : float, optional. [m] above the sea.
    reported_pa : float, optional. [Pa], of a weather report, reduced to sea level; needs the altitude.

    Raises
    ------
    ConfigError
        If too little or too much is said.
    OutOfRangeError
        If a figure, or the pressure that follows from it, is none of a kitchen.
    """
    if pressure_pa is not None:
        if altitude_m is not None or reported_pa is not None:
            raise ConfigError(
                _("give the pressure in the room alone, or the altitude with or without a weather report")
            )
        return Place(
            _of_a_room(pressure_pa),
            BAROMETER_PA,
            _("a barometer in the room: {pressure} hPa").format(pressure=f"{pressure_pa / 100:.0f}"),
        )
    if altitude_m is None:
        if reported_pa is not None:
            raise ConfigError(
                _("a reported pressure is reduced to sea level: give the altitude of the kitchen with it")
            )
        raise ConfigError(_(ASK))
    height = geopotential_altitude_m(altitude_m)
    where = f"{altitude_m:.0f} m ({altitude_m / 0.3048:.0f} ft)"
    if reported_pa is not None:
        here = _of_a_room(station_pressure_pa(reported_pa, height))
        told = _("a report of {reported} hPa at sea level, at {altitude}: {pressure} hPa in the room").format(
            reported=f"{reported_pa / 100:.0f}", altitude=where, pressure=f"{here / 100:.0f}"
        )
        return Place(here, REPORT_PA, told)
    here = _of_a_room(standard_pressure_pa(height))
    told = _("the standard atmosphere at {altitude}: {pressure} hPa, in any weather").format(
        altitude=where, pressure=f"{here / 100:.0f}"
    )
    return Place(here, here * WEATHER_SHARE, told)


def _of_a_room(pressure_pa: float) -> float:
    if not LOWEST_PA <= pressure_pa <= HIGHEST_PA:
        raise OutOfRangeError(
            _("the pressure in the room"), pressure_pa / 100, LOWEST_PA / 100, HIGHEST_PA / 100, "hPa"
        )
    return pressure_pa
