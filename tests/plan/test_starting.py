"""What a batch begins with, from the plan; and what the limits in force say of its steps."""

from dataclasses import replace

import pytest

from holdwatch.limits import known_limits, load_limits
from holdwatch.plan.answering import answered
from holdwatch.plan.critical import critical_limits, step_for
from holdwatch.plan.model import Asked, Product
from holdwatch.plan.starters import known_starters, starter
from holdwatch.plan.starting import start_of
from holdwatch.rules.life import BEGINNINGS
from holdwatch.rules.raw_egg import Food
from holdwatch.rules.verdicts import Process, Step


def _with(word: str, **said: str) -> Product:
    product = starter(word)
    for asked, text in said.items():
        product = answered(product, Asked(asked.replace("_", "-")), text, by="Ines Okafor", at_ms=1)
    return product


def test_nothing_answered_is_taken_as_the_strictest() -> None:
    """Raw egg, highly susceptible guests, TCS food; each told with what has to be checked."""
    start = start_of(starter("pastry-cream"))
    assert start.processes == (Process.COOK_EGGS, Process.COOLING)
    assert start.food == (Food.RAW_EGG, Food.SEVERAL_EGGS, Food.SUSCEPTIBLE)
    assert (start.step, start.holding, start.not_tcs) == (Step.COOK, "cold", "")
    assert len(start.to_check) == 4
    assert start.taken_as[0] == "its egg is taken as raw"


def test_answers_say_what_it_is() -> None:
    """Pasteurised egg, guests like any others."""
    start = start_of(
        _with("pastry-cream", egg="pasteurised", susceptible="no", ph_and_aw="unknown", allergens="eggs, milk")
    )
    assert start.food == (Food.PASTEURISED_EGG, Food.SEVERAL_EGGS)
    assert (start.to_check, start.taken_as) == ((), ())


@pytest.mark.parametrize(
    ("own", "site", "held"), [("", "no", False), ("yes", "no", True), ("no", "yes", True), ("", "yes", True)]
)
def test_the_site_answers_whom_it_serves_as_well(own: str, site: str, held: bool) -> None:
    """The stricter answer counts."""
    product = _with("cheesecake", **({"susceptible": own} if own else {}))
    start = start_of(product, site_susceptible=site)
    assert (Food.SUSCEPTIBLE in start.food) is held
    assert not any("susceptible" in ask for ask in start.to_check)


def test_a_mousse_whose_egg_nobody_answered_has_to_show_that_it_was_cooked() -> None:
    """It is never cooked: only pasteurised egg takes that away."""
    assert start_of(starter("mousse")).processes == (Process.COOK_EGGS, Process.AMBIENT_COOLING)
    assert start_of(_with("mousse", egg="raw")).processes == (Process.COOK_EGGS, Process.AMBIENT_COOLING)
    assert start_of(_with("mousse", egg="pasteurised")).processes == (Process.AMBIENT_COOLING,)


def test_a_plain_sponge_begins_without_limits_and_says_why() -> None:
    """Once somebody said that it is plain."""
    assert start_of(starter("sponge")).not_tcs == ""
    start = start_of(_with("sponge", plain="yes"))
    assert start.not_tcs.endswith("Confirm this with your authority")
    assert "it is treated as TCS food" not in start.taken_as


@pytest.mark.parametrize("word", known_starters())
def test_every_starter_can_begin(word: str) -> None:
    """With what a batch may begin with."""
    assert set(start_of(starter(word)).processes) <= set(BEGINNINGS)


def test_the_place_is_the_first_that_a_step_names() -> None:
    """Where no step names one, there is none."""
    cream = starter("pastry-cream")
    steps = (cream.steps[0], replace(cream.steps[1], place="Walk-in 1"), *cream.steps[2:])
    assert start_of(replace(cream, steps=steps)).place == "Walk-in 1"
    assert start_of(cream).place == ""


def test_critical_limits_are_those_of_the_code_in_force() -> None:
    """FDA Food Code 2022, 3-501.14(A): 135 °F to 70 °F within 2 h, to 41 °F within 6 h."""
    step = step_for(starter("pastry-cream"), "cooling")
    assert step is not None
    found = critical_limits(step, load_limits("us-food-code-2022"))
    assert [(each.clause, each.requires) for each in found] == [
        ("3-501.14(A)(1)", "135 °F to 70 °F within 2 h"),
        ("3-501.14(A)(2)", "135 °F to 41 °F or less within a total of 6 h"),
    ]


def test_a_code_without_a_figure_is_told_in_its_own_words() -> None:
    """852/2004 Annex II Ch. IX para 6: as quickly as possible."""
    step = step_for(starter("pastry-cream"), "cooling")
    assert step is not None
    (found,) = critical_limits(step, load_limits("england-wales-ni"))
    assert not found.figure
    assert "as quickly as possible" in found.requires


def test_every_limit_of_every_starter_can_be_told_under_every_code() -> None:
    """A part that a code does not know says so."""
    for word in known_starters():
        for code in known_limits():
            for step in starter(word).steps:
                told = critical_limits(step, load_limits(code))
                assert all(each.requires and each.name for each in told)
                assert {each.part for each in told} == set(step.processes)
