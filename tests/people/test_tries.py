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
    over = tries[-1] + wait_s * SECOND
    assert [waits_until_ms(tries, now) for now in (tries[-1], over - 1, over)] == [over, over, None]


@pytest.mark.parametrize("wrong", range(FREE_TRIES))
def test_a_slip_costs_nothing(wrong: int) -> None:
    """A slip costs nothing."""
    assert waits_until_ms(list(range(wrong)), wrong) is None


def test_guessing_half_of_all_four_digit_pins_takes_weeks() -> None:
    """Guessing half of all four digit pins takes weeks."""
    now_ms, wrong = 0, []
    for _ in range(5000):
        now_ms = waits_until_ms(wrong, now_ms) or now_ms
        wrong.append(now_ms)
    assert now_ms > 50 * 24 * 3600 * SECOND
    assert waits_until_ms(wrong, now_ms) == now_ms + LONGEST_WAIT_MS


def test_a_clock_set_back_locks_nobody_out_and_frees_nobody() -> None:
    """A clock set back locks nobody out, and frees nobody for more than one try."""
    ahead = [100_000 * SECOND, 100_001 * SECOND, 100_002 * SECOND]
    assert waits_until_ms(ahead, 50 * SECOND) is None
    assert waits_until_ms([*ahead, 50 * SECOND], 51 * SECOND) == (50 + 60) * SECOND
