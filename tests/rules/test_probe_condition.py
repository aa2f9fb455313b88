"""What a probe shows of itself: values that cannot be, a value that never changes, a clock that is wrong.

The figures are ours, from no code; each is tried on both its sides. −127 and +85 °C: the disconnected and the power-on
value of the DS18B20 (Analog Devices data sheet, table 1: "the power-on reset value of the temperature register is
+85 °C"; −127 is what common libraries return when nothing answers, from memory).
"""

import numpy as np
import pytest

from holdwatch.readings import Series
from holdwatch.rules.deviceclock import Dated, judge_device_clock
from holdwatch.rules.implausible import Refusal, judge_implausible, judge_refusals
from holdwatch.rules.stuck import judge_stuck
from tests.rules.series_words import HOUR, MINUTE, T0, joined, line, points

S = 1_000
DAY = 24 * HOUR


def _end(series: Series) -> int:
    return int(series.at_ms[-1])


# ---------------------------------------------------------------- implausible


@pytest.mark.parametrize(("times", "implausible"), [(1, False), (2, False), (3, True)])
def test_implausible_power_on_value_three_times_on_end(times: int, *, implausible: bool) -> None:
    """Once is a chip that has just started, which the sieve sets aside; three on end is one that does not measure."""
    start = T0 + 31 * MINUTE
    series = joined(line((0, 38), (30, 38)), Series.of((start + n * MINUTE, 85.0) for n in range(times)))
    verdict = judge_implausible(series, _end(series))
    assert verdict.implausible is implausible
    assert verdict.since_ms == (start if implausible else None)


def test_implausible_food_that_cools_through_85_degrees_is_not() -> None:
    """185 °F passes by in hot cream."""
    series = line((0, 200), (30, 170))
    assert not judge_implausible(series, _end(series)).implausible


@pytest.mark.parametrize(
    ("jumps", "told", "implausible"), [(4, False, False), (5, False, True), (1, True, True), (0, True, False)]
)
def test_implausible_five_jumps_within_an_hour(jumps: int, *, told: bool, implausible: bool) -> None:
    """A loose contact jumps and comes back; once told, an hour without a jump takes it back."""
    spikes = [(5 + 10 * n + 0.5, 120) for n in range(jumps)]
    series = joined(line((0, 38), (59, 38)), points(*spikes))
    assert judge_implausible(series, _end(series), told=told).implausible is implausible


def test_implausible_jumps_spread_over_two_hours_are_none() -> None:
    """Five jumps in two hours are not five within one."""
    series = joined(line((0, 38), (119, 38)), points(*((10 + 24 * n + 0.5, 120) for n in range(5))))
    assert not judge_implausible(series, _end(series)).implausible


def _refused(*minutes: float, payload: str = "-127.00") -> list[Refusal]:
    return [Refusal(T0 + round(m * MINUTE), payload, "−127 is no temperature.") for m in minutes]


def test_refusals_three_since_the_last_reading_are_told() -> None:
    """Two may be a hiccup; one reading between them begins the count anew."""
    assert not judge_refusals(_refused(1, 2), [T0]).implausible
    assert not judge_refusals(_refused(1, 2, 4), [T0, T0 + 3 * MINUTE]).implausible
    verdict = judge_refusals(_refused(1, 2, 3), [T0])
    assert verdict.implausible
    assert verdict.since_ms == T0 + MINUTE
    assert verdict.why == "it speaks, and sends no temperature: −127 is no temperature"
    assert judge_refusals(_refused(1, 2, 3), []).implausible  # never heard


def test_refusals_word_that_a_probe_went_away_is_told_at_once() -> None:
    """What a broker says in the name of a device that vanished; a word within another one is none."""
    assert "offline" in judge_refusals(_refused(1, payload="offline"), [T0]).why
    assert judge_refusals(_refused(1, payload='{"state": "Disconnected"}'), [T0]).implausible
    assert not judge_refusals(_refused(1, payload="offlineish"), [T0]).implausible


@pytest.mark.parametrize(("after", "implausible"), [(0, True), (4, True), (5, False)])
def test_refusals_once_told_are_over_after_five_readings(after: int, *, implausible: bool) -> None:
    """A probe that answers now and then is not well: no finding opens and closes with every word of it."""
    received = [T0 + (10 + n) * MINUTE for n in range(after)]
    assert judge_refusals(_refused(1, 2, 3), received, told=True).implausible is implausible
    assert not judge_refusals([], [T0], told=True).implausible


# ---------------------------------------------------------------- stuck


