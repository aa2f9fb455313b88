"""Silent probe: when a probe counts as silent."""

import pytest

from holdwatch.rules.signal import judge_signal
from tests.rules.series_words import MINUTE, T0


@pytest.mark.parametrize(
    ("every_s", "patience_min"), [(10, 5), (60, 5), (120, 10), (240, 20), (300, 20), (600, 20), (900, 30)]
)
def test_signal_patience_follows_the_probes_habit(every_s: int, patience_min: int) -> None:
    """Five missed readings, at least five minutes, at most the largest gap, never under two intervals."""
    at = [T0 + n * every_s * 1000 for n in range(21)]
    edge = at[-1] + patience_min * MINUTE
    assert judge_signal(at, T0, edge).becomes_silent_ms == edge
    assert not judge_signal(at, T0, edge).silent
    assert judge_signal(at, T0, edge + 1).silent
    assert judge_signal(at, T0, edge + 1).since_ms == at[-1]


def test_signal_of_a_probe_never_heard_counts_from_its_placement() -> None:
    """A probe that was placed and never spoke is silent after the largest gap; one never placed is not expected."""
    assert not judge_signal([], T0, T0 + 20 * MINUTE).silent
    assert judge_signal([], T0, T0 + 20 * MINUTE + 1).silent
    assert not judge_signal([], None, T0 + 20 * MINUTE + 1).silent


def test_signal_placement_after_the_last_reading_begins_anew() -> None:
    """A probe placed again is given its time."""
    at = [T0 + n * MINUTE for n in range(21)]
    placed = at[-1] + 60 * MINUTE
    assert not judge_signal(at, placed, placed + MINUTE).silent
    assert judge_signal(at, placed, placed + 6 * MINUTE).silent


def test_signal_one_burst_does_not_change_the_habit() -> None:
    """The usual interval is a median: one long hole or one quick pair leaves it."""
    at = [T0 + n * MINUTE for n in range(20)]
    assert judge_signal([*at, at[-1] + 40 * MINUTE], T0, at[-1] + 41 * MINUTE).usual_interval_ms == MINUTE
    assert judge_signal([*at, at[-1] + 1], T0, at[-1] + MINUTE).usual_interval_ms == MINUTE


def test_signal_habit_is_the_median_of_the_last_twenty_intervals() -> None:
    """Of the last twenty ten are of one minute and ten of three; what came before them counts no more."""
    minutes = [n * 1.0 for n in range(-40, 11)] + [10 + 3.0 * n for n in range(1, 11)]
    at = [T0 + round(minute * MINUTE) for minute in minutes]
    assert judge_signal(at, T0, at[-1]).usual_interval_ms == 2 * MINUTE
    assert judge_signal(at[:1], T0, at[-1]).usual_interval_ms is None
    assert judge_signal(at[:2], T0, at[-1]).usual_interval_ms == MINUTE
