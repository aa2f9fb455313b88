"""Crossings, runs and gaps: each is a bracket, from the last reading on the one side to the first on the other."""

import numpy as np
import pytest

from holdwatch.crossings import Crossing, Run, falls, farthest, first_fall, first_reach, gaps, runs, unbroken
from holdwatch.limits import load_limits
from holdwatch.quantities import Level, Side
from holdwatch.readings import Series

CODE = load_limits("australia")  # its figures are printed in °C: 60 °C, then 21 °C, then 5 °C
assert CODE.cooling is not None
HOT: Level = CODE.cooling.start
COLD: Level = CODE.cooling.stages[1].target


def series(*pairs: tuple[int, float]) -> Series:
    """Return readings given as (ms, °C)."""
    return Series.of(pairs)


def test_fall_lies_between_the_last_reading_at_the_level_and_the_next() -> None:
    """60 °C is still at the level; the bracket tells both readings."""
    record = series((0, 70), (10, 60), (25, 59), (40, 30))
    assert falls(record, HOT).tolist() == [2]
    assert first_fall(record, HOT, undone_ms=5) == Crossing(10, 25, 2)


def test_fall_is_found_where_a_record_that_begins_cold_is_warmed_first() -> None:
    """The first reading is no fall: nothing was seen before it."""
    record = series((0, 20), (10, 70), (20, 50))
    assert falls(record, HOT).tolist() == [2]
    assert first_fall(record, HOT, undone_ms=0) == Crossing(10, 20, 2)


@pytest.mark.parametrize("record", [(), ((0, 70),), ((0, 20),), ((0, 20), (10, 30)), ((0, 20), (10, 70))])
def test_fall_needs_two_readings_on_two_sides(record: tuple[tuple[int, float], ...]) -> None:
    """What was not seen to leave the level has not fallen below it."""
    assert first_fall(series(*record), HOT, undone_ms=0) is None


@pytest.mark.parametrize(
    ("back_ms", "settled_ms", "fell_at"),
    [
        (115, None, 200),  # back after exactly the time: undone
        (116, None, 100),
        (116, 116, 200),  # back, however late, not after the instant up to which every fall is undone
        (116, 115, 100),
    ],
)
def test_fall_that_is_undone_starts_nothing(back_ms: int, settled_ms: int | None, fell_at: int) -> None:
    """Undone within 15 of the first reading below, both ends included; the next fall lasts."""
    record = series((90, 70), (100, 50), (back_ms, 60), (190, 65), (200, 20), (300, 10))
    found = first_fall(record, HOT, undone_ms=15, settled_ms=settled_ms)
    assert found is not None
    assert found.after_ms == fell_at


def test_fall_when_every_fall_is_undone() -> None:
    """A record that ends at the level has not left it."""
    assert first_fall(series((0, 70), (10, 50), (20, 61)), HOT, undone_ms=15) is None


@pytest.mark.parametrize(
    ("from_ms", "found"),
    [
        (0, Crossing(10, 20, 2)),
        (20, Crossing(10, 20, 2)),  # the reading at the very instant counts; `a` is the one before it
        (21, Crossing(30, 40, 4)),
        (41, None),
    ],
)
def test_reach_is_the_first_reading_that_keeps_the_level_from_an_instant_on(
    from_ms: int, found: Crossing | None
) -> None:
    """5 °C keeps "5 °C or less"."""
    record = series((0, 9), (10, 6), (20, 5), (30, 8), (40, 4))
    assert first_reach(record, COLD, from_ms=from_ms) == found


def test_reach_at_the_first_reading_has_nothing_before() -> None:
    """When it was reached is then unknown on the early side."""
    assert first_reach(series((7, 4), (9, 3), (11, 9)), COLD, from_ms=0) == Crossing(None, 7, 0)
    assert first_reach(Series.empty(), COLD, from_ms=0) is None


def test_runs_name_the_readings_just_outside() -> None:
    """A run lasts at least from its first to its last reading, at most from the one before to the one after."""
    at = np.array([0, 10, 25, 45, 70, 100], dtype=np.int64)
    mask = np.array([True, True, False, True, True, True])
    early, late = runs(at, mask)
    assert early == Run(None, 0, 10, 25, 0, 1)
    assert late == Run(25, 45, 100, None, 3, 5)
    assert (early.readings, late.readings) == (2, 3)
    assert (early.shortest_ms, late.shortest_ms) == (10, 55)
    assert (early.longest_ms, late.longest_ms) == (None, None)
    (inner,) = runs(at, np.array([False, False, True, True, False, False]))
    assert inner == Run(10, 25, 45, 70, 2, 3)
    assert (inner.shortest_ms, inner.longest_ms) == (20, 60)
    assert runs(at, np.zeros(6, dtype=np.bool_)) == ()
    (whole,) = runs(at, np.ones(6, dtype=np.bool_))
    assert whole == Run(None, 0, 100, None, 0, 5)


def test_gap_is_longer_than_the_largest() -> None:
    """Readings exactly the largest gap apart have none between them; each gap is told from reading to reading."""
    at = np.array([0, 20, 41, 61, 100], dtype=np.int64)
    assert gaps(at, 20) == ((20, 41), (61, 100))
    assert gaps(at, np.array([19, 21, 20, 39], dtype=np.int64)) == ((0, 20),)
    assert gaps(at[:1], 20) == ()


@pytest.mark.parametrize(
    ("record", "since"),
    [
        (((0, 5), (10, 4), (30, 5)), 0),  # exactly as long as asked
        (((0, 5), (10, 4), (29, 5)), None),
        (((0, 9), (10, 5), (20, 4), (40, 4)), 10),
        (((0, 4), (10, 6), (20, 4), (39, 4), (50, 4)), 20),  # a reading on the other side breaks it
        (((0, 4), (21, 4), (30, 4), (50, 4), (60, 4)), 21),  # and a gap larger than 20
        (((0, 4), (10, 9), (40, 4), (60, 4), (70, 4)), 40),  # and both at once
        (((0, 4), (20, 4), (40, 4)), 0),
        (((0, 9), (40, 9)), None),
        (((0, 9), (40, 4)), None),  # one reading lasts no time
        ((), None),
    ],
)
def test_level_kept_unbroken_for_a_length_of_time(record: tuple[tuple[int, float], ...], since: int | None) -> None:
    """30 long from the first reading of the stretch, which is when the length is full."""
    found = unbroken(series(*record), COLD, length_ms=30, largest_ms=20)
    assert found == (None if since is None else since + 30)


def test_level_kept_unbroken_takes_the_first_of_two_stretches() -> None:
    """What came later does not undo it."""
    record = series((0, 4), (15, 4), (30, 4), (40, 9), (50, 4), (65, 4), (80, 4))
    assert unbroken(record, COLD, length_ms=30, largest_ms=20) == 30


def test_farthest_is_the_warmest_of_what_is_kept_cold_and_the_coldest_of_what_is_kept_hot() -> None:
    """Which end is worse depends on the side that is kept."""
    celsius = np.array([3.0, 1.0, 2.0])
    assert farthest(celsius, Side.AT_MOST) == 3.0
    assert farthest(celsius, Side.AT_LEAST) == 1.0
