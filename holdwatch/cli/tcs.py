"""``holdwatch tcs``: whether a food needs time and temperature control, by its pH and water activity."""

from typing import Annotated

import typer

from holdwatch.cli.common import JsonOption

__all__ = ["tcs"]


def tcs(
    ph: Annotated[str, typer.Option("--ph", metavar="PH", help="pH of the food, as measured.", show_default=False)],
    aw: Annotated[str, typer.Option("--aw", metavar="AW", help="Water activity, as measured.", show_default=False)],
    ph_error: Annotated[str, typer.Option("--ph-error", metavar="±", help="How far the pH may be off.")] = "0",
    aw_error: Annotated[str, typer.Option("--aw-error", metavar="±", help="How far the activity may be off.")] = "0",
    made: Annotated[
        str | None,
        typer.Option(
            "--made",
            metavar="HOW",
            help="not-heated, heated-not-packaged or heated-and-packaged; if not given, all three are told.",
            show_default=False,
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Hold pH and water activity against tables A and B of the FDA Food Code.

    A figure that is within its uncertainty of a boundary needs a product assessment.

    holdwatch tcs --ph 5.2 --aw 0.91 --made heated-not-packaged
    """
    from holdwatch.calculators.tcs import Measured, read_made, read_number, tables_answer
    from holdwatch.cli.answers import tell

    acid = Measured(read_number(ph, "--ph"), read_number(ph_error, "--ph-error"))
    water = Measured(read_number(aw, "--aw"), read_number(aw_error, "--aw-error"))
    tell(tables_answer(acid, water, None if made is None else read_made(made)), as_json=as_json)
