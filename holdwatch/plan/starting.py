"""What a batch of a product begins with: nothing laxer follows from what nobody answered."""

from dataclasses import dataclass
from typing import Literal

from holdwatch.language import _
from holdwatch.plan.allergens import told
from holdwatch.plan.control import need_of
from holdwatch.plan.model import Asked, Product
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.verdicts import Process, Step

__all__ = ["Start", "start_of"]

_COOKING = (Process.COOK_EGGS, Process.COOK_EGGS_TO_ORDER)
_COOLING = (Process.COOLING, Process.AMBIENT_COOLING, Process.RECEIVED_COOLING)
_HOLDING = (Process.COLD_HOLDING, Process.HOT_HOLDING)
_EGG = {"pasteurised": Food.PASTEURISED_EGG, "none": Food.NO_EGG}


@dataclass(frozen=True)
class Start:
    """What a batch is started with, as `storage.batching.start_batch` takes it."""

    step: Step
    processes: tuple[Process, ...]
    holding: Literal["cold", "hot"]
    food: tuple[Food, ...]
    not_tcs: str
    place: str
    """The unit in which it usually stands first; nobody has said that it does."""
    to_check: tuple[str, ...]
    """What is still to be checked, in words."""
    taken_as: tuple[str, ...]
    """What is assumed until then, in words."""


def start_of(product: Product, *, site_susceptible: str = "") -> Start:
    """Return what a batch of a product begins with.

    Parameters
    ----------
    site_susceptible : what the site answered for all that it serves, ``yes``, ``no`` or nothing; the stricter of
        this and the product's own answer counts.
    """
    need = need_of(product)
    egg, answers = product.said(Asked.EGG), {product.said(Asked.SUSCEPTIBLE), site_susceptible}
    susceptible = next((each for each in ("yes", "no") if each in answers), "")
    open_ones = [each for each in product.unanswered if each.asked is not Asked.SUSCEPTIBLE or not susceptible]
    holding = _first(product, _HOLDING)
    return Start(
        step=product.steps[0].step,
        processes=_processes(product, need_asked=need.asked),
        holding="hot" if holding is Process.HOT_HOLDING else "cold",
        food=_food(product, egg, susceptible),
        not_tcs="" if need.asked else need.reason.rstrip("."),
        place=next((each.place for each in product.steps if each.place), ""),
        to_check=tuple(each.ask for each in open_ones),
        taken_as=tuple(_taken_as(product, {each.asked for each in open_ones})),
    )


def _processes(product: Product, *, need_asked: bool) -> tuple[Process, ...]:
    """Return what is asked from the start, in order: cooking, then cooling, else holding."""
    cooks = _first(product, _COOKING)
    if cooks is None and need_asked and _raw_egg(product) and Food.BAKED not in product.made:
        cooks = Process.COOK_EGGS  # no step cooks it, and raw egg may be in it: the record is to show that it was
    then = _first(product, _COOLING) or _first(product, _HOLDING)
    return tuple(each for each in (cooks, then) if each is not None)


def _food(product: Product, egg: str | None, susceptible: str) -> tuple[Food, ...]:
    if not product.asks(Asked.EGG):
        return ()
    made = product.made if egg != "none" else frozenset()
    facts = {_EGG.get(egg or "", Food.RAW_EGG), *made}
    if susceptible != "no":
        facts.add(Food.SUSCEPTIBLE)
    return tuple(each for each in Food if each in facts)


def _raw_egg(product: Product) -> bool:
    return product.asks(Asked.EGG) and product.said(Asked.EGG) not in _EGG


def _taken_as(product: Product, unanswered: set[Asked]) -> list[str]:
    """Say what is assumed of what nobody answered."""
    words = {
        Asked.EGG: _("its egg is taken as raw"),
        Asked.SUSCEPTIBLE: _("it is held to what is owed to highly susceptible people"),
        Asked.PLAIN: _("it is treated as TCS food"),
        Asked.ALLERGENS: _("its allergens are those of the starter, not confirmed: {allergens}").format(
            allergens=told(product.contains)
        ),
    }
    if need_of(product).asked:
        words[Asked.PH_AND_AW] = _("it is treated as TCS food")
    said = [words[each] for each in Asked if each in unanswered and each in words]
    return list(dict.fromkeys(said))


def _first(product: Product, processes: tuple[Process, ...]) -> Process | None:
    """Return the first of some processes that a step of the product names."""
    named = (process for step in product.steps for process in step.processes)
    return next((Process(process) for process in named if process in processes), None)
