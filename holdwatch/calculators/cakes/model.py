"""What a cake is planned by."""

from dataclasses import dataclass
from enum import StrEnum

from holdwatch.calculators.cooling_places import Way
from holdwatch.calculators.foods import Food
from holdwatch.quantities import Duration, Temperature
from holdwatch.science.cooling_time import Pan, Pot

__all__ = ["Cake", "Display", "Part", "Stage"]


class Display(StrEnum):
    """Where the cake waits for its guests."""

    CASE = "case"
    """Kept cold."""
    ROOM = "room"


@dataclass(frozen=True)
class Stage:
    """One stage of cooling: where, until the point that cools last is at a level."""

    way: Way
    to: Temperature


@dataclass(frozen=True)
class Part:
    """The layers, or the filling: made hot, and cooled until they can be used."""

    food: Food
    container: Pan | Pot
    depth_m: float
    takes: Duration
    out_at: Temperature
    cool: tuple[Stage, ...]
    controlled: bool = False
    """TCS food: cooled and kept as the code asks."""

    @property
    def used_at(self) -> Temperature:
        """The level at which it can be used: that of its last stage."""
        return self.cool[-1].to


@dataclass(frozen=True)
class Cake:
    """A cake from the oven to the last piece."""

    title: str
    layers: Part
    filling: Part
    assemble: Duration
    height_m: float
    set: Duration
    display: Duration
    where: Display
    serving: Duration
