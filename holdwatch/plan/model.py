"""What the written plan says of one product: what it is, what must be known of it, and its steps."""

from dataclasses import dataclass, replace
from enum import StrEnum

from holdwatch.language import N_
from holdwatch.plan.allergens import Allergen, Contains
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.verdicts import Step

__all__ = ["ABOUT", "ASKS", "HOW", "Answer", "Asked", "PlanStep", "Product", "Question", "Tcs"]


class Tcs(StrEnum):
    """Whether a product needs time and temperature control for safety."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"
    """Not known yet: it is treated as one that needs it."""


class Asked(StrEnum):
    """What must be checked of a product before it is used."""

    EGG = "egg"
    PH_AND_AW = "ph-and-aw"
    SUSCEPTIBLE = "susceptible"
    ALLERGENS = "allergens"
    PLAIN = "plain"


ASKS = {
    Asked.EGG: N_("Is the egg in it pasteurised?"),
    Asked.PH_AND_AW: N_("Are its pH and water activity known?"),
    Asked.SUSCEPTIBLE: N_("Is it served to highly susceptible people (the very young, old or sick)?"),
    Asked.ALLERGENS: N_("Which allergens are in your own recipe?"),
    Asked.PLAIN: N_("Is it plain: without filling, cream, custard, fruit or a moist soak?"),
}
"""What is asked."""
HOW = {
    Asked.EGG: N_("raw, pasteurised or none"),
    Asked.PH_AND_AW: N_("unknown, or as pH 4.4, aw 0.86, heated-not-packaged"),
    Asked.SUSCEPTIBLE: N_("yes or no"),
    Asked.ALLERGENS: N_("none, or as eggs, milk, gluten (wheat)"),
    Asked.PLAIN: N_("yes or no"),
}
"""How it is answered."""
ABOUT = {
    Asked.EGG: N_("egg"),
    Asked.PH_AND_AW: N_("pH and water activity"),
    Asked.SUSCEPTIBLE: N_("highly susceptible people"),
    Asked.ALLERGENS: N_("allergens"),
    Asked.PLAIN: N_("plain or not"),
}
"""What it is about, in a word or two."""


@dataclass(frozen=True)
class Answer:
    """What was answered, by whom and when [ms since 1970-01-01 UTC]."""

    said: str
    by: str
    at_ms: int


@dataclass(frozen=True)
class Question:
    """Something to be checked before the product is used, and why; nobody's silence counts as the harmless answer."""

    asked: Asked
    why: str
    answer: Answer | None = None

    @property
    def ask(self) -> str:
        """The question in words."""
        return ASKS[self.asked]

    @property
    def how(self) -> str:
        """How it is answered."""
        return HOW[self.asked]


@dataclass(frozen=True)
class PlanStep:
    """One step of a product: the seven principles of Codex CXC 1-1969 for it."""

    step: Step
    name: str
    """What is done, in the trade's words: "Cool in shallow pans"."""
    hazard: str
    """Principle 1: what can go wrong here."""
    critical: bool
    """Principle 2: whether control here is critical, and no later step makes up for it."""
    why_critical: str
    processes: tuple[str, ...]
    """Principle 3: the parts of the limits in force that its critical limits are read from; no figure of its own."""
    watched: str
    """Principle 4: how it is watched."""
    how_often: str
    action: str
    """Principle 5: what is done when the limit is not kept."""
    verified_by: str
    """Principle 6: who verifies, and how."""
    record: str
    """Principle 7: which record shows it."""
    place: str = ""
    """The unit in which it usually stands; empty where none was named."""
    in_time: str = ""
    """What still helps as long as the limit can be kept; empty where nothing was written."""


@dataclass(frozen=True)
class Product:
    """A product of the written plan."""

    name: str
    about: str
    """What it is, in a sentence."""
    tcs: Tcs
    """Whether it is TCS food as it is usually made; what was answered of it may say otherwise."""
    tcs_reason: str
    contains: tuple[Contains, ...]
    questions: tuple[Question, ...]
    steps: tuple[PlanStep, ...]
    made: frozenset[Food] = frozenset()
    """What its making says of its egg: several eggs combined, baked through."""
    discard: str = ""
    """When it is thrown away, beside the date mark of the limits in force; empty where nothing was written."""
    shelf_days: int | None = None
    """The kitchen's own shelf life, where it is shorter than the date mark: the day of preparation is day 1."""
    in_use: str = ""
    """For how long a piping bag, a garnish tub or a tray of it may be in use, as "4 h"; empty where nobody said."""
    starter: str = ""
    """The starter that it was taken from; empty for one's own."""

    @property
    def allergens(self) -> tuple[Allergen, ...]:
        """The allergens in it, in the order of Annex II."""
        return tuple(each.allergen for each in self.contains)

    @property
    def unanswered(self) -> tuple[Question, ...]:
        """What is still to be checked before it is used."""
        return tuple(each for each in self.questions if each.answer is None)

    def said(self, asked: Asked) -> str | None:
        """Return what was answered, ``None`` where it was not, or is not asked of this product."""
        return next((each.answer.said for each in self.questions if each.asked is asked and each.answer), None)

    def asks(self, asked: Asked) -> bool:
        """Return whether something is asked of this product."""
        return any(each.asked is asked for each in self.questions)

    def with_answer(self, asked: Asked, answer: Answer | None) -> "Product":
        """Return the product with a question answered, or open again."""
        questions = tuple(replace(each, answer=answer) if each.asked is asked else each for each in self.questions)
        return replace(self, questions=questions)
