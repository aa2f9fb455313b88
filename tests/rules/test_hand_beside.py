"""A hand thermometer beside the probe: what it settles, what it puts in doubt, and from where to where."""

import pytest

from holdwatch.readings import Series
from holdwatch.sieve import Sifted, Surroundings, sift
from tests.rules.series_words import MINUTE, T0, joined, line, points

STEADY = line((0, 40), (60, 40))
FELL = joined(line((0, 150), (20, 150)), line((21, 120), (60, 110)))
"""A fall of 30 °F in a minute, at 21."""


def sifted(probe: Series, hand: Series, placed: tuple[float, ...] = (), *, out_of_food: bool = True) -> Sifted:
    """Sift a probe's readings beside hand readings."""
    around = Surroundings(placed=[T0 + round(minute * MINUTE) for minute in placed], hand=hand)
    return sift(probe, around, int(probe.at_ms[-1]) + 5 * MINUTE, out_of_food=out_of_food)


def doubts(probe: Series, hand: Series, placed: tuple[float, ...] = ()) -> list[tuple[float, float, bool]]:
    """Return first and last minute of each doubt, and whether it is over."""
    found = sifted(probe, hand, placed).doubts
    return [((d.first_ms - T0) / MINUTE, (d.last_ms - T0) / MINUTE, d.over) for d in found]


@pytest.mark.parametrize(
    ("degrees", "differs"), [(44.0, False), (44.1, True), (36.0, False), (35.9, True), (40.0, False)]
)
def test_hand_reading_differs_by_more_than_four_degrees(degrees: float, *, differs: bool) -> None:
    """2 °F for each of the two thermometers, either way."""
    assert doubts(STEADY, points((30, degrees))) == ([(0, 60, False)] if differs else [])


@pytest.mark.parametrize(
    ("hand", "differs"),
    [
        ((65.0, 50.0), True),  # five minutes after the last reading
        ((65.001, 50.0), False),
        ((-5.0, 50.0), True),
        ((-5.001, 50.0), False),
    ],
)
def test_hand_reading_speaks_of_a_probes_reading_within_five_minutes(
    hand: tuple[float, float], *, differs: bool
) -> None:
    """Further away it says nothing of the probe."""
    assert bool(doubts(STEADY, points(hand))) is differs


def test_hand_reading_between_two_readings_agrees_with_all_between_them() -> None:
    """The food was somewhere between; 4 °F around both are agreed."""
    steps = points((0, 40), (4, 40), (8, 50), (12, 50))
    for degrees, differs in ((36, False), (54, False), (45, False), (35.9, True), (54.1, True)):
        assert bool(doubts(steps, points((6, degrees)))) is differs
    assert doubts(steps, points((4, 54.1))) != []  # at a reading the one before and that one count
    assert doubts(steps, points((4, 50))) != []
    assert doubts(steps, points((4, 44))) == []


@pytest.mark.parametrize(
    ("hand", "placed", "found"),
    [
        (points((30, 50)), (), [(0, 60, False)]),
        (points((10, 40), (30, 50)), (), [(11, 60, False)]),  # the reading at the agreement was the food's
        (points((30, 50), (50, 40)), (), [(0, 49, True)]),
        (points((10, 40), (30, 50), (50, 40)), (), [(11, 49, True)]),
        (points((10.5, 40), (30, 50), (49.5, 40)), (), [(11, 49, True)]),
        (points((5, 40), (10, 40), (30, 50), (50, 40), (55, 40)), (), [(11, 49, True)]),  # the nearest of each
        (points((30, 50)), (0, 10), [(11, 60, False)]),  # put back into the food is as good
        (points((30, 50)), (0, 50), [(1, 49, True)]),
        (points((20, 50), (40, 50)), (), [(0, 60, False)]),
        (points((20, 50), (30, 40), (40, 50)), (), [(0, 29, True), (31, 60, False)]),
        (points((20, 50), (30.5, 40), (40, 50)), (), [(0, 30, True), (31, 60, False)]),  # they touch, and stay two
        (points((30.2, 40), (30.5, 50), (30.8, 40)), (), []),  # no reading of the probe between
    ],
)
def test_hand_reading_that_differs_doubts_back_to_the_last_agreement_and_on_to_the_next(
    hand: Series, placed: tuple[float, ...], found: list[tuple[float, float, bool]]
) -> None:
    """Nobody knows since when the probe read something else."""
    assert doubts(STEADY, hand, placed) == found


def test_hand_readings_alone_make_doubts_where_the_process_asks_for_no_others() -> None:
    """Food that cools fast by nature is not doubted for that; for a hand thermometer it is."""
    assert not sifted(FELL, Series.empty(), out_of_food=False).doubts
    (doubt,) = sifted(FELL, points((40, 150)), out_of_food=False).doubts
    assert doubt.why == "a hand thermometer read otherwise"


