"""Implausible probes and wrong clocks at the edges of our figures."""

import numpy as np
import pytest

from holdwatch.readings import Series
from holdwatch.rules.deviceclock import ClockVerdict, Dated, judge_device_clock
from holdwatch.rules.implausible import Refusal, judge_implausible, judge_refusals
from tests.rules.series_words import HOUR, MINUTE, T0, joined, line, points

S = 1_000
LAST = line((0, 38), (70, 38))
NOW = int(LAST.at_ms[-1])


# ---------------------------------------------------------------- implausible


@pytest.mark.parametrize(("first_ms", "implausible"), [(NOW - HOUR + 1, True), (NOW - HOUR, False)])
def test_implausible_looks_back_for_less_than_an_hour(first_ms: int, *, implausible: bool) -> None:
    """Three power-on values on end, the first of them an hour ago."""
    on_end = Series.of([(first_ms, 85.0), (first_ms + MINUTE, 85.0), (NOW, 85.0)])
    verdict = judge_implausible(on_end, NOW)
    assert verdict.implausible is implausible
    assert verdict.since_ms == (first_ms if implausible else None)


def test_implausible_jumps_are_told_from_the_first() -> None:
    """Five of them, each of two readings: values set aside in a row are one jump."""
    spikes = [(5 + 10 * n + more, 120) for n in range(6) for more in (0.3, 0.6)]
    five = joined(line((0, 38), (59, 38)), points(*spikes[:10]))
    verdict = judge_implausible(five, int(five.at_ms[-1]))
    assert verdict.implausible
    assert verdict.since_ms == T0 + round(5.3 * MINUTE)
    assert "jumped away and back 5 times" in verdict.why
    four = joined(line((0, 38), (59, 38)), points(*spikes[:8]))
    assert not judge_implausible(four, int(four.at_ms[-1])).implausible
    away = joined(line((0, 38), (59, 38)), points(*spikes[:6]), points((59.3, 120), (59.6, 120)))
    assert not judge_implausible(away, int(away.at_ms[-1])).implausible  # the last, not back yet, is one too


# ---------------------------------------------------------------- refusals


def _refused(*minutes: float, payload: str = "-127.00") -> list[Refusal]:
    return [Refusal(T0 + round(m * MINUTE), payload, "−127 is no temperature.") for m in minutes]


def _received(*minutes: float) -> list[int]:
    return [T0 + round(m * MINUTE) for m in minutes]


def test_refusal_at_the_instant_of_the_last_reading_is_not_since_it() -> None:
    """Three are asked for since it was last heard."""
    assert not judge_refusals(_refused(0, 1, 2), _received(0)).implausible
    assert judge_refusals(_refused(0.001, 1, 2), _received(0)).implausible


def test_refusals_are_over_after_five_readings_since_the_last_of_them() -> None:
    """What came between two refusals does not count, nor does a reading at the very instant of the last."""
    refused = _refused(1, 2, 10)
    assert judge_refusals(refused, _received(3, 4, 5, 6, 7, 11), told=True).implausible
    assert judge_refusals(refused, _received(10, 11, 12, 13, 14), told=True).implausible
    assert not judge_refusals(refused, _received(11, 12, 13, 14, 15), told=True).implausible
    assert judge_refusals(_refused(1), _received(2, 3, 4, 5), told=True).implausible


def test_refusals_tell_the_last_word_of_a_probe() -> None:
    """An error code, then word that it went away: that is what somebody has to look after."""
    verdict = judge_refusals([*_refused(1), *_refused(2, payload="offline")], _received(0))
    assert "gone offline" in verdict.why
    assert verdict.since_ms == T0 + 2 * MINUTE
    back = judge_refusals([*_refused(1, payload="offline"), *_refused(2)], _received(0))
    assert not back.implausible


# ---------------------------------------------------------------- the device's clock


def _clock(pairs: list[tuple[float, float]], impossible: tuple[int, ...] = ()) -> ClockVerdict:
    """Judge (stated, received) in seconds; which of them cannot be."""
    at = np.array([T0 + round(stated * S) for stated, _ in pairs], dtype=np.int64)
    received = np.array([T0 + round(arrived * S) for _, arrived in pairs], dtype=np.int64)
    return judge_device_clock(Dated(at, received, np.isin(np.arange(len(pairs)), impossible)))


def test_device_clock_is_wrong_since_the_first_of_the_last_five() -> None:
    """When it arrived."""
    verdict = _clock([(60 * n, 60 * n + 600) for n in range(8)])
    assert verdict == ClockVerdict(wrong=True, since_ms=T0 + (3 * 60 + 600) * S, by_ms=600 * S)


def test_device_clock_readings_that_arrive_together_waited() -> None:
    """Stated a second apart, arrived at once ten minutes later: an outbox, however alike the delays are."""
    assert not _clock([(n, 600) for n in range(5)]).wrong
    assert not _clock([(0, 600), (1, 600), (2, 602), (3, 603), (4, 604)]).wrong
    assert _clock([(0, 600), (1, 601), (2, 602), (3, 603), (4, 604)]).wrong


def test_device_clock_with_one_impossible_instant_is_not_judged_by_the_others() -> None:
    """Two hours behind and one beyond belief: no figure fits both."""
    late = [(60 * n, 60 * n + 7200) for n in range(5)]
    assert _clock(late).wrong
    assert not _clock(late, impossible=(2,)).wrong
    assert _clock(late, impossible=(0, 1, 2, 3, 4)) == ClockVerdict(wrong=True, since_ms=T0 + 7200 * S)
