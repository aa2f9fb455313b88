"""Waiting after wrong PINs."""

import pytest

from holdwatch.people.tries import FREE_TRIES, LONGEST_WAIT_MS, waits_until_ms

SECOND = 1000


@pytest.mark.parametrize(
    ("wrong", "wait_s"), [(3, 30), (4, 60), (5, 120), (6, 240), (7, 480), (8, 900), (9, 900), (40, 900), (5000, 900)]
)
def test_each_wrong_pin_costs_twice_as_long(wrong: int, wait_s: int) -> None:
    """Each wrong pin costs twice as long."""
    tries = [n * 60 * SECOND for n in range(wrong)]
    assert waits_until_ms(tries) == tries[-1] + wait_s * SECOND


@pytest.mark.parametrize("wrong", range(FREE_TRIES))
def test_a_slip_costs_nothing(wrong: int) -> None:
    """A slip costs nothing."""
    assert waits_until_ms(list(range(wrong))) is None


def test_guessing_half_of_all_four_digit_pins_takes_weeks() -> None:
    """Guessing half of all four digit pins takes weeks."""
    now_ms, wrong = 0, []
    for _ in range(5000):
        now_ms = max(now_ms, waits_until_ms(wrong) or 0)
        wrong.append(now_ms)
    assert now_ms > 50 * 24 * 3600 * SECOND
    assert waits_until_ms(wrong) == now_ms + LONGEST_WAIT_MS


def test_tries_that_came_out_of_order_wait_from_the_latest() -> None:
    """Tries that came out of order wait from the latest."""
    assert waits_until_ms([5000, 9000, 7000]) == 9000 + 30 * SECOND
