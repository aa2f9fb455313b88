"""One shape for every reckoned answer, so that the command line and the screens tell it alike."""

import math
from dataclasses import dataclass, field
from typing import Any

from holdwatch.language import _
from holdwatch.quantities import Scale, format_difference

__all__ = ["Answer", "Basis", "give_or_take"]


def give_or_take(error_c: float, scale: Scale) -> str:
    """Write an uncertainty, never smaller than it is: rounded up to a tenth of a degree."""
    tenths = math.ceil(error_c * (1.8 if scale is Scale.F else 1.0) * 10 - 1e-6)
    return f"± {format_difference(tenths / (18 if scale is Scale.F else 10), scale, 1)}"


@dataclass(frozen=True)
class Basis:
    """What a reckoned figure rests on, in words."""

    formula: str
    covers: str
    """The range in which it was asked and may be asked."""
    error: str
    source: str

    def said(self) -> "Basis":
        """Return it in the language that is spoken; a source is cited as it is."""
        return Basis(_(self.formula), _(self.covers), _(self.error), self.source)


@dataclass(frozen=True)
class Answer:
    """A reckoned answer: never a verdict, never in place of a published limit."""

    says: str
    """The answer in one or two sentences."""
    basis: Basis
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    """A table under the answer; its first column says what a row is about."""
    notes: tuple[str, ...] = ()
    caution: str = ""
    data: dict[str, Any] = field(default_factory=dict)
    """The same for a program: temperatures in °C, pressures in Pa, weights in g, shares in per cent."""

    def for_programs(self) -> dict[str, Any]:
        """Return the answer with what it rests on."""
        rests_on = {
            "formula": self.basis.formula,
            "range": self.basis.covers,
            "error": self.basis.error,
            "source": self.basis.source,
        }
        return {**self.data, "says": self.says, "notes": list(self.notes), **rests_on, "caution": self.caution}
