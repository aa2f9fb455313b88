"""Where food is put to cool: how cold it is there, and how well its surface gives off heat."""

from dataclasses import dataclass, replace
from enum import StrEnum

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.science.cooling_time import Range, Surroundings

__all__ = ["PLACES", "CoolingPlace", "Shelf", "Way", "read_shelf", "surroundings_of"]


class Shelf(StrEnum):
    """What the container stands on, in air."""

    RACK = "rack"
    """Wire: air passes underneath."""
    SOLID = "solid"


class Way(StrEnum):
    """Where to cool."""

    BENCH = "bench"
    WALK_IN = "walk-in"
    FREEZER = "freezer"
    BLAST = "blast-chiller"
    ICE = "ice-bath"
    STIRRED = "stirred-ice-bath"


@dataclass(frozen=True)
class CoolingPlace:
    """A place, what is usual there, and where its surface coefficient is from."""

    title: str
    celsius: float
    off_c: float
    """How far the temperature that is said of it may be off, either way. Ours."""
    h_w_m2k: Range
    source: str


_STILL = N_(
    "6: fruit in a refrigerator (Lienhard, Example 5.2); 9.4: still air in a cold store (a refrigeration data table); 20: beside a fan, a rough stream of 2 m/s over a flat plate, and more"
)
PLACES = {
    Way.BENCH: CoolingPlace(
        N_("on the bench"),
        21.0,
        1.5,
        Range(6.0, 8.5, 12.0),
        N_(
            "8.5: butter in the air of a room (Geankoplis, Example 5.3-2); ends from natural convection (McAdams) and radiation"
        ),
    ),
    Way.WALK_IN: CoolingPlace(N_("in the walk-in"), 3.3, 1.0, Range(6.0, 9.4, 20.0), _STILL),
    Way.FREEZER: CoolingPlace(N_("in the freezer"), -18.0, 3.0, Range(6.0, 9.4, 20.0), _STILL),
    Way.BLAST: CoolingPlace(
        N_("in the blast chiller"),
        -10.0,
        6.0,
        Range(12.0, 30.0, 60.0),
        N_("a flat plate in air of 3 m/s, smooth, to 10 m/s, rough: ask its maker"),
    ),
    Way.ICE: CoolingPlace(
        N_("in an ice bath"),
        1.0,
        1.0,
        Range(100.0, 250.0, 500.0),
        N_("natural convection of water at a wall (Churchill and Chu); ice up to the level of the food"),
    ),
    Way.STIRRED: CoolingPlace(
        N_("in an ice bath, stirred all the while"),
        1.0,
        1.0,
        Range(80.0, 200.0, 400.0),
        N_("80 to 400 through a metal wall, from memory; ice up to the level of the food"),
    ),
}


def read_shelf(text: str) -> Shelf:
    """Read what the container stands on.

    Raises
    ------
    ConfigError
        If it is neither word.
    """
    try:
        return Shelf(text.strip().lower())
    except ValueError:
        raise ConfigError(
            _("{text!r} is no shelf: write rack, where air passes underneath, or solid").format(text=text)
        ) from None


def surroundings_of(way: Way, celsius: float | None = None, shelf: Shelf = Shelf.RACK) -> Surroundings:
    """Return what food stands in there; `celsius` where somebody knows better.

    In a bath heat leaves through bottom and sides, not through the top. Food on a solid shelf is taken to lose none
    through its bottom, which is slower than it is.
    """
    place = PLACES[way]
    middle = place.celsius if celsius is None else celsius
    bath = way in (Way.ICE, Way.STIRRED)
    if bath and middle < 0:
        raise ConfigError(_("an ice bath is not below 0 °C: ice with salt is none that is reckoned here"))
    low = max(middle - place.off_c, 0.0) if bath else middle - place.off_c  # ice and water are not below 0 °C
    around = Surroundings(Range(low, middle, middle + place.off_c), place.h_w_m2k)
    return replace(around, both_faces=shelf is Shelf.RACK and not bath, mixed=way is Way.STIRRED)
