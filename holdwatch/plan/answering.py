"""Answering what must be checked of a product: each question takes its own words, and nothing else."""

import re
from dataclasses import dataclass, replace

from holdwatch.calculators.tcs import Measured, read_made, read_number, tables_answer
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.language import N_, _
from holdwatch.plan.allergens import read_contains
from holdwatch.plan.model import ASKS, HOW, Answer, Asked, Product
from holdwatch.rules.tcs import Heated

__all__ = ["CHOICES", "UNKNOWN", "Figures", "answered", "answered_anew", "figures_of", "read_answer", "reopened"]

UNKNOWN = "unknown"
CHOICES = {
    Asked.EGG: (N_("raw"), N_("pasteurised"), N_("none")),
    Asked.SUSCEPTIBLE: (N_("yes"), N_("no")),
    Asked.PLAIN: (N_("yes"), N_("no")),
}
"""The questions that take one of a few words."""

_FIGURE = r"(\d+(?:[.]\d+)?)(?:\s*(?:±|\+/-)\s*(\d+(?:[.]\d+)?))?"
_FIGURES = re.compile(rf"ph\s*{_FIGURE}\s*[,;]?\s+aw\s*{_FIGURE}(?:\s*[,;]?\s+([a-z-]+))?", re.IGNORECASE)


@dataclass(frozen=True)
class Figures:
    """pH and water activity as they were measured, and how the food was made."""

    ph: Measured
    water_activity: Measured
    heated: Heated

    def __str__(self) -> str:
        return f"pH {self.ph}, aw {self.water_activity}, {self.heated}"


def read_answer(asked: Asked, text: str) -> str:
    """Return an answer as it is kept.

    Raises
    ------
    ConfigError
        If it does not answer the question.
    """
    said = text.strip()
    if asked in CHOICES:
        if said.casefold() not in CHOICES[asked]:
            raise ConfigError(
                _("{text!r} does not answer: {asks} Write {how}").format(
                    text=text, asks=_(ASKS[asked]), how=_(HOW[asked])
                )
            )
        return said.casefold()
    if asked is Asked.ALLERGENS:
        return ", ".join(map(str, read_contains(said))) or "none"
    return UNKNOWN if said.casefold() == UNKNOWN else str(_figures(said))


def answered(product: Product, asked: Asked, text: str, *, by: str, at_ms: int) -> Product:
    """Return the product with a question answered; what is said of its allergens is in it from then on.

    Raises
    ------
    ConfigError
        If it is not asked of this product, or the words do not answer it.
    """
    _must_ask(product, asked)
    said = read_answer(asked, text)
    found = product.with_answer(asked, Answer(said, by, at_ms))
    return replace(found, contains=read_contains(said)) if asked is Asked.ALLERGENS else found


def reopened(product: Product, asked: Asked) -> Product:
    """Return the product with a question open again.

    Raises
    ------
    ConfigError
        If it is not asked of this product.
    """
    _must_ask(product, asked)
    return product.with_answer(asked, None)


def answered_anew(product: Product, before: Product | None, *, by: str, at_ms: int) -> Product:
    """Return a product that somebody wrote, with every answer that was not there before as theirs.

    Raises
    ------
    ConfigError
        If an answer answers nothing.
    """
    for question in product.questions:
        said = question.answer
        if said is None:
            continue
        known = [] if before is None else [each.answer for each in before.questions if each.asked is question.asked]
        if said not in known:
            product = answered(product, question.asked, said.said, by=by, at_ms=at_ms)
    return product


def figures_of(product: Product) -> Figures | None:
    """Return pH and water activity where they were measured, ``None`` where nobody knows them."""
    said = product.said(Asked.PH_AND_AW)
    return None if said in (None, UNKNOWN) else _figures(said)


def _must_ask(product: Product, asked: Asked) -> None:
    if not product.asks(asked):
        asks = ", ".join(each.asked.value for each in product.questions)
        raise ConfigError(
            _("{asked!r} is not asked of {product}: it is asked {asks}").format(
                asked=asked.value, product=product.name, asks=asks
            )
        )


def _figures(text: str) -> Figures:
    match = _FIGURES.fullmatch(text)
    if match is None:
        raise ConfigError(
            _("{text!r} does not answer: {asks} Write {how}").format(
                text=text, asks=_(ASKS[Asked.PH_AND_AW]), how=_(HOW[Asked.PH_AND_AW])
            )
        )
    ph, ph_error, water, water_error, made = match.groups()
    try:
        figures = Figures(
            Measured(read_number(ph), read_number(ph_error or "0")),
            Measured(read_number(water), read_number(water_error or "0")),
            Heated.NOT_PACKAGED if made is None else read_made(made.casefold()),
        )
        tables_answer(figures.ph, figures.water_activity, figures.heated)
    except HoldwatchError as exc:
        raise ConfigError(_("{text!r} cannot be: {exc}").format(text=text, exc=exc)) from exc
    return figures
