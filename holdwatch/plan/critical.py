"""The critical limits of a step, read out of the limits in force: the plan has no figure of its own."""

from dataclasses import dataclass

from holdwatch.language import _
from holdwatch.limits import Limits
from holdwatch.limits.telling import NAMES
from holdwatch.plan.model import PlanStep, Product

__all__ = ["CriticalLimit", "critical_limits", "step_for"]


@dataclass(frozen=True)
class CriticalLimit:
    """One limit of a step, as the code in force puts it."""

    part: str
    name: str
    clause: str
    requires: str
    source: str
    figure: bool = True
    """Whether the code gives a figure; where it gives none, `requires` says what it says instead."""


def critical_limits(step: PlanStep, limits: Limits) -> tuple[CriticalLimit, ...]:
    """Return the limits of a step in the code in force; where it has none, what it says."""
    return tuple(found for part in step.processes for found in _of_part(part, limits))


def step_for(product: Product, process: str) -> PlanStep | None:
    """Return the step of a product in which a process is asked, ``None`` where the plan has none."""
    return next((step for step in product.steps if process in step.processes), None)


def _of_part(part: str, limits: Limits) -> list[CriticalLimit]:
    found = [
        CriticalLimit(part, _(NAMES[part]), figure.clause, figure.requires, figure.source)
        for named, figure in limits.figures()
        if named == part
    ]
    if found:
        return found
    without = limits.no_figure.get(part)
    if without is not None:
        return [CriticalLimit(part, _(NAMES[part]), without.clause, without.says, without.source, figure=False)]
    says = _("{limits} says nothing of it: your own plan or your authority decides.").format(limits=limits.title)
    return [CriticalLimit(part, _(NAMES[part]), "", says, limits.title, figure=False)]
