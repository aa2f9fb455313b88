"""The written plan of the demonstration: a few starters, with some of what must be checked answered and some open."""

from dataclasses import replace

from sqlmodel import Session

from holdwatch.plan.answering import answered
from holdwatch.plan.changing import taken
from holdwatch.plan.model import Asked, Product
from holdwatch.storage.products import set_product

__all__ = ["PLANNED", "set_products"]

BY = "Ines"
WALK_IN = "Walk-in 1"
PLANNED: tuple[tuple[str, str, dict[Asked, str]], ...] = (
    ("pastry-cream", "Pastry cream", {Asked.EGG: "pasteurised", Asked.ALLERGENS: "eggs, milk"}),
    ("lemon-curd", "Lemon curd", {Asked.EGG: "raw", Asked.PH_AND_AW: "unknown", Asked.ALLERGENS: "eggs, milk"}),
    ("french-buttercream", "French buttercream yolks", {Asked.EGG: "pasteurised"}),
    ("sponge", "Sponge", {Asked.PLAIN: "yes", Asked.ALLERGENS: "gluten (wheat), eggs"}),
    ("ganache", "Ganache", {}),
)
"""Starter, name and answers of each product; what is left out is still to be checked."""


def set_products(session: Session, first_ms: int) -> None:
    """Put the products into the plan at an instant [ms]."""
    for word, name, answers in PLANNED:
        product = _stored_cold(taken(word, name))
        for asked, said in answers.items():
            product = answered(product, asked, said, by=BY, at_ms=first_ms)
        set_product(session, product, from_ms=first_ms, now_ms=first_ms, by=BY, why="the first plan")


def _stored_cold(product: Product) -> Product:
    """Return a product that is stored in the walk-in."""
    steps = tuple(replace(step, place=WALK_IN) if "cold-holding" in step.processes else step for step in product.steps)
    return replace(product, steps=steps)