@pytest.mark.parametrize(
    ("minute", "settled"),
    [(21.001, True), (36, True), (36.001, False), (21, False)],
)
def test_hand_reading_that_agrees_within_a_quarter_of_an_hour_settles_a_fall(minute: float, *, settled: bool) -> None:
    """It was the food that fell; later it may have come down to the air by itself, and the doubt is only over."""
    degrees = 120 - 10 * (minute - 21) / 39
    found = doubts(FELL, points((minute, degrees)))
    assert (found == []) is settled
    if minute > 36:
        assert found == [(21, 36, True)]
    elif not settled:
        assert found == [(21, 60, False)]


@pytest.mark.parametrize(("minute", "out"), [(21, True), (40, True), (60, True), (65, True), (20.5, False)])
def test_hand_reading_that_differs_in_a_doubt_shows_that_the_probe_was_out(minute: float, *, out: bool) -> None:
    """The readings from the fall on are nobody's; what was read before it stays."""
    found = sifted(FELL, points((minute, 155)))
    assert bool(found.outs) is out
    if out:
        (stretch,) = found.outs
        assert (stretch.first_ms, stretch.last_ms, stretch.over) == (T0 + 21 * MINUTE, T0 + 60 * MINUTE, False)
        assert len(found.series) == 21
        assert not found.doubts
        assert found.aside[0].at_ms == T0 + 21 * MINUTE
        assert found.aside[0].reason.startswith("out of the food: the probe fell 30 °F")


def test_hand_reading_that_differs_after_a_doubt_is_over_begins_one_of_its_own() -> None:
    """The probe was back at 41; at that instant and later the hand reading is beside the food again."""
    back = joined(line((0, 150), (20, 150)), line((21, 120), (40, 120)), line((41, 148), (60, 148)))
    assert doubts(back, Series.empty()) == [(21, 40, True)]
    assert sifted(back, points((40.5, 100))).outs
    later = sifted(back, points((41, 100)))
    assert not later.outs
    assert later.doubts[0].first_ms == T0


def test_doubts_that_share_readings_are_one_with_the_first_ones_reason() -> None:
    """A fall at 21, and a hand reading that differs long before: one doubt, from the earlier to the later end."""
    found = sifted(FELL, points((5, 150), (15, 140), (18, 150)))
    told = [((d.first_ms - T0) / MINUTE, (d.last_ms - T0) / MINUTE, d.over, d.why.split()[0]) for d in found.doubts]
    assert told == [(6, 17, True, "a"), (21, 60, False, "the")]
    joined_ones = sifted(FELL, points((5, 150), (15, 140)))
    (one,) = joined_ones.doubts
    assert ((one.first_ms - T0) / MINUTE, (one.last_ms - T0) / MINUTE, one.over) == (6, 60, False)
    assert one.why == "a hand thermometer read otherwise"
    assert joined_ones.doubt.tolist() == [0] * 6 + [1] * 55


def test_doubts_that_share_readings_end_with_the_later_of_their_ends() -> None:
    """The fall is over with a move at 30.5; the hand thermometer's doubt goes on."""
    around = Surroundings(moved=[T0 + round(30.5 * MINUTE)], hand=points((5, 150), (15, 140)))
    (doubt,) = sift(FELL, around, int(FELL.at_ms[-1]) + 5 * MINUTE).doubts
    assert (doubt.first_ms, doubt.last_ms, doubt.over) == (T0 + 6 * MINUTE, T0 + 60 * MINUTE, False)


def test_doubts_are_joined_with_their_neighbour_not_with_the_first() -> None:
    """A fall at 5 that is over at 8, and much later two that share readings."""
    probe = joined(
        line((0, 150), (4, 150)), line((5, 120), (7, 120)), line((8, 150), (59, 150)), line((60, 120), (90, 118))
    )
    assert doubts(probe, points((30, 150), (45, 140))) == [(5, 7, True), (31, 90, False)]


def test_hand_reading_before_the_first_of_a_short_record_is_beside_the_first_alone() -> None:
    """The last reading is not next to it, however near in time."""
    assert doubts(points((0, 40), (2, 55)), points((-1, 55))) != []
    assert doubts(points((0, 40), (2, 55)), points((-1, 40))) == []


def test_hand_reading_far_from_any_of_the_probes_does_not_hide_the_next() -> None:
    """Each speaks for itself."""
    assert doubts(STEADY, points((-30, 90), (30, 50))) == [(0, 60, False)]
