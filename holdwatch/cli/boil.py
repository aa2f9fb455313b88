"""``holdwatch boil``: where water boils here, and how far off a probe is."""

from typing import Annotated

import typer

from holdwatch.cli.common import DataOption, JsonOption
from holdwatch.cli.place_options import AltitudeOption, PressureOption, ReportedOption, ScaleOption

__all__ = ["boil"]


def boil(
    pressure: PressureOption = None,
    altitude: AltitudeOption = None,
    reported: ReportedOption = None,
    shows: Annotated[
        str | None,
        typer.Option(
            "--shows", metavar="TEMPERATURE", show_default=False, help="What the probe shows in boiling water."
        ),
    ] = None,
    in_ice: Annotated[
        str | None,
        typer.Option(
            "--in-ice", metavar="TEMPERATURE", show_default=False, help="What it shows in melting ice and water."
        ),
    ] = None,
    scale: ScaleOption = "F",
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """Tell where water boils in this room, to check a probe by.

    What counts is the pressure in the room, not that of a weather report, which is reduced to sea level.

    holdwatch boil --altitude 5280ft --shows 203F --in-ice 32.4F

    Without --altitude and --pressure the altitude of the site is taken, if it was said.
    """
    from holdwatch.calculators.boil import boiling_answer
    from holdwatch.cli.answers import tell
    from holdwatch.cli.place_options import degrees, read_place, read_scale, site_altitude

    answer = boiling_answer(
        read_place(pressure, altitude, reported, site_altitude(data)),
        shows_c=degrees(shows, "--shows"),
        in_ice_c=degrees(in_ice, "--in-ice"),
        scale=read_scale(scale),
    )
    tell(answer, as_json=as_json)
