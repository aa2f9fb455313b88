"""The allergens that a label names, in the words of the two laws that a pastry kitchen meets.

Annex II of Regulation (EU) No 1169/2011 has fourteen. Section 201(qq) of the U.S. Federal Food, Drug, and Cosmetic
Act has nine major ones: eight of the Food Allergen Labeling and Consumer Protection Act of 2004, and sesame of the
FASTER Act of 2021, in force since 1 January 2023. Of the cereals that contain gluten the U.S. law names wheat alone.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _

__all__ = ["EU_WORDS", "US_WORDS", "Allergen", "Contains", "read_contains", "told", "told_us"]


class Allergen(StrEnum):
    """The fourteen of Annex II, in its order."""

    GLUTEN = "gluten"
    CRUSTACEANS = "crustaceans"
    EGGS = "eggs"
    FISH = "fish"
    PEANUTS = "peanuts"
    SOYBEANS = "soybeans"
    MILK = "milk"
    NUTS = "nuts"
    CELERY = "celery"
    MUSTARD = "mustard"
    SESAME = "sesame"
    SULPHITES = "sulphites"
    LUPIN = "lupin"
    MOLLUSCS = "molluscs"


EU_WORDS: Mapping[Allergen, str] = MappingProxyType(
    {
        Allergen.GLUTEN: N_("cereals containing gluten"),
        Allergen.CRUSTACEANS: N_("crustaceans"),
        Allergen.EGGS: N_("eggs"),
        Allergen.FISH: N_("fish"),
        Allergen.PEANUTS: N_("peanuts"),
        Allergen.SOYBEANS: N_("soybeans"),
        Allergen.MILK: N_("milk"),
        Allergen.NUTS: N_("nuts"),
        Allergen.CELERY: N_("celery"),
        Allergen.MUSTARD: N_("mustard"),
        Allergen.SESAME: N_("sesame seeds"),
        Allergen.SULPHITES: N_("sulphur dioxide and sulphites"),
        Allergen.LUPIN: N_("lupin"),
        Allergen.MOLLUSCS: N_("molluscs"),
    }
)
"""As Annex II of Regulation (EU) No 1169/2011 names them."""

US_WORDS: Mapping[Allergen, str] = MappingProxyType(
    {
        Allergen.GLUTEN: N_("wheat"),
        Allergen.CRUSTACEANS: N_("crustacean shellfish"),
        Allergen.EGGS: N_("egg"),
        Allergen.FISH: N_("fish"),
        Allergen.PEANUTS: N_("peanuts"),
        Allergen.SOYBEANS: N_("soybeans"),
        Allergen.MILK: N_("milk"),
        Allergen.NUTS: N_("tree nuts"),
        Allergen.SESAME: N_("sesame"),
    }
)
"""The nine major allergens of 21 U.S.C. 321(qq), as it names them; the others have no word there."""

_NO_WHEAT = frozenset(
    {
        *("rye", "barley", "oat", "oats", "and", "or"),
        *("centeno", "cebada", "avena", "y", "o"),
        *("seigle", "orge", "avoine", "et", "ou"),
    }
)
"""The cereals of Annex II that are no wheat, in each language, and what joins two of them."""
_ONE = re.compile(r"\s*(?P<word>[a-z]+)\s*(?:\((?P<named>[^()]+)\))?\s*", re.IGNORECASE)
_BETWEEN = re.compile(r",(?![^()]*\))")


@dataclass(frozen=True)
class Contains:
    """An allergen in a product, and which cereal, nut or fish it is where the law asks for the name."""

    allergen: Allergen
    named: str = ""
    """Such as ``wheat`` or ``almond, hazelnut``; empty where nobody said."""

    def __str__(self) -> str:
        return f"{self.allergen} ({self.named})" if self.named else self.allergen.value


def read_contains(text: str) -> tuple[Contains, ...]:
    """Read allergens as they are written: ``eggs, milk, gluten (wheat)``; ``none`` is none.

    Raises
    ------
    ConfigError
        If a word names none of the fourteen.
    """
    if text.strip().casefold() == "none":
        return ()
    found: dict[Allergen, Contains] = {}
    for part in _BETWEEN.split(text):
        match = _ONE.fullmatch(part)
        word = "" if match is None else match["word"].casefold()
        if match is None or word not in set(Allergen):
            known = ", ".join(Allergen)
            raise ConfigError(
                _("{part!r} is no allergen: write none, or some of {known}, as gluten (wheat)").format(
                    part=part.strip(), known=known
                )
            )
        found[Allergen(word)] = Contains(Allergen(word), " ".join((match["named"] or "").split()))
    return tuple(found[each] for each in Allergen if each in found)


def told(contains: Iterable[Contains]) -> str:
    """Return the allergens in the words of Annex II."""
    return _joined((_(EU_WORDS[each.allergen]), each.named) for each in contains)


def told_us(contains: Iterable[Contains]) -> str:
    """Return the major allergens in the words of the U.S. law; a cereal that is said to be no wheat is none."""
    return _joined(
        (_(US_WORDS[each.allergen]), "" if each.allergen is Allergen.GLUTEN else each.named)
        for each in contains
        if each.allergen in US_WORDS and (each.allergen is not Allergen.GLUTEN or _may_be_wheat(each.named))
    )


def _may_be_wheat(named: str) -> bool:
    """Return whether a cereal is wheat, or nobody said that it is another one: a word that is not known may be wheat."""
    return not named or not _NO_WHEAT.issuperset(re.findall(r"[^\W\d_]+", named.casefold()))


def _joined(words: Iterable[tuple[str, str]]) -> str:
    return ", ".join(f"{word} ({_each(named)})" if named else word for word, named in words) or _("none")


def _each(named: str) -> str:
    """Return cereals, nuts or fish in the language that is spoken, as far as it has a word for them here."""
    return ", ".join(_(each.strip()) for each in named.split(","))
