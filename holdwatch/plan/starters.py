"""Starter products of the pastry trade: a plan to begin with, to be checked against one's own recipe.

Their files are English; whoever asks for one gets it in the language that is spoken.
"""

import tomllib
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.limits.table import Table
from holdwatch.plan.model import PlanStep, Product
from holdwatch.plan.reading import product_of

__all__ = ["known_starters", "read_product_file", "starter", "texts"]

_HERE = Path(__file__).parent / "starters"


def known_starters() -> tuple[str, ...]:
    """Return the words by which the starters are taken."""
    return tuple(sorted(path.stem for path in _HERE.glob("*.toml")))


def starter(word: str) -> Product:
    """Return a starter product in the language that is spoken; allergens keep the words by which they are known.

    Raises
    ------
    ConfigError
        If there is none of that word.
    """
    return _told(_written(word), _)


def texts() -> tuple[str, ...]:
    """Return everything that the starters say, for whoever translates it."""
    found: dict[str, None] = {}

    def kept(text: str) -> str:
        found[text] = None
        return text

    for word in known_starters():
        _told(_written(word), kept)
    return tuple(text for text in found if text)


@cache
def _written(word: str) -> Product:
    if word not in known_starters():
        raise ConfigError(
            _("no starter is called {word!r}: use one of {known}").format(word=word, known=", ".join(known_starters()))
        )
    return read_product_file(_HERE / f"{word}.toml")


def _told(product: Product, tell: Callable[[str], str]) -> Product:
    """Return a product with each of its texts as `tell` says it."""

    def step(each: PlanStep) -> PlanStep:
        return replace(
            each,
            name=tell(each.name),
            hazard=tell(each.hazard),
            why_critical=tell(each.why_critical),
            watched=tell(each.watched),
            how_often=tell(each.how_often),
            in_time=tell(each.in_time),
            action=tell(each.action),
            verified_by=tell(each.verified_by),
            record=tell(each.record),
        )

    return replace(
        product,
        name=tell(product.name),
        about=tell(product.about),
        tcs_reason=tell(product.tcs_reason),
        discard=tell(product.discard),
        questions=tuple(replace(each, why=tell(each.why)) for each in product.questions),
        steps=tuple(map(step, product.steps)),
    )


def read_product_file(path: Path) -> Product:
    """Read a product from a file in the form of the starters.

    Raises
    ------
    ConfigError
        If it cannot be read, or breaks the schema.
    """
    try:
        data = tomllib.loads(path.read_bytes().decode("utf-8"))
    except OSError as exc:
        raise ConfigError(
            _("cannot read product file {path}: {strerror}").format(path=path, strerror=exc.strerror)
        ) from exc
    except UnicodeDecodeError as exc:
        raise ConfigError(_("product file {path} is not UTF-8 text: save it as UTF-8").format(path=path)) from exc
    except tomllib.TOMLDecodeError as exc:
        raise ConfigError(_("product file {path} is not TOML: {exc}").format(path=path, exc=exc)) from exc
    return product_of(Table(path, "", data, what=N_("product file"), error=ConfigError))
