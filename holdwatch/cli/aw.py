"""``holdwatch aw``: the water activity of a filling or frosting, estimated from its recipe."""

from pathlib import Path
from typing import Annotated

import typer

from holdwatch.cli.common import JsonOption

__all__ = ["aw"]


def aw(
    ingredients: Annotated[
        list[str],
        typer.Argument(
            metavar="INGREDIENT=WEIGHT…",
            help="Such as 'butter=227g', or the path of a file with one such line each. What is in no table: "
            "'jam=80g; water 30%; sucrose 35%; glucose 12%'.",
            show_default=False,
        ),
    ],
    final: Annotated[
        str | None,
        typer.Option(
            "--final", metavar="WEIGHT", show_default=False, help="What it weighs when done, if water has boiled away."
        ),
    ] = None,
    ph: Annotated[
        str | None,
        typer.Option("--ph", metavar="PH", show_default=False, help="pH, as measured; if not given, the highest."),
    ] = None,
    ph_error: Annotated[str, typer.Option("--ph-error", metavar="±", help="How far the pH may be off.")] = "0.1",
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
    """Estimate the water activity of a filling or frosting from its recipe.

    Three methods; how far they differ is the uncertainty. An estimate clears no food: it says what to have measured.

    holdwatch aw "powdered sugar=454g" "butter=227g" "heavy cream=30g" --made not-heated
    """
    from holdwatch.calculators.recipe_lines import read_lines
    from holdwatch.calculators.tcs import Measured, read_made, read_number
    from holdwatch.calculators.water import water_answer
    from holdwatch.cli.answers import tell
    from holdwatch.measures import grams

    acid = None if ph is None else Measured(read_number(ph, "--ph"), read_number(ph_error, "--ph-error"))
    answer = water_answer(
        read_lines(line for each in ingredients for line in _lines(each)),
        final_g=None if final is None else grams(final),
        ph=acid,
        heated=None if made is None else read_made(made),
    )
    tell(answer, as_json=as_json)


def _lines(given: str) -> list[str]:
    """Return an ingredient as it is, or the lines of a file of them."""
    if "=" in given:
        return [given]
    from holdwatch.errors import ConfigError

    if not given.strip():
        raise ConfigError("an ingredient is empty: write it with its weight, as 'butter=227g'")
    try:
        return Path(given).read_text(encoding="utf-8-sig").splitlines()
    except FileNotFoundError:
        raise ConfigError(f"{given!r} is neither an ingredient with a weight, as 'butter=227g', nor a file") from None
    except IsADirectoryError:
        raise ConfigError(f"{given} is a directory: name a file with one ingredient a line") from None
    except UnicodeDecodeError:
        raise ConfigError(f"{given} is no text in UTF-8: write one ingredient a line, as 'butter = 227 g'") from None
