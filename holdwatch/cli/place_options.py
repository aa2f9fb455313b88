"""Options that say where the kitchen is, for what depends on the pressure of the air."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from holdwatch.calculators.place import Place
    from holdwatch.quantities import Scale

__all__ = [
    "AltitudeOption",
    "PressureOption",
    "ReportedOption",
    "ScaleOption",
    "degrees",
    "read_place",
    "read_scale",
    "site_altitude",
]

PressureOption = Annotated[
    str | None,
    typer.Option(
        "--pressure",
        metavar="PRESSURE",
        show_default=False,
        help="What a barometer in the room shows, not set to sea level: 834hPa, 24.63inHg.",
    ),
]
AltitudeOption = Annotated[
    str | None,
    typer.Option("--altitude", metavar="ALTITUDE", show_default=False, help="Of the kitchen: 5280ft or 1609m."),
]
ReportedOption = Annotated[
    str | None,
    typer.Option(
        "--reported",
        metavar="PRESSURE",
        show_default=False,
        help="What the weather report says, reduced to sea level; with --altitude.",
    ),
]
ScaleOption = Annotated[str, typer.Option("--scale", metavar="F|C", help="The scale of the answer.")]


def read_place(
    pressure: str | None, altitude: str | None, reported: str | None, of_site: Callable[[], str] = lambda: ""
) -> "Place":
    """Return the pressure in the room that the options tell, or that follows from the altitude of the site."""
    from holdwatch.calculators.place import place
    from holdwatch.measures import altitude_m, pressure_pa

    if altitude is None and pressure is None:
        altitude = of_site() or None
    return place(
        pressure_pa=None if pressure is None else pressure_pa(pressure),
        altitude_m=None if altitude is None else altitude_m(altitude),
        reported_pa=None if reported is None else pressure_pa(reported),
    )


def site_altitude(data: Path | None) -> Callable[[], str]:
    """Return what looks up the altitude of the site, for where no option says it; empty where there is no site."""

    def look_up() -> str:
        from holdwatch.cli.site_facts import site_facts

        return site_facts(data, None).altitude

    return look_up


def read_scale(text: str) -> "Scale":
    """Read F or C."""
    from holdwatch.errors import ConfigError
    from holdwatch.quantities import Scale

    try:
        return Scale(text.strip().upper())
    except ValueError:
        raise ConfigError(f"{text!r} is not a scale: write F or C") from None


def degrees(text: str | None, option: str) -> float | None:
    """Read a temperature with its scale; returns °C."""
    from holdwatch.errors import ConfigError
    from holdwatch.quantities import Temperature

    if text is None:
        return None
    try:
        return Temperature.parse(text).celsius
    except ValueError:
        raise ConfigError(f"{option} is {text!r}: that is not a temperature such as 203F or 95C") from None
