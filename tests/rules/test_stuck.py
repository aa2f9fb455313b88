"""A stuck probe: each figure, ours all of them, on both its sides."""

import numpy as np
import pytest

from holdwatch.readings import Series
from holdwatch.rules.air import estimated_food_c
from holdwatch.rules.stuck import judge_stuck
from tests.rules.series_words import MINUTE, T0, joined, points

NO_AIR = Series.empty()
Minutes = list[float]


def changing(at: Minutes, *, from_min: float = 0, every: float = 2) -> Series:
    """Return readings that change at the minutes given, up to the last of them."""
    minutes = np.arange(from_min, at[-1], every)
    return points(*((minute, 38.0 + sum(minute >= change for change in at)) for minute in minutes.tolist()))


def still(first: float, hours: float, readings: int = 361) -> Series:
    """Return readings all alike, evenly over so many hours."""
    return points(*((minute, 60.0) for minute in np.linspace(first, first + 60 * hours, readings).tolist()))


def every(step: float, first: float, last: float) -> Minutes:
    """Return minutes evenly apart."""
    return np.arange(first, last + step / 2, step).tolist()


@pytest.mark.parametrize(("readings", "stuck"), [(20, True), (19, False)])
def test_stuck_stretch_has_twenty_readings_at_least(readings: int, *, stuck: bool) -> None:
    """Fewer may be chance."""
    probe = joined(changing(every(10, 10, 1500)), still(1500, 12, readings))
    assert judge_stuck(probe, NO_AIR).stuck is stuck


@pytest.mark.parametrize(("longest", "stuck"), [(180, True), (182, False)])
@pytest.mark.parametrize("where", ["first", "middle", "last"])
def test_stuck_for_four_times_its_longest_before(longest: float, where: str, *, stuck: bool) -> None:
    """Twelve hours are four times three; the first stretch and the last before it count like any other."""
    changes = {
        "first": [longest, *every(10, longest + 10, 1500)],
        "middle": [*every(10, 10, 600), *every(10, 600 + longest, 1500)],
        "last": [*every(10, 200 - longest, 1500 - longest), 1500],
    }[where]
    probe = joined(changing(changes), still(changes[-1], 12))
    verdict = judge_stuck(probe, NO_AIR)
    assert verdict.stuck is stuck
    assert verdict.since_ms == T0 + round(changes[-1] * MINUTE)
    if stuck:
        assert verdict.why == "it never stood still for a quarter as long in the days before"
        assert verdict.value_c == pytest.approx((60 - 32) / 1.8)


@pytest.mark.parametrize(("history_h", "stuck"), [(24, True), (23.99, False)])
def test_stuck_needs_a_whole_day_before_the_stretch(history_h: float, *, stuck: bool) -> None:
    """From its first reading to the first of the stretch."""
    begins = 1500 - history_h * 60
    probe = joined(changing([*every(10, begins + 10, 1490), 1500], from_min=begins), still(1500, 12))
    assert judge_stuck(probe, NO_AIR).stuck is stuck


@pytest.mark.parametrize(("changes", "stuck"), [(10, True), (9, False)])
def test_stuck_needs_ten_changes_before_the_stretch(changes: int, *, stuck: bool) -> None:
    """Evenly over a day, the one that begins the stretch among them: none stood still for three hours."""
    at = np.linspace(1500 / changes, 1500, changes).tolist()
    probe = joined(changing(at), still(1500, 12))
    assert judge_stuck(probe, NO_AIR).stuck is stuck


def _air(moved_f: float, minutes: np.ndarray) -> Series:
    """Return air that leads food by so many °F over a stretch."""
    ramp = points(*((minute, 38.0 + minute / 10) for minute in minutes.tolist()))
    by = float(np.ptp(estimated_food_c(ramp))) * 1.8
    return points(*((minute, 38.0 + minute / 10 * moved_f / by) for minute in minutes.tolist()))


@pytest.mark.parametrize(("moved_f", "stuck"), [(9.01, True), (8.99, False)])
def test_stuck_where_food_in_that_air_would_have_moved_by_nine_degrees(moved_f: float, *, stuck: bool) -> None:
    """9 °F within four hours."""
    verdict = judge_stuck(still(0, 4), _air(moved_f, np.arange(0, 241.0)))
    assert verdict.stuck is stuck
    if stuck:
        assert "the air beside it has warmed or cooled" in verdict.why


def test_stuck_air_of_the_stretch_counts_up_to_the_last_reading() -> None:
    """The last air reading, at the instant of the probe's last, is what makes it more than 9 °F; one after it is not."""
    air = _air(9.01, np.arange(0, 241.0))
    assert judge_stuck(still(0, 4), air).stuck
    assert not judge_stuck(still(0, 4), air.between(T0, T0 + 239 * MINUTE)).stuck
    late = joined(air.between(T0, T0 + 239 * MINUTE), points((240.5, 200)))
    assert not judge_stuck(still(0, 4), late).stuck
    early = joined(points((-1, 200)), points(*((float(m), 38.0) for m in range(241))))
    assert not judge_stuck(still(0, 4), early).stuck


def test_stuck_by_two_air_readings() -> None:
    """Two are enough to tell that it warmed; one tells nothing."""
    assert judge_stuck(still(0, 4), points((0, 38), (200, 90))).stuck
    assert not judge_stuck(still(0, 4), points((200, 90))).stuck


def test_stuck_once_told_it_is_so_since_the_instant_told() -> None:
    """A change at that very instant began the stretch; one after it ended it."""
    probe = joined(changing([10.0]), still(10, 1))
    assert judge_stuck(probe, NO_AIR, told_since_ms=T0 + 10 * MINUTE).stuck
    assert not judge_stuck(probe, NO_AIR, told_since_ms=T0 + 10 * MINUTE - 1).stuck
