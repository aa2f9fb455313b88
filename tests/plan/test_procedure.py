"""The written procedure for time as a public health control, by the limits in force."""

from dataclasses import replace

import pytest

from holdwatch.limits import known_limits, load_limits
from holdwatch.plan.answering import answered
from holdwatch.plan.model import Asked, Product
from holdwatch.plan.procedure import TIME_CONTROL, procedures
from holdwatch.plan.starters import starter

US = load_limits("us-food-code-2022")


def _out_under(part: str) -> Product:
    """Pastry cream that is filled at the bench under one kind of time control."""
    cream = starter("pastry-cream")
    return replace(cream, steps=(*cream.steps[:3], replace(cream.steps[3], processes=(part,))))


def test_four_hours_bear_one_time_and_six_hours_both_and_are_measured() -> None:
    """FDA Food Code 3-501.19(B): the time that is 4 h past; (C): both times, and the warmest part at 70 °F or less."""
    (four,) = procedures(_out_under("time-control-4h"), US)
    (six,) = procedures(_out_under("time-control-6h"), US)
    said = dict(four.rows)
    assert said["Marking"] == "Each container, bag or stand bears the time that is 4 h after it was taken out."
    assert "41 °F or less, or 135 °F or above" in said["Taking it out"]
    assert "While it is out" not in said
    said = dict(six.rows)
    assert "the time at which it was taken out, and the time that is 6 h after" in said["Marking"]
    assert "135" not in said["Taking it out"]
    assert "warmest part" in said["While it is out"]
    assert (four.clause, six.clause) == ("3-501.19(B)", "3-501.19(C)")


def test_times_that_are_added_up_say_when_it_may_go_back() -> None:
    """Australia: less than 2 h in all it may go back, at 4 h it is discarded."""
    (added,) = procedures(_out_under("cumulative-time"), load_limits("australia"))
    said = dict(added.rows)
    assert "less than 2 h in all it may go back" in said["At the marked time"]
    assert "4 h discarded" in said["At the marked time"]


def test_a_code_without_the_figure_gives_no_procedure() -> None:
    """Time then does not stand in the place of temperature, in the code's own words."""
    (none,) = procedures(_out_under("time-control-4h"), load_limits("england-wales-ni"))
    assert none.clause == ""
    assert [name for name, _ in none.rows] == ["Limit"]
    assert "time is not used in place of temperature" in none.rows[0][1]


def test_food_that_needs_no_control_has_no_procedure() -> None:
    """And raw egg is told apart from pasteurised."""
    cream = _out_under("time-control-4h")
    raw = dict(procedures(cream, US)[0].rows)["Never"]
    safe = answered(cream, Asked.EGG, "pasteurised", by="Ines Okafor", at_ms=1)
    assert "time is not used for raw egg" in raw
    assert "raw egg" not in dict(procedures(safe, US)[0].rows)["Never"]
    dry = answered(safe, Asked.PH_AND_AW, "pH 6, aw 0.80", by="Ines Okafor", at_ms=1)
    assert procedures(dry, US) == ()


@pytest.mark.parametrize("code", known_limits())
@pytest.mark.parametrize("part", TIME_CONTROL)
def test_every_code_answers_for_every_time_control(code: str, part: str) -> None:
    """With a procedure, or with why there is none."""
    (found,) = procedures(_out_under(part), load_limits(code))
    assert all(words.strip() for _, words in found.rows)
