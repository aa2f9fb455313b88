"""Cutting a series down, and finding its holes."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.charts.curves import Hole
from holdwatch.charts.reduce import MOST_POINTS, find_holes, segments, thin
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.readings import Series


@st.composite
def records(draw: st.DrawFn) -> Series:
    """Readings at irregular steps, some of them long, of up to some thousands."""
    count = draw(st.integers(1, 4_000))
    seed = draw(st.integers(0, 2**32 - 1))
    random = np.random.default_rng(seed)
    steps = np.where(random.random(count) < draw(st.floats(0, 0.02)), 40 * MS_PER_MINUTE, 30_000)
    return Series(np.cumsum(steps).astype(np.int64), np.round(random.normal(20, 15, count), 2))


@given(records(), st.integers(420, MOST_POINTS))
def test_thin_keeps_extremes_ends_and_holes(series: Series, most: int) -> None:
    """Whatever is left out, the lowest, the highest, both ends and the readings beside each hole stay."""
    holes, _ = find_holes(series.at_ms, int(series.at_ms[0]), int(series.at_ms[-1]), live=False)
    thinned = thin(series, holes, most)
    assert len(thinned) <= max(most, 0) or len(series) <= most
    assert thinned.celsius.min() == series.celsius.min()
    assert thinned.celsius.max() == series.celsius.max()
    kept = set(zip(thinned.at_ms.tolist(), thinned.celsius.tolist(), strict=True))
    assert kept <= set(zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True))
    assert (thinned.at_ms[0], thinned.at_ms[-1]) == (series.at_ms[0], series.at_ms[-1])
    for hole in holes:
        assert {hole.from_ms, hole.until_ms} <= set(thinned.at_ms.tolist())


@given(records())
def test_segments_never_hold_both_sides_of_a_hole(series: Series) -> None:
    """Two readings of one segment have no hole between them."""
    holes, sparse = find_holes(series.at_ms, int(series.at_ms[0]), int(series.at_ms[-1]), live=False)
    number = segments(series.at_ms, holes)
    steps = np.diff(series.at_ms)
    if not sparse:
        assert bool(((steps > 5 * MS_PER_MINUTE) == (np.diff(number) > 0)).all())


def test_find_holes_without_a_reading_is_one_hole() -> None:
    """A probe that was placed and never heard is a hole from its placing."""
    assert find_holes(np.empty(0, dtype=np.int64), 0, 60_000, live=True) == ((Hole(0, 60_000, still=True),), False)


def test_find_holes_tells_late_beginning_and_early_end() -> None:
    """Nothing read after the placing, or before the end, is a hole as well."""
    at_ms = np.arange(30, 60, dtype=np.int64) * MS_PER_MINUTE
    holes, sparse = find_holes(at_ms, 0, 100 * MS_PER_MINUTE, live=False)
    assert holes == (Hole(0, 30 * MS_PER_MINUTE), Hole(59 * MS_PER_MINUTE, 100 * MS_PER_MINUTE))
    assert not sparse


def test_find_holes_of_exactly_the_usual_patience_is_none() -> None:
    """Five minutes between readings a minute apart are no hole; a millisecond more is."""
    minute = np.array([0, 1, 2, 3, 8, 9], dtype=np.int64) * MS_PER_MINUTE
    assert find_holes(minute, 0, int(minute[-1]), live=False) == ((), False)
    minute[4:] += 1
    assert len(find_holes(minute, 0, int(minute[-1]), live=False)[0]) == 1


def test_find_holes_of_half_hourly_readings_is_sparse() -> None:
    """Readings rarer than the largest gap are never joined, and are not hatched all over."""
    at_ms = np.arange(12, dtype=np.int64) * 30 * MS_PER_MINUTE
    assert find_holes(at_ms, 0, int(at_ms[-1]), live=False) == ((), True)


def test_find_holes_of_a_very_broken_record_is_bounded() -> None:
    """A record with a thousand holes is drawn as dots, with the longest two hundred hatched."""
    at_ms = np.cumsum(np.where(np.arange(8_000) % 8 == 0, 10, 1)).astype(np.int64) * MS_PER_MINUTE
    holes, sparse = find_holes(at_ms, int(at_ms[0]), int(at_ms[-1]), live=False)
    assert sparse
    assert len(holes) == 200
