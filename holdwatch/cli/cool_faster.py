"""``holdwatch cool-faster``: how long a food takes to cool, wherever it could be put."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from holdwatch.cli.common import DataOption, JsonOption
from holdwatch.cli.site_facts import CodeOption

if TYPE_CHECKING:
    from holdwatch.calculators.cooling_places import Way

__all__ = ["cool_faster", "place_option", "places_known"]


def place_option(name: str, where: str) -> Any:
    """Return the option that says how cold it is somewhere."""
    return typer.Option(f"--{name}", metavar="TEMPERATURE", show_default=False, help=f"How cold it is {where}.")


def places_known(
    bench: str | None, walk_in: str | None, freezer: str | None, blast_chiller: str | None, ice_bath: str | None
) -> "dict[Way, float]":
    """Return how cold it is where somebody said so, in °C."""
    from holdwatch.calculators.cooling_places import Way
    from holdwatch.cli.times import celsius_of

    given = {
        Way.BENCH: bench,
        Way.WALK_IN: walk_in,
        Way.FREEZER: freezer,
        Way.BLAST: blast_chiller,
        Way.ICE: ice_bath,
        Way.STIRRED: ice_bath,
    }
    return {way: celsius_of(text) for way, text in given.items() if text is not None}


def cool_faster(
    food: Annotated[
        str,
        typer.Option(
            "--food",
            metavar="FOOD",
            show_default=False,
            help="pastry-cream, custard-sauce, curd, milk, cream, baked-custard, cheesecake, sponge or butter-cake; or "
            "what it is made of: 'water 66, protein 4.5, fat 6.5, carbohydrate 22, ash 1' in per cent.",
        ),
    ],
    depth: Annotated[
        str, typer.Option("--depth", metavar="DEPTH", show_default=False, help="How deep it stands: 2in or 5cm.")
    ],
    container: Annotated[
        str,
        typer.Option(
            "--container",
            metavar="CONTAINER",
            help="full-pan, half-pan, sheet-pan, half-sheet, pot, bowl, cup; or a size: 'round 8in', 20x12in.",
        ),
    ] = "full-pan",
    start: Annotated[
        str, typer.Option("--from", metavar="TEMPERATURE", help="How warm all of it is at the start.")
    ] = "135F",
    to: Annotated[
        list[str] | None,
        typer.Option(
            "--to",
            metavar="TEMPERATURE",
            show_default=False,
            help="A level to be reached; may repeat. If not given, those that the code asks.",
        ),
    ] = None,
    limits: CodeOption = None,
    bench: Annotated[str | None, place_option("bench", "in the room")] = None,
    walk_in: Annotated[str | None, place_option("walk-in", "in the walk-in or refrigerator")] = None,
    freezer: Annotated[str | None, place_option("freezer", "in the freezer")] = None,
    blast_chiller: Annotated[str | None, place_option("blast-chiller", "in the blast chiller")] = None,
    ice_bath: Annotated[str | None, place_option("ice-bath", "in the ice bath")] = None,
    shelf: Annotated[
        str, typer.Option("--shelf", metavar="rack|solid", help="Whether air passes under the container.")
    ] = "rack",
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compare how fast a food would cool, wherever it could be put.

    Bench, walk-in, freezer, blast chiller, ice bath, stirred in it, and split into shallower containers: the time to
    each level that the code asks, with its uncertainty. An estimate to choose by; it shows no limit kept.

    holdwatch cool-faster --food pastry-cream --depth 2in --container full-pan --from 180F
    """
    from holdwatch.calculators.containers import read_container
    from holdwatch.calculators.cool_faster import Cooling, cool_faster_answer
    from holdwatch.calculators.cooling import Asked, asked_by
    from holdwatch.calculators.cooling_places import read_shelf
    from holdwatch.calculators.foods import read_food
    from holdwatch.cli.answers import tell
    from holdwatch.cli.site_facts import site_facts
    from holdwatch.cli.times import celsius_of
    from holdwatch.errors import ConfigError
    from holdwatch.measures import length_m
    from holdwatch.quantities import Temperature

    cooling = Cooling(
        read_food(food),
        length_m(depth),
        read_container(container),
        celsius_of(start),
        places_known(bench, walk_in, freezer, blast_chiller, ice_bath),
        read_shelf(shelf),
    )
    site = site_facts(data, limits)
    levels = [(celsius_of(text), Temperature.parse(text)) for text in to or []]
    asked = (
        [Asked(level) for _, level in sorted(levels, key=lambda pair: -pair[0])] if levels else asked_by(site.limits)
    )
    if not asked:
        raise ConfigError(f"{site.limits.title} has no figure for cooling: name a level with --to, such as --to 41F")
    tell(cool_faster_answer(cooling, asked, site.scale, site.limits.title), as_json=as_json)
