"""Changing a product of the plan: taken from a starter, a step changed, put in or left out."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from holdwatch.errors import ConfigError
from holdwatch.language import _, speaking, spoken
from holdwatch.plan.model import PlanStep, Product
from holdwatch.plan.starters import starter

__all__ = ["step_numbered", "taken", "with_new_step", "with_step", "with_step_instead", "without_step"]


def taken(word: str, name: str = "", *, language: str = "") -> Product:
    """Return a starter as a product of the kitchen, under a name of its own where one is given.

    Parameters
    ----------
    language : in which it is written from then on; that which is spoken if none is given.

    Raises
    ------
    ConfigError
        If there is no such starter.
    """
    with speaking(language or spoken()):
        found = starter(word)
    return replace(found, name=name.strip() or found.name, starter=word)


def step_numbered(product: Product, number: int) -> PlanStep:
    """Return a step by its number, the first being 1.

    Raises
    ------
    ConfigError
        If it has none of that number.
    """
    if not 1 <= number <= len(product.steps):
        raise ConfigError(
            _("{product} has no step {number}: give one from 1 to {steps}").format(
                product=product.name, number=number, steps=len(product.steps)
            )
        )
    return product.steps[number - 1]


def with_step(product: Product, number: int, changes: Mapping[str, Any]) -> Product:
    """Return the product with some fields of a step changed."""
    return with_step_instead(product, number, replace(step_numbered(product, number), **changes))


def with_step_instead(product: Product, number: int, step: PlanStep) -> Product:
    """Return the product with another step in the place of one."""
    step_numbered(product, number)
    return replace(product, steps=(*product.steps[: number - 1], step, *product.steps[number:]))


def with_new_step(product: Product, number: int, step: PlanStep) -> Product:
    """Return the product with one more step, which has this number afterwards."""
    if not 1 <= number <= len(product.steps) + 1:
        raise ConfigError(
            _("a new step of {product} cannot be number {number}: it has {steps}").format(
                product=product.name, number=number, steps=len(product.steps)
            )
        )
    return replace(product, steps=(*product.steps[: number - 1], step, *product.steps[number - 1 :]))


def without_step(product: Product, number: int) -> Product:
    """Return the product without a step.

    Raises
    ------
    ConfigError
        If it has none of that number, or no other.
    """
    step_numbered(product, number)
    if len(product.steps) == 1:
        raise ConfigError(
            _("{product} has one step only: change it, or retire the product").format(product=product.name)
        )
    return replace(product, steps=(*product.steps[: number - 1], *product.steps[number:]))
