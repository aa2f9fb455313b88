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


@pytest.mark.parametrize(("step", "first"), [(6.1, 21), (5.9, 22)])
def test_rise_begins_with_the_first_step_half_as_large_as_the_largest(step: float, first: int) -> None:
    """The largest step of the rise is 12 °F."""
    steps = points((21, 40 + step), (22, 52 + step), (23, 62 + step), (24, 72 + step))
    probe = joined(line((0, 40), (20, 40)), steps, line((25, 72 + step), (60, 72 + step)))
    ((begins, _, _),) = doubts(probe)
    assert begins == first


@pytest.mark.parametrize(("back_to", "over"), [(44.9, True), (45.1, False)])
def test_rise_is_over_when_the_readings_are_back(back_to: float, *, over: bool) -> None:
    """6 °F a minute from 40 °F to 76 °F, and down again: within 5 °F of the reading before it."""
    probe = joined(line((0, 40), (20, 40), (26, 76)), line((27, 75), (60, back_to), (80, back_to)))
    ((first, _, is_over),) = doubts(probe)
    assert first == 21
    assert is_over is over


@pytest.mark.parametrize(
    ("around", "last", "over"),
    [
        (Surroundings(moved=[T0 + round(20.5 * MINUTE)]), None, True),  # declared just before the fall: no suspicion
        (Surroundings(placed=[T0 + round(30.5 * MINUTE)]), 30, True),
        (Surroundings(moved=[T0 + round(30.5 * MINUTE)]), 30, True),
        (Surroundings(moved=[T0 + 31 * MINUTE]), 30, True),  # the reading at the instant comes after it
        (Surroundings(hand=points((20.5, 150))), 60, False),  # an agreement before the fall says nothing of it
    ],
)
def test_fall_is_over_with_a_placement_a_move_or_an_agreement(
    around: Surroundings, last: float | None, *, over: bool
) -> None:
    """From 150 °F to 120 °F at 21, and it stays there."""
    probe = joined(line((0, 150), (20, 150)), line((21, 120), (60, 120)))
    if around.placed:  # readings before the first placement are nobody's
        around = Surroundings(placed=[T0 - 5 * MINUTE, *around.placed])
    found = doubts(probe, around)
    assert found == ([] if last is None else [(21, last, over)])


def test_sudden_rise_that_nobody_watched_come_back_is_judged_by_the_reading_before() -> None:
    """180 °F at 1, 60 °F at 2, then nothing until it is back: 22 °F above is no sudden return."""
    assert doubts(points((0, 38), (1, 180), (2, 60), (14, 38), (16, 38))) == [(1, 16, False)]
    assert doubts(points((0, 38), (1, 180), (2, 69), (14, 38), (16, 38))) == [(1, 2, True)]


def test_sudden_rise_that_cooled_down_is_over_when_a_second_one_comes_back_fast() -> None:
    """Into hot water at 21, cooled in the air until 100; into it again at 120, and back in the food at 131."""
    first = joined(line((0, 40), (20, 40)), line((21, 90), (100, 40), (119, 40)))
    second = joined(line((120, 90), (130, 90)), line((131, 40), (160, 40)))
    assert doubts(joined(first, second)) == [(21, 130, True)]
    assert doubts(joined(first, line((120, 40), (160, 40)))) == [(21, 160, False)]


def test_sudden_rise_between_distant_readings_is_taken_between_them() -> None:
    """A probe that reads every five minutes: 200 °F in five minutes are more than 30 °F a minute, 140 °F are not."""
    for rise, over in ((200, False), (140, True)):
        probe = joined(line((0, 40), (20, 40), every=5), line((25, 40 + rise), (300, 40), (330, 40), every=5))
        ((first, _, is_over),) = doubts(probe)
        assert (first, is_over) == (25, over)


def test_fall_after_a_rise_that_a_step_explains_is_in_doubt() -> None:
    """Warmed from 21 on, as declared; a fall of 20 °F in a minute at 28 is no part of that."""
    probe = joined(line((0, 40), (20, 40), (27, 100)), line((28, 80), (60, 80)))
    assert doubts(probe, Surroundings(steps=[T0 + 20 * MINUTE])) == [(28, 60, False)]


