"""The Calculators page: each answer with its formula, range, error, source and caution, and mistakes told in words."""

import pytest
from streamlit.testing.v1 import AppTest

from dashboards.parts.calculators import PANELS
from holdwatch.storage.engine import Store
from tests.dashboards.conftest import Opener, shown


def fill(at: AppTest, **typed: str) -> str:
    """Type into the fields of a calculator, and return what the page then shows."""
    for key, text in typed.items():
        at.text_input(key=key.replace("_", "-")).input(text)
    at.run()
    assert not at.exception
    return shown(at)


@pytest.mark.parametrize("name", PANELS)
def test_calculator_opens_by_its_address(empty: Store, open_page: Opener, name: str) -> None:
    """Each calculator can be linked to, and says nothing before it was asked."""
    assert empty
    at = open_page("calculators", calculator=name)
    assert not at.exception
    assert f">{PANELS[name]}</h2>" in shown(at)
    assert "none of them is a verdict" in shown(at)


def test_unknown_calculator_in_the_address_opens_the_first(empty: Store, open_page: Opener) -> None:
    """An old link never leads to a broken page."""
    assert empty
    assert f">{next(iter(PANELS.values()))}</h2>" in shown(open_page("calculators", calculator="no-such"))


def test_control_tells_both_tables_until_the_food_is_known(empty: Store, open_page: Opener) -> None:
    """At pH 5.2 and 0.91, table A asks for nothing, table B for an assessment (FDA Food Code, 1-201.10(B))."""
    assert empty
    at = open_page("calculators", calculator="control")
    text = fill(at, control_ph="5.2", control_aw="0.91")
    assert "what was done with the food decides" in text
    assert "not TCS food by the table" in text
    assert "product assessment needed" in text
    assert "1-201.10(B)" in text


def test_control_near_a_boundary_asks_for_an_assessment(empty: Store, open_page: Opener) -> None:
    """A pH of 4.95 ± 0.1 at 0.895 lies on both sides of table B's 5.0."""
    assert empty
    at = open_page("calculators", calculator="control")
    at.radio(key="control-heated").set_value("not-heated")
    assert "within its uncertainty of a boundary" in fill(at, control_ph="4.95", control_aw="0.895")


@pytest.mark.parametrize(("typed", "told"), [("sour", "is not a number"), ("15", "covers 0 to 14")])
def test_control_refuses_what_is_no_ph(empty: Store, open_page: Opener, typed: str, told: str) -> None:
    """What cannot be is told in words, and no answer is shown."""
    assert empty
    text = fill(open_page("calculators", calculator="control"), control_ph=typed, control_aw="0.9")
    assert told in text
    assert "1-201.10(B)" not in text


def test_cook_shows_gates_and_estimate(empty: Store, open_page: Opener) -> None:
    """A typed course is held against the rows of the code, with the estimate beside them."""
    assert empty
    at = open_page("calculators", calculator="cook")
    at.selectbox(key="cook-egg").set_value("sugared-yolk")
    text = fill(at, cook_course="155F for 17 s", cook_tolerance="1C")
    assert "Row of the code" in text
    assert "decimal steps" in text
    assert "Garibaldi" in text


def test_cook_refuses_what_is_no_course(empty: Store, open_page: Opener) -> None:
    """What cannot be read is told in words."""
    assert empty
    assert "is no course" in fill(open_page("calculators", calculator="cook"), cook_course="hot")
