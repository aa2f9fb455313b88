"""What is told of tables A and B, with figures that are only so sure."""

from decimal import Decimal
from itertools import pairwise, product

import pytest

from holdwatch.calculators.tcs import Measured, between, read_number, tables_answer
from holdwatch.errors import HoldwatchError
from holdwatch.rules.tcs import Control, Heated, control_needed
from tests.support.commands import printed, refused, succeed


def measured(value: str, error: str = "0") -> Measured:
    """Write a figure and how far it may be off."""
    return Measured(Decimal(value), Decimal(error))


@pytest.mark.parametrize(
    ("ph", "water", "made", "control"),
    [
        # FDA Food Code, 1-201.10(B): the figure itself, in table A's rows and in table B's
        ("5.7", "0.92", Heated.AND_PACKAGED, Control.NOT_TCS),
        ("4.2", "0.93", Heated.NOT_PACKAGED, Control.ASSESS),
        ("4.19", "0.93", Heated.NOT_PACKAGED, Control.NOT_TCS),
        ("5.1", "0.88", Heated.NOT_HEATED, Control.ASSESS),
        ("5.1", "0.879", Heated.NOT_HEATED, Control.NOT_TCS),
    ],
)
def test_tables_answer_keeps_the_exact_ends(ph: str, water: str, made: Heated, control: Control) -> None:
    """A figure without an uncertainty is held as it is written."""
    (row,) = tables_answer(measured(ph), measured(water), made).data["tables"]
    assert (row["control"], row["sure"]) == (control.value, True)


def test_tables_answer_needs_an_assessment_within_the_uncertainty() -> None:
    """A pH of 4.95 ± 0.1 at 0.90 in table B lies on both sides of 5.0; 4.85 ± 0.1 lies on one."""
    assert (
        "product assessment needed" in tables_answer(measured("4.95", "0.1"), measured("0.9"), Heated.NOT_HEATED).says
    )
    assert "not TCS food" in tables_answer(measured("4.85", "0.1"), measured("0.9"), Heated.NOT_HEATED).says


def test_between_may_look_at_the_corners_alone() -> None:
    """In both tables no step to a higher pH or water activity ever asks for less."""
    acids = [Decimal(n) / 20 for n in range(60, 161)]
    waters = [Decimal(n) / 200 for n in range(160, 201)]
    order = [Control.NOT_TCS, Control.ASSESS]
    for made in Heated:
        for water in waters:
            row = [order.index(control_needed(ph, water, made)) for ph in acids]
            assert all(a <= b for a, b in pairwise(row))
        for ph in acids:
            column = [order.index(control_needed(ph, water, made)) for water in waters]
            assert all(a <= b for a, b in pairwise(column))


def test_between_never_clears_what_a_point_inside_would_not() -> None:
    """Every point of a span is at most as strict as what is told of the span."""
    for low, high, made in product(range(40, 52, 3), range(52, 60, 3), Heated):
        told, sure = between((Decimal(low) / 10, Decimal(high) / 10), (Decimal("0.87"), Decimal("0.93")), made)
        inside = {
            control_needed(Decimal(ph) / 10, Decimal(water) / 100, made)
            for ph, water in product(range(low, high + 1), range(87, 94))
        }
        assert told is Control.ASSESS if Control.ASSESS in inside else told is Control.NOT_TCS
        assert sure is (len(inside) == 1)


@pytest.mark.parametrize("text", ["", "x", "nan", "inf", "4,6,1"])
def test_read_number_refuses_what_is_no_number(text: str) -> None:
    """Nothing that is not a figure gets as far as a table."""
    with pytest.raises(HoldwatchError, match="not a number"):
        read_number(text)


def test_command_tells_source_and_caution() -> None:
    """The answer carries the clause, and says who decides."""
    text = succeed("tcs", "--ph", "5.2", "--aw", "0.91")
    assert "FDA Food Code, 1-201.10(B), table B" in text
    assert "Your authority decides" in text


def test_command_tells_a_program_the_same() -> None:
    """Three ways of making, each with its table and its word."""
    answer = printed("tcs", "--ph", "5.2", "--aw", "0.91")
    assert {row["made"]: row["control"] for row in answer["tables"]} == {
        "heated-and-packaged": "not-tcs",
        "heated-not-packaged": "assess",
        "not-heated": "assess",
    }


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--ph", "sour", "--aw", "0.9"), "--ph is 'sour'"),
        (("--ph", "15", "--aw", "0.9"), "covers 0 to 14"),
        (("--ph", "5", "--aw", "90"), "covers 0 to 1"),
        (("--ph", "5", "--aw", "0.9", "--aw-error", "-1"), "write 0 or more"),
        (("--ph", "5", "--aw", "0.9", "--ph-error", "1e999999"), "no more than the scale has"),
        (("--ph", "5", "--aw", "0.9", "--made", "fried"), "heated-not-packaged"),
    ],
)
def test_command_refuses_what_it_cannot_hold(words: tuple[str, ...], told: str) -> None:
    """A mistake is one line that says what to write."""
    assert told in refused("tcs", *words)
