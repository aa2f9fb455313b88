"""``holdwatch syrup``: the stages of cooked sugar at the pressure of this room."""

from typing import Annotated

import typer

from holdwatch.cli.common import DataOption, JsonOption
from holdwatch.cli.place_options import AltitudeOption, PressureOption, ReportedOption, ScaleOption

__all__ = ["syrup"]


def syrup(
    pressure: PressureOption = None,
    altitude: AltitudeOption = None,
    reported: ReportedOption = None,
    at: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="TEMPERATURE", show_default=False, help="What the thermometer shows in the boiling syrup."
        ),
    ] = None,
    scale: ScaleOption = "F",
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """Tell the stages of cooked sugar in this room, and what a boiling syrup has come to.

    The higher the kitchen, the lower every stage, and hard crack falls further than water does.

    holdwatch syrup --altitude 5280ft --at 230F
    """
    from holdwatch.calculators.syrup import syrup_answer
    from holdwatch.cli.answers import tell
    from holdwatch.cli.place_options import degrees, read_place, read_scale, site_altitude

    here = read_place(pressure, altitude, reported, site_altitude(data))
    tell(syrup_answer(here, at_c=degrees(at, "--at"), scale=read_scale(scale)), as_json=as_json)
