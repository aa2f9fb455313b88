"""The words in which a rule gives its reason."""

from collections.abc import Callable
from dataclasses import dataclass

from holdwatch.clock import to_iso
from holdwatch.quantities import Scale, format_temperature

__all__ = ["Words"]


def _utc(at_ms: int) -> str:
    return to_iso(at_ms).replace("T", " ").replace("Z", " UTC")


@dataclass(frozen=True)
class Words:
    """How instants and temperatures are written in reasons; by default in UTC and in the unit of the code."""

    when: Callable[[int], str] = _utc
    scale: Scale | None = None

    def temperature(self, celsius: float, scale: Scale) -> str:
        """Write a temperature in the unit set, else in the unit of the code."""
        return format_temperature(celsius, self.scale or scale).replace("\u202f", " ")