@pytest.mark.parametrize(
    ("probe", "why"),
    [
        (joined(line((0, 150), (20, 150)), line((21, 120), (40, 120))), "the probe fell 30 °F (17 °C) within 1 min"),
        (
            joined(line((0, 150), (20, 150)), line((20.25, 120), (40, 120), every=0.25)),
            "the probe fell 30 °F (17 °C) within 1 min",
        ),
        (
            joined(line((0, 40), (20, 40), (24, 80)), line((25, 80), (60, 80))),
            "the probe rose 40 °F (22 °C) within 4 min",
        ),
    ],
)
def test_doubt_tells_what_began_it(probe: Series, why: str) -> None:
    """How far, and in how many minutes, never in none."""
    (doubt,) = sift(probe, Surroundings(), int(probe.at_ms[-1]) + 5 * MINUTE).doubts
    assert doubt.why == why


def test_rise_of_frozen_food_is_a_rise() -> None:
    """From −4 °F to 36 °F within ten minutes."""
    assert doubts(joined(line((0, -4), (20, -4), (28, 36)), line((29, 36), (60, 36)))) == [(21, 60, False)]


# ---------------------------------------------------------------- beside a doubt that is over, and exact ends


def test_slow_fall_from_the_first_reading_after_a_doubt_is_a_fall() -> None:
    """Back at 41; 8 °F in the minute after it, with no fall in the ten minutes before."""
    dip = joined(line((0, 150), (20, 150)), line((21, 120), (40, 120)), points((41, 150)))
    assert doubts(joined(dip, line((42, 142), (60, 142)))) == [(21, 40, True), (42, 60, False)]


@pytest.mark.parametrize(("fell_to", "found"), [(34.0, [(24, 24, True)]), (34.1, [])])
def test_fall_within_a_minute_of_a_doubt_counts_from_ten_degrees_on(
    fell_to: float, found: list[tuple[float, float, bool]]
) -> None:
    """The doubt is over at 23.5 with 44 °F; half a minute later 10 °F less, that figure included, and back again."""
    rose = joined(line((0, 40), (20, 40), every=0.5), line((20.5, 60), (23, 110), every=0.5))
    back = joined(points((23.5, 44), (24, fell_to)), line((24.5, 43), (40, 43), every=0.5))
    assert doubts(joined(rose, back)) == [(20.5, 23, True), *found]


RISES = joined(line((0, 42), (20, 40), (24, 71)), line((25, 69.5), (60, 69)))
"""Lowest at 20, more than 30 °F above that at 24, and at no other time."""


@pytest.mark.parametrize(
    ("around", "explained"),
    [
        (Surroundings(steps=[T0 + 15 * MINUTE]), True),
        (Surroundings(steps=[T0 + 15 * MINUTE - 1]), False),
        (Surroundings(steps=[T0 + 24 * MINUTE]), True),
        (Surroundings(steps=[T0 + 24 * MINUTE + 1]), False),
        (Surroundings(left_heat_ms=T0 + 24 * MINUTE), True),
        (Surroundings(left_heat_ms=T0 + 24 * MINUTE - 1), False),
    ],
)
def test_rise_is_explained_by_a_step_from_five_minutes_before_it_to_its_end(
    around: Surroundings, *, explained: bool
) -> None:
    """Both ends included; and by the heat, until it left it."""
    assert (doubts(RISES, around) == []) is explained


def test_mean_before_a_fall_is_that_of_the_ten_minutes_before() -> None:
    """It fell by 3 °F a minute half an hour ago and has stood still since: 4 °F in a minute is a fall."""
    probe = joined(line((0, 200), (30, 110)), line((31, 110), (60, 110)), line((61, 106), (62, 102), (80, 102)))
    assert doubts(probe) == [(61, 80, False)]


def test_fall_is_taken_over_a_whole_minute_where_a_reading_is_a_minute_older() -> None:
    """Every half minute: 10 °F up and down within a minute are none over the minute, and 9 °F over the next are too few."""
    probe = joined(line((0, 140), (5, 140), every=0.5), points((5.5, 150), (6, 140)), line((6.5, 141), (40, 141)))
    assert doubts(probe) == []


@pytest.mark.parametrize(("hot_at", "over"), [(41, True), (40, False)])
def test_sudden_return_counts_from_what_was_read_ten_minutes_before_it(hot_at: int, *, over: bool) -> None:
    """Back at 51: 71 °F at 41, just ten minutes before, is more than 30 °F above; at 40 it is too old."""
    cooled = line((22, 89), (hot_at - 1, 72))
    probe = joined(
        line((0, 40), (20, 40)),
        points((21, 90)),
        cooled,
        points((hot_at, 71)),
        line((hot_at + 1, 60), (50, 60)),
        line((51, 40), (90, 40)),
    )
    ((first, _, is_over),) = doubts(probe)
    assert (first, is_over) == (21, over)
