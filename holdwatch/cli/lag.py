"""``holdwatch lag``: what food would be in air that was read."""

from pathlib import Path
from typing import Annotated

import typer

from holdwatch.cli.common import JsonOption
from holdwatch.errors import ConfigError

__all__ = ["lag"]


def lag(
    air: Annotated[
        Path,
        typer.Argument(
            metavar="AIR.csv", help="The air: CSV with time and temperature_c or temperature_f.", show_default=False
        ),
    ],
    length: Annotated[
        str | None,
        typer.Option(
            "--lag", metavar="LENGTH", help="How slowly the food follows, such as 45min or 2h.", show_default=False
        ),
    ] = None,
    food: Annotated[
        Path | None,
        typer.Option(
            "--food", metavar="FOOD.csv", help="Food in the same place: the lag is learned from it.", show_default=False
        ),
    ] = None,
    timezone: Annotated[
        str | None,
        typer.Option(
            "--timezone", metavar="AREA/CITY", help="The zone of times without an offset.", show_default=False
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Estimate food from the air around it, with its lag given or learned.

    An estimate: it neither keeps nor breaks a limit. The mean kinetic temperature is told for comparison only.

    holdwatch lag walk-in-air.csv --food tub.csv
    """
    from holdwatch.calculators.course import read_minutes
    from holdwatch.calculators.lag import lag_answer
    from holdwatch.cli.answers import tell
    from holdwatch.recordfile import find_timezone, read_record_file

    if length is not None and food is not None:
        raise ConfigError("--lag says it and --food teaches it: give one of them")
    zone = find_timezone(timezone) if timezone is not None else None
    answer = lag_answer(
        read_record_file(air, zone).series,
        lag_min=None if length is None else read_minutes(length),
        food=None if food is None else read_record_file(food, zone).series,
    )
    tell(answer, as_json=as_json)
