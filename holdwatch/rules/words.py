"""The words in which a rule gives its reason, in the language that is spoken."""

from collections.abc import Callable
from dataclasses import dataclass

from holdwatch.clock import to_iso
from holdwatch.language import N_, _, decimals
from holdwatch.limits.model import CookingRow
from holdwatch.quantities import Duration, Scale, format_temperature
from holdwatch.readings import Medium

__all__ = ["MEDIUM", "NOTHING", "Words", "length", "of_another_medium", "row_words", "sentence"]

MEDIUM = {Medium.FOOD: N_("food"), Medium.AIR: N_("air"), Medium.PRODUCT: N_("product")}
"""What a probe stands in, as sentences say it."""
NOTHING = N_("There is no reading to judge.")


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


def length(printed: Duration) -> str:
    """Write a length of time as a code prints it."""
    return decimals(str(printed))


def row_words(row: CookingRow) -> str:
    """Write a row of a table of cooking."""
    if row.dwell is None:
        return _("{level} for an instant").format(level=row.level.figure)
    return _("{level} for {length}").format(level=row.level.figure, length=length(row.dwell))


def of_another_medium(medium: Medium) -> str:
    """Say that readings of air, or of what stands for food, say nothing of a limit for food."""
    return _("A reading of {medium} neither keeps nor breaks a limit for food.").format(medium=_(MEDIUM[medium]))


def sentence(words: str) -> str:
    """Begin a sentence with a capital letter."""
    return f"{words[:1].upper()}{words[1:]}"