def _habit(hours: float, *, still_min: int = 10) -> Series:
    """A fridge in which the probe changes every so many minutes."""
    at = np.arange(0, round(hours * 60), 2)
    return points(*((float(m), 38.0 + 0.5 * ((m // still_min) % 3)) for m in at.tolist()))


def _still(first_min: float, hours: float) -> Series:
    return points(*((first_min + m, 40.0) for m in range(0, round(hours * 60) + 1, 2)))


NO_AIR = Series.empty()


@pytest.mark.parametrize(("hours", "stuck"), [(11.9, False), (12.0, True)])
def test_stuck_after_twelve_hours_without_a_change(hours: float, *, stuck: bool) -> None:
    """A probe that changed every ten minutes for a day, and then not for half a day."""
    verdict = judge_stuck(joined(_habit(25), _still(25 * 60, hours)), NO_AIR)
    assert verdict.stuck is stuck
    assert verdict.since_ms == T0 + 25 * HOUR


def test_stuck_probe_that_often_stands_still_is_not() -> None:
    """A probe that rounds coarsely stood still for four hours before: twelve are not four times as long and more."""
    habit = _habit(50, still_min=241)
    assert not judge_stuck(joined(habit, _still(50 * 60, 12)), NO_AIR).stuck


def test_stuck_needs_a_day_of_history() -> None:
    """Of a probe that is new nobody knows what it does."""
    assert not judge_stuck(joined(_habit(23), _still(23 * 60, 14)), NO_AIR).stuck
    assert not judge_stuck(Series.empty(), NO_AIR).stuck


@pytest.mark.parametrize(("hours", "air_f", "stuck"), [(3.9, 70, False), (4.0, 70, True), (4.0, 44, False)])
def test_stuck_while_the_air_beside_it_warmed(hours: float, air_f: float, *, stuck: bool) -> None:
    """Four hours in air that rose by 32 °F, and not a digit; air that rose by 6 °F proves nothing."""
    air = line((0, 38), (hours * 60, air_f))
    assert judge_stuck(_still(0, hours), air).stuck is stuck


def test_stuck_once_told_is_over_with_the_first_change() -> None:
    """However little of its history is looked at."""
    still = _still(25 * 60, 30)
    since = int(still.at_ms[0])
    cut = Series(still.at_ms[400:], still.celsius[400:])
    assert judge_stuck(cut, NO_AIR, told_since_ms=since).stuck
    changed = joined(cut, points((56 * 60, 41)))
    assert not judge_stuck(changed, NO_AIR, told_since_ms=since).stuck
    assert judge_stuck(Series.empty(), NO_AIR, told_since_ms=since).stuck


# ---------------------------------------------------------------- the device's clock


def _dated(*pairs: tuple[float, float], impossible: bool = False) -> Dated:
    """Give (stated, received) in seconds after T0."""
    at = np.array([T0 + round(stated * S) for stated, _ in pairs], dtype=np.int64)
    received = np.array([T0 + round(arrived * S) for _, arrived in pairs], dtype=np.int64)
    return Dated(at, received, np.full(len(pairs), impossible))


def _steady(late_s: float, count: int = 5) -> Dated:
    return _dated(*((60 * n, 60 * n + late_s) for n in range(count)))


@pytest.mark.parametrize(
    ("late_s", "wrong"),
    [(0, False), (299.9, False), (300, True), (7200, True), (-30, False), (-30.1, True), (-90, True)],
)
def test_device_clock_that_is_off_by_the_same(late_s: float, *, wrong: bool) -> None:
    """Five minutes behind, or more than half a minute ahead; anything less is the network's."""
    verdict = judge_device_clock(_steady(late_s))
    assert verdict.wrong is wrong
    assert verdict.by_ms == (round(late_s * S) if wrong else None)


def test_device_clock_needs_five_readings() -> None:
    """Four may be chance."""
    assert not judge_device_clock(_steady(7200, count=4)).wrong


def test_device_clock_outbox_is_late_and_rightly_dated() -> None:
    """A burst: the arrivals lie together while the instants do not."""
    burst = _dated(*((60 * n, 3600 + n * 0.05) for n in range(5)))
    assert not judge_device_clock(burst).wrong
    at_once = _dated(*((60 * n, 3600) for n in range(5)))
    assert not judge_device_clock(at_once).wrong


@pytest.mark.parametrize(("apart_s", "wrong"), [(10.0, True), (10.1, False)])
def test_device_clock_delays_are_alike_within_ten_seconds(apart_s: float, *, wrong: bool) -> None:
    """Delays that differ are the network's doing, not a clock's."""
    pairs = [(60 * n, 60 * n + 600) for n in range(4)] + [(240, 240 + 600 + apart_s)]
    assert judge_device_clock(_dated(*pairs)).wrong is wrong


def test_device_clock_beyond_belief_is_told_without_a_figure() -> None:
    """Readings that cannot be of then are kept, not judged; one among others is a slip."""
    dated = _dated(*((60 * n, 60 * n) for n in range(5)), impossible=True)
    verdict = judge_device_clock(dated)
    assert (verdict.wrong, verdict.by_ms, verdict.since_ms) == (True, None, T0)
    one = Dated(dated.at_ms, dated.received_ms, np.array([True, False, False, False, False]))
    assert not judge_device_clock(one).wrong
    assert judge_device_clock(one, told=True).wrong


def test_device_clock_once_told_is_not_taken_back_by_one_late_reading() -> None:
    """The clock is as wrong as before when the network falters; it is right when readings are rightly dated."""
    pairs = [(60 * n, 60 * n + 600) for n in range(4)] + [(240, 240 + 700)]
    assert judge_device_clock(_dated(*pairs), told=True).wrong
    assert not judge_device_clock(_steady(1), told=True).wrong
