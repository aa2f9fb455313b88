"""However a curve is sampled, the record never shows what did not happen.

A continuous curve that crosses each level at most once is sampled anywhere. Where the curve misses a limit the
verdict is never ``met``; where it keeps it, never ``missed``. This holds through the sieve as well, for the sieve
may only make a record show less.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared

Curve = Callable[[float], float]


@dataclass(frozen=True)
class Fall:
    """A falling curve: °F over minutes, through the given corners."""

    corners: tuple[tuple[float, float], ...]

    def __call__(self, minute: float) -> float:
        """Return °F at a minute."""
        before = self.corners[0]
        for corner in self.corners:
            if minute <= corner[0]:
                if corner[0] == before[0]:
                    return corner[1]
                share = (minute - before[0]) / (corner[0] - before[0])
                return before[1] + share * (corner[1] - before[1])
            before = corner
        return before[1]

    def crosses(self, level: float) -> float:
        """Return the minute at which a level is first reached, infinite if never."""
        if self.corners[0][1] <= level:
            return -math.inf
        for (m0, f0), (m1, f1) in zip(self.corners, self.corners[1:], strict=False):
            if f1 <= level < f0:
                return m0 + (f0 - level) / (f0 - f1) * (m1 - m0)
        return math.inf


@st.composite
def curves(draw: st.DrawFn) -> Fall:
    """A strictly falling curve from above 135 °F."""
    degrees = draw(st.floats(136, 190))
    minute = 0.0
    corners = [(minute, degrees)]
    for _ in range(draw(st.integers(1, 7))):
        minute += draw(st.floats(1, 200))
        degrees -= draw(st.floats(0.5, 80))
        corners.append((minute, max(degrees, 33.0 - len(corners) / 10)))
        degrees = corners[-1][1]
    return Fall(tuple(corners))


samplings = st.lists(st.integers(1, 90 * 60), min_size=1, max_size=60)  # seconds between readings


def _sampled(curve: Fall, first_s: int, steps: list[int]) -> Series:
    seconds, at = [first_s], first_s
    for step in steps:
        at += step
        seconds.append(at)
    return Series.of((T0 + s * 1000, celsius_of_f(curve(s / 60))) for s in seconds)


def _true_left(curve: Fall) -> float:
    return curve.crosses(135.0)


@settings(max_examples=600)
@given(curves(), st.integers(0, 3 * 3600), samplings, st.integers(0, 9 * 60), st.booleans())
def test_cooling_verdict_is_never_against_the_curve(
    curve: Fall, first_s: int, steps: list[int], beyond_min: int, left_heat: bool
) -> None:
    """Never met where the curve is late, never missed where it is in time, at whatever instant it is judged."""
    record = Record(_sampled(curve, first_s, steps), declared=declared(("left-heat", 0)) if left_heat else ())
    answer = judge(Process.COOLING, record, LIMITS, until_ms=int(record.probe.at_ms[-1]) + beyond_min * MINUTE)
    started = _true_left(curve)
    for clause, (target, hours) in zip(answer.clauses, ((70.0, 2), (41.0, 6)), strict=True):
        taken = curve.crosses(target) - started if math.isfinite(started) else math.inf
        if taken > hours * 60 + 1e-3:
            assert clause.verdict is not Verdict.MET, clause
        elif math.isfinite(taken) and taken < hours * 60 - 1e-3:
            assert clause.verdict is not Verdict.MISSED, clause


@settings(max_examples=300)
@given(curves(), st.integers(0, 3600), samplings, st.data())
def test_cooling_verdict_that_is_met_or_missed_stays(
    curve: Fall, first_s: int, steps: list[int], data: st.DataObject
) -> None:
    """On a record without doubt, what was met or missed at an instant is so at every later one."""
    series = _sampled(curve, first_s, steps)
    until = data.draw(st.integers(int(series.at_ms[0]), int(series.at_ms[-1])))
    early = judge(Process.COOLING, Record(series), LIMITS, until_ms=until)
    late = judge(Process.COOLING, Record(series), LIMITS, until_ms=int(series.at_ms[-1]) + HOUR)
    for before, after in zip(early.clauses, late.clauses, strict=True):
        if before.verdict in {Verdict.MET, Verdict.MISSED} and not (after.doubtful or late.set_aside):
            assert after.verdict is before.verdict


@settings(max_examples=300)
@given(
    st.floats(33, 41),
    st.floats(0, 3),
    st.floats(10, 200),
    samplings,
    st.integers(0, 120),
    st.integers(-30, 30),
)
def test_cold_holding_verdict_is_never_against_the_curve(
    middle: float, swing: float, period_min: float, steps: list[int], beyond_min: int, from_min: int
) -> None:
    """Never missed where the curve keeps 41 °F; met only of a record whose readings all keep it."""
    seconds = [0]
    for step in steps:
        seconds.append(seconds[-1] + step)
    degrees = [middle + swing * math.sin(s / 60 / period_min) for s in seconds]
    series = Series.of((T0 + s * 1000, celsius_of_f(f)) for s, f in zip(seconds, degrees, strict=True))
    record = Record(series, declared=declared(("from", from_min)))
    until = int(series.at_ms[-1]) + beyond_min * MINUTE
    answer = judge(Process.COLD_HOLDING, record, LIMITS, until_ms=until)
    if middle + swing <= 41:
        assert answer.verdict is not Verdict.MISSED
    asked = [f for s, f in zip(seconds, degrees, strict=True) if s >= from_min * 60]
    if answer.verdict is Verdict.MET:
        assert max(asked) <= 41 + 1e-5
        assert beyond_min <= 20


@settings(max_examples=200)
@given(curves(), st.integers(0, 3600), samplings, st.integers(0, 600))
def test_live_vessel_and_audit_of_the_file_agree(curve: Fall, first_s: int, steps: list[int], until_min: int) -> None:
    """The same readings judged live and as a file give the same cooling, clause by clause."""
    series = _sampled(curve, first_s, steps)
    until = T0 + until_min * MINUTE
    live = judge_vessel(Record(series), LIMITS, step=Step.COOL, holding="cold", until_ms=until)[0]
    known = Series(series.at_ms[series.at_ms <= until], series.celsius[series.at_ms <= until])
    audit = judge(Process.COOLING, Record(known), LIMITS, until_ms=until)
    assert live == audit
