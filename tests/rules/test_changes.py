"""Changes that food does not make by itself: where they begin, where they are over, each figure on both its sides."""

import numpy as np
import pytest

from holdwatch.readings import Series
from holdwatch.sieve import Doubt, Surroundings, sift
from holdwatch.sieve.changes import _lowest_before
from tests.rules.series_words import MINUTE, T0, joined, line, points


def doubts(probe: Series, around: Surroundings | None = None, *, after: float = 5) -> list[tuple[float, float, bool]]:
    """Return first and last minute of each doubt, and whether it is over; judged some minutes after the last reading."""
    until_ms = int(probe.at_ms[-1]) + round(after * MINUTE)
    return [_told(doubt) for doubt in sift(probe, around or Surroundings(), until_ms).doubts]


def _told(doubt: Doubt) -> tuple[float, float, bool]:
    return (doubt.first_ms - T0) / MINUTE, (doubt.last_ms - T0) / MINUTE, doubt.over


@pytest.mark.parametrize(
    ("back_to", "found"),
    [
        (145.0, [(21, 40, True)]),  # within 5 °F of the reading before the fall
        (144.9, [(21, 60, False)]),
    ],
)
def test_fall_is_over_when_the_readings_are_back(back_to: float, found: list[tuple[float, float, bool]]) -> None:
    """From 150 °F to 120 °F in a minute; back for good at 41."""
    probe = joined(line((0, 150), (20, 150)), line((21, 120), (40, 120)), line((41, back_to), (60, back_to)))
    assert doubts(probe) == found


@pytest.mark.parametrize(
    ("in_a_minute", "over"),
    [
        (30.1, False),  # no stove does that: that it cools down slowly to where it was shows nothing
        (30.0, True),
        (29.9, True),
    ],
)
def test_rise_so_sudden_that_no_stove_makes_it_is_not_over_by_cooling_down(in_a_minute: float, *, over: bool) -> None:
    """More than 30 °F in a minute; either way more than 30 °F within ten minutes, and back to 40 °F an hour later."""
    up = points((21, 40 + in_a_minute), (24, 75))
    probe = joined(line((0, 40), (20, 40)), up, line((25, 75), (100, 40), (130, 40)))
    ((first, _, is_over),) = doubts(probe)
    assert first == 21
    assert is_over is over


@pytest.mark.parametrize(
    ("fell_from", "over"),
    [
        (70.1, True),  # more than 30 °F above, within the ten minutes before it was back
        (69.9, False),
    ],
)
def test_sudden_rise_is_over_when_it_comes_back_about_as_fast(fell_from: float, *, over: bool) -> None:
    """Put into something hot at 21, cooled there to `fell_from`, and back in the food at 51."""
    probe = joined(
        line((0, 40), (20, 40)),
        points((21, 90)),
        line((22, 89), (40, fell_from), (50, fell_from)),
        line((51, 40), (90, 40)),
    )
    ((first, last, is_over),) = doubts(probe)
    assert (first, is_over) == (21, over)
    assert last == (50 if over else 90)


def test_fall_back_from_a_rise_begins_no_doubt_of_its_own() -> None:
    """A probe that reads every half minute: the minute before the return lies in the doubt that is over."""
    before = line((0, 40), (20, 40), every=0.5)
    up = line((20.5, 60), (23, 110), every=0.5)
    back = line((23.5, 43), (40, 43), every=0.5)
    assert doubts(joined(before, up, back)) == [(20.5, 23, True)]
    fast = joined(points((23.5, 44)), line((24, 34), (50, 34), every=0.5))
    assert doubts(joined(before, up, fast)) == [(20.5, 23, True), (24, 50, False)]
    slow = joined(points((23.5, 44)), line((24, 41.1), (50, 41.1), every=0.5))
    assert doubts(joined(before, up, slow)) == [(20.5, 23, True)]


def test_two_readings_show_a_change_and_one_does_not() -> None:
    """A fall of 10 °F between the only two readings; one reading is no change."""
    assert doubts(points((0, 60), (1, 50))) == [(1, 1, False)]
    assert doubts(points((0, 60))) == []
    assert doubts(points((0, 60), (1, 50.1))) == []


def test_rise_begins_with_its_first_large_step_whatever_follows() -> None:
    """8 °F a minute until it has risen by more than 30 °F, and a leap after that: in doubt from the first of them."""
    leap = joined(points((21, 48), (22, 56), (23, 64), (24, 72)), line((25, 142), (40, 142)))
    ((first, _, _),) = doubts(joined(line((0, 40), (20, 40)), leap))
    assert first == 21


@pytest.mark.parametrize("seed", range(5))
def test_lowest_before_is_the_minimum_of_the_window(seed: int) -> None:
    """Against a plain minimum, for windows of every length that end at a reading and never begin earlier than before."""
    rng = np.random.default_rng(seed)
    celsius = rng.permutation(np.arange(70.0))
    low = np.maximum.accumulate(np.minimum(rng.integers(0, 70, 70), np.arange(70)))
    for starts in (low, np.zeros(70, dtype=np.intp), np.arange(70), np.maximum(np.arange(70) - 7, 0)):
        plain = [min(celsius[start : n + 1]) for n, start in enumerate(starts.tolist())]
        assert _lowest_before(celsius, starts).tolist() == plain
