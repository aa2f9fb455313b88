"""Allergens: fourteen of Annex II, nine of the U.S. law, each in the words of its law."""

import pytest

from holdwatch.errors import ConfigError
from holdwatch.plan.allergens import EU_WORDS, US_WORDS, Allergen, Contains, read_contains, told, told_us

ANNEX_II = (  # Regulation (EU) No 1169/2011, Annex II, points 1 to 14
    "cereals containing gluten",
    "crustaceans",
    "eggs",
    "fish",
    "peanuts",
    "soybeans",
    "milk",
    "nuts",
    "celery",
    "mustard",
    "sesame seeds",
    "sulphur dioxide and sulphites",
    "lupin",
    "molluscs",
)
MAJOR = (  # 21 U.S.C. 321(qq)(1): eight of 2004, and sesame by the FASTER Act of 2021
    "milk",
    "egg",
    "fish",
    "crustacean shellfish",
    "tree nuts",
    "wheat",
    "peanuts",
    "soybeans",
    "sesame",
)


def test_every_allergen_of_annex_ii_has_its_words_in_its_order() -> None:
    """The order is that of the points of the annex."""
    assert tuple(EU_WORDS[each] for each in Allergen) == ANNEX_II


def test_the_nine_major_ones_have_the_words_of_the_us_law() -> None:
    """Celery, mustard, sulphites, lupin and molluscs are none of them."""
    assert sorted(US_WORDS.values()) == sorted(MAJOR)
    without = set(Allergen) - set(US_WORDS)
    assert without == {Allergen.CELERY, Allergen.MUSTARD, Allergen.SULPHITES, Allergen.LUPIN, Allergen.MOLLUSCS}


def test_allergens_are_read_as_they_are_written_and_stand_in_the_order_of_the_law() -> None:
    """A comma inside brackets names two nuts of one allergen."""
    found = read_contains("milk, Nuts (almond, hazelnut),gluten(wheat)")
    assert found == (
        Contains(Allergen.GLUTEN, "wheat"),
        Contains(Allergen.MILK),
        Contains(Allergen.NUTS, "almond, hazelnut"),
    )
    assert ", ".join(map(str, found)) == "gluten (wheat), milk, nuts (almond, hazelnut)"
    assert told(found) == "cereals containing gluten (wheat), milk, nuts (almond, hazelnut)"
    assert told_us(found) == "wheat, milk, tree nuts (almond, hazelnut)"
    assert read_contains("none") == ()
    assert told(()) == "none"


@pytest.mark.parametrize(
    ("named", "us"),
    [
        ("rye", "none"),
        ("", "wheat"),
        ("rye, spelt", "wheat"),
        ("oats", "none"),
        ("trigo", "wheat"),
        ("centeno y avena", "none"),
        ("blé", "wheat"),
        ("seigle, avoine", "none"),
        ("teff", "wheat"),
    ],
)
def test_a_cereal_is_wheat_for_the_us_law_unless_it_is_said_to_be_another(named: str, us: str) -> None:
    """Where nobody said which cereal it is, in whatever language, it may be wheat."""
    assert told_us((Contains(Allergen.GLUTEN, named),)) == us


@pytest.mark.parametrize("text", ["", "eggs,", "eggs milk", "chocolate", "eggs (", "none, eggs"])
def test_what_names_no_allergen_is_refused(text: str) -> None:
    """A slip of the pen must not lose an allergen."""
    with pytest.raises(ConfigError, match="is no allergen: write none, or some of gluten"):
        read_contains(text)
