"""A product of the plan in lines, and what changed between two of its versions."""

from collections.abc import Iterator, Mapping
from typing import Any

from holdwatch.language import N_, _, sense
from holdwatch.limits import Limits
from holdwatch.plan.allergens import told, told_us
from holdwatch.plan.control import need_of
from holdwatch.plan.critical import critical_limits
from holdwatch.plan.model import PlanStep, Product
from holdwatch.rules.verdicts import Step

__all__ = ["PRINCIPLES", "TCS_WORDS", "critical_words", "differences", "product_lines", "step_rows", "step_words"]

PRINCIPLES = (
    N_("Hazard"),
    N_("Critical control point"),
    N_("Critical limit"),
    N_("Monitoring"),
    N_("Corrective action"),
    N_("Verification"),
    N_("Record"),
)
"""The seven principles of Codex CXC 1-1969, as rows of a step."""

TCS_WORDS = {"yes": N_("TCS food"), "no": N_("no TCS food"), "unknown": N_("not known yet, treated as TCS food")}


def step_words(step: str) -> str:
    """Say which step it is: cook, cool, store."""
    if step == Step.COOK:
        return sense("step", "cook")
    return sense("step", "hold") if step == Step.HOLD else _(step)


def step_rows(step: PlanStep, limits: Limits) -> tuple[tuple[str, str], ...]:
    """Return what the plan says of a step under the limits in force, one row for each principle."""
    critical = _("Yes") if step.critical else _("No")
    return tuple(
        zip(
            map(_, PRINCIPLES),
            (
                step.hazard,
                f"{critical}. {step.why_critical}",
                critical_words(step, limits),
                f"{step.watched} {step.how_often}",
                _("In time: {in_time} Not kept: {action}").format(in_time=step.in_time, action=step.action)
                if step.in_time
                else step.action,
                step.verified_by,
                step.record,
            ),
            strict=True,
        )
    )


def critical_words(step: PlanStep, limits: Limits) -> str:
    """Return the critical limits of a step in a sentence each."""
    found = critical_limits(step, limits)
    if not found:
        return _("no limit asked")
    return "; ".join(f"{each.requires} ({each.clause})" if each.clause else each.requires for each in found)


def product_lines(product: Product, limits: Limits) -> Iterator[str]:
    """Give a product in lines, for a console."""
    need = need_of(product)
    yield f"{product.name}: {product.about}"
    yield f"  {_(TCS_WORDS[need.tcs.value])}: {need.reason}"
    yield f"  Allergens: {told(product.contains)} (in the United States: {told_us(product.contains)})"
    if product.shelf_days is not None:
        yield f"  Shelf life of our own: {product.shelf_days} d, the day of preparation being day 1"
    if product.in_use:
        yield f"  In use: {product.in_use} at most, for a piping bag, a garnish tub or a tray"
    if product.discard:
        yield f"  Discard: {product.discard}"
    for question in product.questions:
        said = "TO CHECK" if question.answer is None else f"{question.answer.said}, {question.answer.by}"
        yield f"  {question.asked}: {said}. {question.ask} ({question.how})"
        yield f"      {question.why}"
    for number, step in enumerate(product.steps, 1):
        place = f", usually in {step.place}" if step.place else ""
        yield f"Step {number}, {step.step}: {step.name}{place}"
        for name, words in step_rows(step, limits):
            yield f"  {name}: {words}"


def differences(before: Mapping[str, Any] | None, after: Mapping[str, Any]) -> Iterator[str]:
    """Give what changed from one version's data to the next, a line each."""
    if not after:
        yield "retired"
        return
    if not before:
        yield "in the plan"
        return
    was, now = dict(_flat("", before)), dict(_flat("", after))
    for key in {**was, **now}:
        if was.get(key) != now.get(key):
            yield f"{key}: {was.get(key, 'nothing')} → {now.get(key, 'nothing')}"


def _flat(where: str, value: Any) -> Iterator[tuple[str, str]]:
    """Give every figure of nested data with where it stands; an instant of an answer says nothing to a reader."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key != "at_ms":
                yield from _flat(f"{where} {key}".strip(), inner)
    elif isinstance(value, list) and value and isinstance(value[0], Mapping):
        for number, inner in enumerate(value, 1):
            name = inner.get("asked", f"{where.removesuffix('s')} {number}")
            yield from _flat(str(name), inner)
    else:
        yield where, ", ".join(map(str, value)) if isinstance(value, list) else str(value)
