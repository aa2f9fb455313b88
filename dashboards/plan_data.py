"""What the screens ask of the written plan, and what they change in it; like `data`, for one part of a page."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from dashboards.data import now_ms, set_up, store, told
from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.limits import Limits
from holdwatch.plan.answering import answered, reopened
from holdwatch.plan.changing import taken, with_new_step, with_step_instead, without_step
from holdwatch.plan.model import Asked, PlanStep, Product
from holdwatch.plan.telling import differences
from holdwatch.records.plan_paper import Wanted, plan_pdf
from holdwatch.storage import products
from holdwatch.storage.inforce import limits_of
from holdwatch.storage.planned import Planned, planned
from holdwatch.storage.register import site_at

__all__ = [
    "Change",
    "add_step",
    "answer",
    "by_the_plan",
    "change_step",
    "drop_step",
    "history",
    "in_force",
    "limits",
    "paper",
    "retire",
    "set_own_times",
    "susceptible",
    "take",
]


@dataclass(frozen=True)
class Change:
    """One version of a product: since when [ms], by whom, why, and what became different."""

    from_ms: int
    by: str
    why: str
    what: tuple[str, ...]


def in_force() -> tuple[Product, ...]:
    """Return the products of the plan, by name."""
    with store().read() as session:
        return products.products_in_force(session, now_ms())


def limits() -> Limits:
    """Return the limits in force, from which the plan's critical limits are read."""
    with store().read() as session:
        return limits_of(session, site_at(session, now_ms()))


def susceptible() -> str:
    """Return whether highly susceptible people are served, as the site answered for all; empty where it did not."""
    with store().read() as session:
        return site_at(session, now_ms()).susceptible


def by_the_plan(name: str, at_ms: int) -> Planned | None:
    """Return what the plan said of a batch of a product that began at an instant [ms], if it had such a product."""
    with store().read() as session:
        return planned(session, name, at_ms)


def history(name: str) -> list[Change]:
    """Return every change of a product, the newest first."""
    with store().read() as session:
        versions = products.product_history(session, name)
    befores = [None, *(each.plan for each in versions)]
    changes = [
        Change(each.from_ms, each.by, each.why, tuple(differences(before, each.plan)))
        for before, each in zip(befores, versions, strict=False)
    ]
    return changes[::-1]


def paper(size: str, by: str, *, only_procedures: bool) -> bytes:
    """Return the plan in force as a PDF, or only its procedures for time as a public health control; a viewer prints."""
    return plan_pdf(store(), Wanted(only_procedures=only_procedures, paper=size, by=by), now_ms=now_ms())


# ---------------------------------------------------------------- what is changed


@told
def take(word: str, name: str, *, by: str, pin: str) -> bool:
    """Take a starter into the plan, written in the language of the site, whoever takes it."""
    with store().read() as session:
        language = site_at(session, now_ms()).language
    product = taken(word, name, language=language)
    with set_up(by, pin) as (session, now):
        if products.product_at(session, product.name, now) is not None:
            raise ConfigError(
                _("the plan has a product {product!r} already: give this one another name").format(product=product.name)
            )
        products.set_product(session, product, from_ms=now, now_ms=now, by=by, why=_("taken from a starter"))
    return True


@told
def answer(name: str, asked: Asked, said: str, *, by: str, pin: str) -> bool:
    """Answer a question of a product; with nothing said it is open again."""
    now = now_ms()

    def change(product: Product) -> Product:
        return answered(product, asked, said, by=by, at_ms=now) if said else reopened(product, asked)

    return _changed(name, change, f"{asked} answered: {said or 'open'}", by, pin)


@told
def set_own_times(name: str, days: int, in_use: str, discard: str, why: str, *, by: str, pin: str) -> bool:
    """Set the kitchen's own shelf life in days, 0 for none, its time in use, and when it is thrown away besides."""
    return _changed(
        name,
        lambda product: replace(product, shelf_days=days or None, in_use=in_use, discard=discard),
        why or _("own times set"),
        by,
        pin,
    )


@told
def change_step(name: str, number: int, step: PlanStep, why: str, *, by: str, pin: str) -> bool:
    """Put another step in the place of one."""
    return _changed(name, lambda product: with_step_instead(product, number, step), why, by, pin)


@told
def add_step(name: str, number: int, step: PlanStep, why: str, *, by: str, pin: str) -> bool:
    """Put a step into a product, with this number."""
    return _changed(name, lambda product: with_new_step(product, number, step), why, by, pin)


@told
def drop_step(name: str, number: int, why: str, *, by: str, pin: str) -> bool:
    """Leave a step out."""
    return _changed(name, lambda product: without_step(product, number), why, by, pin)


@told
def retire(name: str, why: str, *, by: str, pin: str) -> bool:
    """Take a product out of the plan."""
    with set_up(by, pin) as (session, now):
        products.retire_product(session, name, from_ms=now, now_ms=now, by=by, why=why)
    return True


def _changed(name: str, change: Callable[[Product], Product], why: str, by: str, pin: str) -> bool:
    """Change a product as a manager, whose signature goes with it."""
    with set_up(by, pin) as (session, now):
        product = change(products.product_named(session, name, now))
        products.set_product(session, product, from_ms=now, now_ms=now, by=by, why=why)
    return True
