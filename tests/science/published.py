"""Which test holds which formula against a value from outside, and where the value is from."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

__all__ = ["CHECKS", "Check", "name_of", "published"]

_Test = TypeVar("_Test", bound=Callable[..., Any])


@dataclass(frozen=True)
class Check:
    """One test, the formula that it holds against a value from outside, and the source of that value."""

    formula: str
    test: Callable[..., Any]
    source: str


CHECKS: list[Check] = []
"""Every check there is, once the tests of the formulas are imported."""


def name_of(formula: Callable[..., Any]) -> str:
    """Return the full name of a formula, such as ``holdwatch.science.conduction.slab_theta``."""
    return f"{formula.__module__}.{formula.__qualname__}"


def published(*formulas: Callable[..., Any], source: str) -> Callable[[_Test], _Test]:
    """Say that the test below holds these formulas against values that `source` publishes.

    The source is a book with its example or table, a standard with its clause, or an independent library; never our
    own earlier result.
    """

    def note(test: _Test) -> _Test:
        CHECKS.extend(Check(name_of(formula), test, source) for formula in formulas)
        return test

    return note
