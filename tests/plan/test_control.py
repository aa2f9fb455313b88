"""Whether a product needs temperature control: what nobody answered is never the harmless answer."""

import re

import pytest

from holdwatch.errors import ConfigError
from holdwatch.plan.allergens import Allergen
from holdwatch.plan.answering import answered, read_answer, reopened
from holdwatch.plan.control import need_of
from holdwatch.plan.model import Asked, Product, Tcs
from holdwatch.plan.starters import known_starters, starter

FOUR = {Asked.EGG, Asked.PH_AND_AW, Asked.SUSCEPTIBLE, Asked.ALLERGENS}


def _with(word: str, **said: str) -> Product:
    product = starter(word)
    for asked, text in said.items():
        product = answered(product, Asked(asked.replace("_", "-")), text, by="Ines Okafor", at_ms=1)
    return product


@pytest.mark.parametrize("word", known_starters())
def test_every_starter_says_what_must_be_checked_and_asks_limits_until_then(word: str) -> None:
    """Egg, pH and water activity, who is served, allergens; of what is no TCS food by its kind, whether it is plain."""
    product = starter(word)
    asked = {question.asked for question in product.questions}
    assert asked == FOUR | ({Asked.PLAIN} if product.tcs is Tcs.NO else set())
    assert product.unanswered == product.questions
    assert need_of(product).asked


def test_the_starters_are_those_of_the_trade() -> None:
    """Sponge to ganache."""
    assert {starter(word).name for word in known_starters()} == {
        "Cheesecake",
        "Choux shells",
        "Dry meringue",
        "French buttercream",
        "Ganache",
        "Lemon curd",
        "Mousse with pasteurised egg",
        "Pastry cream",
        "Sponge",
        "Swiss buttercream",
        "Syrup meringue",
    }


@pytest.mark.parametrize(
    ("plain", "tcs", "words"),
    [("yes", Tcs.NO, "too dry inside its crumb.* Confirm this with your authority"), ("no", Tcs.YES, "not plain")],
)
def test_a_plain_sponge_needs_no_control_and_a_filled_one_does(plain: str, tcs: Tcs, words: str) -> None:
    """With the reason, and the word to confirm it."""
    need = need_of(_with("sponge", plain=plain))
    assert need.tcs is tcs
    assert re.search(words, need.reason)


@pytest.mark.parametrize(
    ("figures", "tcs"),
    [  # Food Code 1-201.10(B), table B: the first column is below 4.2, the first row below 0.88
        ("pH 4.1, aw 0.95", Tcs.NO),
        ("pH 4.2, aw 0.95", Tcs.YES),
        ("pH 6.0 aw 0.87", Tcs.NO),
        ("pH 6.0 aw 0.88", Tcs.YES),
        ("pH 4.1 ± 0.1, aw 0.95", Tcs.YES),  # within its uncertainty of the boundary
        ("pH 4.6, aw 0.99, heated-and-packaged", Tcs.NO),  # table A holds 4.6 in its first column
        ("pH 4.7, aw 0.99, heated-and-packaged", Tcs.YES),
    ],
)
def test_figures_decide_by_the_tables_of_the_code(figures: str, tcs: Tcs) -> None:
    """Not packaged where nobody said: that is the stricter table."""
    need = need_of(_with("lemon-curd", egg="pasteurised", ph_and_aw=figures))
    assert need.tcs is tcs, need.reason


def test_figures_do_not_take_the_cooking_of_raw_egg_away() -> None:
    """Whether its egg is raw was not answered, or it is: limits are asked."""
    safe = "pH 3.2, aw 0.90"
    assert need_of(_with("lemon-curd", ph_and_aw=safe)).asked
    assert need_of(_with("lemon-curd", ph_and_aw=safe, egg="raw")).asked
    assert not need_of(_with("lemon-curd", ph_and_aw=safe, egg="pasteurised")).asked
    assert not need_of(_with("lemon-curd", ph_and_aw=safe, egg="none")).asked


def test_unknown_figures_leave_it_tcs_food() -> None:
    """To say that nobody knows is an answer, and changes nothing."""
    product = _with("ganache", egg="none", ph_and_aw="Unknown")
    assert need_of(product).tcs is Tcs.UNKNOWN
    assert Asked.PH_AND_AW not in {question.asked for question in product.unanswered}


def test_what_is_answered_of_allergens_is_in_it() -> None:
    """In place of the starter's list; opened again, the question waits for an answer."""
    product = _with("ganache", allergens="milk, nuts (almond)")
    assert product.allergens == (Allergen.MILK, Allergen.NUTS)
    assert product.said(Asked.ALLERGENS) == "milk, nuts (almond)"
    assert _with("ganache", allergens="none").contains == ()
    assert reopened(product, Asked.ALLERGENS).said(Asked.ALLERGENS) is None


@pytest.mark.parametrize(
    ("asked", "text"),
    [
        (Asked.EGG, "maybe"),
        (Asked.PLAIN, ""),
        (Asked.SUSCEPTIBLE, "some"),
        (Asked.ALLERGENS, "cream"),
        (Asked.PH_AND_AW, "4.4"),
        (Asked.PH_AND_AW, "pH 4.4"),
        (Asked.PH_AND_AW, "pH 44, aw 0.9"),
        (Asked.PH_AND_AW, "pH 4.4, aw 1.9"),
        (Asked.PH_AND_AW, "pH 4.4, aw 0.9, boiled"),
    ],
)
def test_words_that_answer_nothing_are_refused(asked: Asked, text: str) -> None:
    """Each question takes its own words."""
    with pytest.raises(ConfigError):
        read_answer(asked, text)


def test_a_question_that_is_not_asked_takes_no_answer() -> None:
    """Whether pastry cream is plain is no question."""
    with pytest.raises(ConfigError, match="'plain' is not asked of Pastry cream: it is asked egg"):
        answered(starter("pastry-cream"), Asked.PLAIN, "yes", by="Ines Okafor", at_ms=1)
