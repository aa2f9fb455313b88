"""Which instant a reading gets."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.intake.decoded import Decoded
from holdwatch.intake.instants import Dated, date, free_after, free_before
from holdwatch.storage.tables import ReadingFlag

ARRIVAL_MS = 1_795_500_000_000


@pytest.mark.parametrize("live", [True, False])
@pytest.mark.parametrize(
    ("ago_ms", "plausible"),
    [
        (0, True),
        (30 * MS_PER_DAY, True),
        (30 * MS_PER_DAY + 1, False),
        (-2 * MS_PER_MINUTE, True),
        (-2 * MS_PER_MINUTE - 1, False),
    ],
)
def test_date_own_instant_counts_while_it_is_plausible(ago_ms: int, *, plausible: bool, live: bool) -> None:
    """From thirty days before to two minutes after arrival, both ends included, queued or live."""
    found = date(Decoded(ARRIVAL_MS - ago_ms, 4.0), ARRIVAL_MS, live=live)
    if plausible:
        assert found == Dated(ARRIVAL_MS - ago_ms, ReadingFlag.OWN_INSTANT)
    else:
        assert found == Dated(ARRIVAL_MS, ReadingFlag.IMPLAUSIBLE_INSTANT)


def test_date_without_an_instant_takes_its_arrival_only_live() -> None:
    """What waited at the broker has no known instant."""
    assert date(Decoded(None, 4.0), ARRIVAL_MS, live=True) == Dated(ARRIVAL_MS, ReadingFlag.ARRIVAL_INSTANT)
    assert date(Decoded(None, 4.0), ARRIVAL_MS, live=False) == Dated(ARRIVAL_MS, ReadingFlag.UNKNOWN_INSTANT)


def test_date_relative_time_counts_from_a_live_arrival() -> None:
    """A relative time is taken from the arrival, if that says anything, and if the result can be."""
    assert date(Decoded(None, 4.0, -5_000), ARRIVAL_MS, live=True).at_ms == ARRIVAL_MS - 5_000
    assert date(Decoded(None, 4.0, -5_000), ARRIVAL_MS, live=False).flag == ReadingFlag.UNKNOWN_INSTANT
    assert date(Decoded(None, 4.0, 10**8), ARRIVAL_MS, live=True) == Dated(ARRIVAL_MS, ReadingFlag.IMPLAUSIBLE_INSTANT)


@given(taken=st.sets(st.integers(0, 30)), start=st.integers(0, 30))
def test_free_slot_is_the_nearest_one_on_its_side(taken: set[int], start: int) -> None:
    """Nothing between the start and the slot is free, and the slot is."""
    after, before = free_after(start, taken.__contains__), free_before(start, taken.__contains__)
    assert after not in taken
    assert before not in taken
    assert set(range(start, after)) <= taken
    assert set(range(before + 1, start + 1)) <= taken
