"""What people declared of a batch in the course of its life, as far as it decides what is asked of it.

The record says how warm the food was; its life says which limits that is held against, and from when to when.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from holdwatch.readings import Series
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.verdicts import Process, Step

__all__ = ["BEGINNINGS", "Counted", "Life", "Measured", "Reheated", "Span", "Stood", "spans"]

Span = tuple[int, int | None]
"""From an instant to another, or until now. [ms]"""

BEGINNINGS = (
    Process.COOK_EGGS,
    Process.COOK_EGGS_TO_ORDER,
    Process.COOLING,
    Process.AMBIENT_COOLING,
    Process.RECEIVED_COOLING,
    Process.COLD_HOLDING,
    Process.HOT_HOLDING,
)
"""What a batch may begin with; the rest of its life is declared when it comes."""

_PREPARATION = frozenset({Step.ASSEMBLE, Step.COOK, Step.SERVE})


@dataclass(frozen=True)
class Counted:
    """Time in place of temperature, or added up, from an instant on."""

    process: Process
    at_ms: int
    tray_ms: int | None = None
    """Since when what it was put with was out already: the oldest content governs. [ms]"""
    room_air: bool = False
    """Whether the written procedure lets the air of the room stand for the food."""


@dataclass(frozen=True)
class Reheated:
    """A reheating begun at an instant [ms], for hot holding or to be served at once."""

    at_ms: int
    for_service: bool = False


@dataclass(frozen=True)
class Measured:
    """What a delivery measured at the door, in ms and °C."""

    at_ms: int
    celsius: float
    part: str = "receiving-cold"
    """The part of the limits file that it is held against."""


@dataclass(frozen=True)
class Stood:
    """The unit that a batch stood in when it was taken out, if the unit itself kept the limit for long enough."""

    unit: str
    since_ms: int


@dataclass(frozen=True)
class Life:
    """What was declared of a batch, in order of time; empty for one that cools and is held."""

    begins: tuple[Process, ...] = ()
    """What is asked from the start; empty where the step decides."""
    steps: tuple[tuple[int, Step], ...] = ()
    """The steps after the first, each with its beginning. [ms]"""
    counted: tuple[Counted, ...] = ()
    reheated: tuple[Reheated, ...] = ()
    frozen: tuple[Span, ...] = ()
    received: tuple[Measured, ...] = ()
    made_ms: int | None = None
    """When it was prepared, or its container opened: the first day of its date mark. [ms]"""
    use_by: date | None = None
    """The maker's date, where it rests on safety."""
    ends_frozen: bool = False
    """Whether it ended in the freezer: no end of time control, since none of it was served, sold, used or discarded."""
    not_tcs: str = ""
    """Who declared that it needs no temperature control, and on what evidence."""
    food: frozenset[Food] = frozenset()
    """What it is made of and whom it is for, where raw egg matters."""
    stood: Stood | None = None
    room: Series | None = None
    """The air of the room that it stands in under time control, where that is measured."""

    def known_at(self, until_ms: int) -> "Life":
        """Return what was declared of it by an instant."""
        return replace(
            self,
            steps=tuple(step for step in self.steps if step[0] <= until_ms),
            counted=tuple(counted for counted in self.counted if counted.at_ms <= until_ms),
            reheated=tuple(reheated for reheated in self.reheated if reheated.at_ms <= until_ms),
            received=tuple(measured for measured in self.received if measured.at_ms <= until_ms),
            frozen=tuple(
                (first, last if last is not None and last <= until_ms else None)
                for first, last in self.frozen
                if first <= until_ms
            ),
            room=None if self.room is None else self.room.between(0, until_ms),
        )

    @property
    def prepared_for(self) -> tuple[Span, ...]:
        """When it was in no step in which holding is asked: assembled, cooked, served."""
        return spans((at, step in _PREPARATION) for at, step in self.steps)

    @property
    def entries(self) -> tuple[int, ...]:
        """The instants [ms] at which somebody recorded that something was done with it: it was there."""
        told = [at for at, _ in self.steps] + [each.at_ms for each in self.reheated]
        return tuple(sorted(told + [at for span in self.frozen for at in span if at is not None]))

    @property
    def displayed_ms(self) -> int | None:
        """Since when it is on display, or held for service [ms]."""
        return min((at for at, step in self.steps if step is Step.DISPLAY), default=None)

    @property
    def off_display(self) -> tuple[Span, ...]:
        """When it was in another step than display, before it was there and afterwards."""
        return spans((at, step is not Step.DISPLAY) for at, step in self.steps)


def spans(changes: Iterable[tuple[int, bool]]) -> tuple[Span, ...]:
    """Return the stretches in which something was so, from instants at which it became so or ceased to be."""
    found: list[Span] = []
    since: int | None = None
    for at, so in changes:
        if so and since is None:
            since = at
        elif not so and since is not None:
            found.append((since, at))
            since = None
    return (*found, (since, None)) if since is not None else tuple(found)
