"""Gaps found from the instants themselves."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.readings import Series
from holdwatch.records.gaps import LARGEST_GAP_MS, Gap, GapFinder, day_figures

MINUTE = 60_000


def _gaps(instants: list[int], first_ms: int, last_ms: int, cuts: tuple[int, ...] = ()) -> tuple[Gap, ...]:
    """Find the gaps of instants handed over in parts."""
    finder = GapFinder(first_ms)
    for part in np.split(np.array(instants, dtype=np.int64), cuts):
        finder.feed(part)
    return finder.finish(last_ms)


def test_gap_of_exactly_twenty_minutes_is_none_and_a_millisecond_more_is_one() -> None:
    """The largest gap allowed is no gap."""
    assert _gaps([0, LARGEST_GAP_MS], 0, LARGEST_GAP_MS) == ()
    (gap,) = _gaps([0, LARGEST_GAP_MS + 1], 0, LARGEST_GAP_MS + 1)
    assert gap.length_ms == LARGEST_GAP_MS + 1


def test_gap_at_the_ends_says_that_no_reading_bounds_it() -> None:
    """What is missing before the first reading and after the last is a gap too."""
    assert _gaps([30 * MINUTE, 40 * MINUTE], 0, 70 * MINUTE) == (
        Gap(0, 30 * MINUTE, begins_with_reading=False, ends_with_reading=True),
        Gap(40 * MINUTE, 70 * MINUTE, begins_with_reading=True, ends_with_reading=False),
    )


def test_gap_without_any_reading_is_the_whole_span() -> None:
    """A probe that never spoke is one gap."""
    assert _gaps([], 0, 70 * MINUTE) == (Gap(0, 70 * MINUTE, begins_with_reading=False, ends_with_reading=False),)


@given(st.lists(st.integers(0, 10_000), unique=True).map(sorted), st.lists(st.integers(0, 50)).map(sorted))
def test_gaps_do_not_depend_on_how_the_instants_are_cut(minutes: list[int], cuts: list[int]) -> None:
    """Midnight makes no gap and hides none."""
    instants = [minute * MINUTE for minute in minutes]
    assert _gaps(instants, 0, 10_000 * MINUTE, tuple(cuts)) == _gaps(instants, 0, 10_000 * MINUTE)


def test_day_figures_without_readings_are_none_and_one_long_gap() -> None:
    """A day without readings has no temperatures, and is not hidden."""
    figures = day_figures(Series.empty(), 0, 86_399_999)
    assert (figures.count, figures.low_c, figures.mean_c, figures.high_c) == (0, None, None, None)
    assert figures.longest_gap_ms == 86_400_000


def test_day_figures_take_both_ends_of_the_day_in() -> None:
    """A reading on either end belongs to the day."""
    figures = day_figures(Series.of([(0, 3.0), (10, 4.0), (20, 8.0), (21, 99.0)]), 0, 20)
    assert (figures.count, figures.low_c, figures.mean_c, figures.high_c) == (3, 3.0, 5.0, 8.0)
