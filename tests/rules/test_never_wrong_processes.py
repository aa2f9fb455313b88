"""However a curve is sampled, no process shows what did not happen.

As for cooling and holding: a curve made of straight lines, read anywhere, at most one corner between neighbours of
a level. Where the truth breaks a clause the verdict is never ``met``; where it keeps it, never ``missed``.
"""

import math
from dataclasses import dataclass

from hypothesis import example, given, settings
from hypothesis import strategies as st

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, declared

AUSTRALIA, UK = load_limits("australia"), load_limits("england-wales-ni")
SLACK = 1e-3


@dataclass(frozen=True)
class Curve:
    """°F over minutes, straight between corners."""

    corners: tuple[tuple[float, float], ...]

    def __call__(self, minute: float) -> float:
        """Return °F at a minute."""
        before = self.corners[0]
        for corner in self.corners:
            if minute <= corner[0]:
                share = (minute - before[0]) / (corner[0] - before[0]) if corner[0] > before[0] else 1.0
                return before[1] + share * (corner[1] - before[1])
            before = corner
        return before[1]

    @property
    def ends(self) -> float:
        """The last minute."""
        return self.corners[-1][0]

    def outside(self, low: float, high: float, until: float) -> float:
        """Return the minutes strictly above `low` and below `high`, up to a minute."""
        total = 0.0
        for (m0, f0), (m1, f1) in zip(self.corners, self.corners[1:], strict=False):
            stop = min(m1, until)
            if stop <= m0:
                break
            total += _between((m0, f0), (m1, f1), (low, high), stop)
        return total


def _between(one: tuple[float, float], other: tuple[float, float], levels: tuple[float, float], stop: float) -> float:
    """Return the minutes of one straight piece that lie between two levels, up to `stop`."""
    (m0, f0), (m1, f1) = one, other
    if f0 == f1:
        return stop - m0 if levels[0] < f0 < levels[1] else 0.0
    at = sorted(m0 + (level - f0) / (f1 - f0) * (m1 - m0) for level in levels)
    return max(0.0, min(at[1], stop) - max(at[0], m0))


@st.composite
def swings(draw: st.DrawFn, low: float, high: float, longest: float = 120.0) -> Curve:
    """A curve that goes up and down between two temperatures."""
    minute = 0.0
    corners = [(minute, draw(st.floats(low, high)))]
    for _ in range(draw(st.integers(1, 6))):
        minute += draw(st.floats(1, longest))
        corners.append((minute, draw(st.floats(low, high))))
    return Curve(tuple(corners))


def _sampled(curve: Curve, steps: list[float], *, corners: bool = True) -> Series:
    """Read a curve at its ends, at its corners, and wherever `steps` say, so that nothing turns between readings."""
    minutes = {0.0, curve.ends, *((m for m, _ in curve.corners) if corners else ())}
    at = 0.0
    for step in steps:
        at += step
        minutes.add(min(at, curve.ends))
    instants = {round(minute * MINUTE): minute for minute in minutes}
    return Series.of((T0 + ms, celsius_of_f(curve(ms / MINUTE))) for ms in instants)


steps = st.lists(st.floats(0.05, 19), min_size=1, max_size=120)
# cold for two readings only, which look like a spike: without them the return lies in a hole
UNSEEN = Curve(((0.0, 34.0), (16.0, 60.0), (136.0, 39.0), (137.0, 34.0), (138.0, 55.0)))


@example(UNSEEN, [1.0], "from")
@settings(max_examples=150)
@given(swings(34, 60), steps, st.sampled_from(["from", "returned"]))
def test_cumulative_time_is_never_against_the_curve(curve: Curve, apart: list[float], begun: str) -> None:
    """The truth lies between the shortest and the longest sum; put back, it may have been outside for long before."""
    record = Record(_sampled(curve, apart), declared=declared((begun, 0)))
    until = int(record.probe.at_ms[-1])
    answer = judge(Process.CUMULATIVE_TIME, record, AUSTRALIA, until_ms=until)
    total = curve.outside(41, 140, curve.ends)
    back = [m for m in (float(minute) for minute in range(0, int(curve.ends) + 1, 3)) if curve(m) <= 41]
    late = [m for m in back if curve.outside(41, 140, m) >= 120 + SLACK]
    if total >= 240 + SLACK or any(curve(m + 0.01) <= 41 for m in late):
        assert answer.verdict is not Verdict.MET
    if begun == "returned" and record.probe.celsius[0] > celsius_of_f(41) + SLACK:
        assert answer.verdict is not Verdict.MET
    if (
        total < 240 - SLACK
        and not any(curve.outside(41, 140, m) >= 120 - SLACK for m in back)
        and curve(curve.ends) > 41
    ):
        assert answer.verdict is not Verdict.MISSED or total >= 120 - SLACK


@settings(max_examples=150)
@given(swings(139, 162, longest=3.0), st.lists(st.floats(0.01, 1.4), min_size=1, max_size=120))
def test_cooking_is_never_against_the_curve(curve: Curve, apart: list[float]) -> None:
    """Never met where no row was kept, never missed where one was."""
    series = _sampled(curve, apart)
    answer = judge(Process.COOK_EGGS, Record(series), LIMITS, until_ms=int(series.at_ms[-1]), finished=True)
    longest = {level: _longest(curve, level) for level in (145.0, 150.0, 155.0, 158.0)}
    kept = (longest[145] >= 3 + SLACK, longest[150] >= 1 + SLACK, longest[155] >= 17 / 60 + SLACK, longest[158] > SLACK)
    short = (longest[145] < 3 - SLACK, longest[150] < 1 - SLACK, longest[155] < 17 / 60 - SLACK, longest[158] < 0)
    if any(kept):
        assert answer.verdict is not Verdict.MISSED
    if all(short):
        assert answer.verdict is not Verdict.MET


def _longest(curve: Curve, level: float) -> float:
    """Return the longest unbroken time at or above a level in minutes, -1 where it is never reached."""
    best, begun = -1.0, None
    for (m0, f0), (m1, f1) in zip(curve.corners, curve.corners[1:], strict=False):
        if f0 < level and f1 < level:
            begun = None
            continue
        cross = m0 if f0 == f1 else m0 + (level - f0) / (f1 - f0) * (m1 - m0)
        start = m0 if f0 >= level else cross
        stop = m1 if f1 >= level else cross
        begun = start if begun is None or f0 < level else begun
        best = max(best, stop - begun)
        if f1 < level:
            begun = None
    return best


@settings(max_examples=150)
@given(st.floats(38, 44), st.floats(30, 260), st.floats(60, 69), steps, st.booleans())
def test_time_control_is_never_against_the_curve(
    start: float, gone: float, warm: float, apart: list[float], record_end: bool
) -> None:
    """Met only of food that was cold when it left and gone in time; missed only of food that was not."""
    curve = Curve(((0.0, start), (20.0, start), (40.0, warm), (20.0 + gone, warm)))
    notes = [("removed", 20.0), *([("ended", 20.0 + gone)] if record_end else [])]
    record = Record(_sampled(curve, apart), declared=declared(*notes))
    until = max(int(record.probe.at_ms[-1]), T0 + round((20 + gone) * MINUTE))
    answer = judge(Process.TIME_CONTROL_4H, record, LIMITS, until_ms=until)
    if start > 41 + SLACK or gone > 240 + SLACK:
        assert answer.verdict is not Verdict.MET
    if start <= 41 and gone <= 240 - SLACK:
        assert answer.verdict is not Verdict.MISSED


@settings(max_examples=150)
@given(st.floats(60, 75), st.floats(10, 300), steps, st.floats(0, 60))
def test_ambient_cooling_is_never_against_the_curve(
    start: float, takes: float, apart: list[float], first: float
) -> None:
    """Counted from its preparation, whenever the first reading comes."""
    curve = Curve(((0.0, start), (takes, 41.0), (takes + 30, 38.0)))
    series = _sampled(curve, apart)
    series = series.between(T0 + round(min(first, takes) * MINUTE), int(series.at_ms[-1]))
    record = Record(series, declared=declared(("prepared", 0)))
    answer = judge(Process.AMBIENT_COOLING, record, LIMITS, until_ms=int(series.at_ms[-1]))
    if takes > 240 + SLACK:
        assert answer.verdict is not Verdict.MET
    if takes < 240 - SLACK:
        assert answer.verdict is not Verdict.MISSED


@settings(max_examples=150)
@given(st.floats(10, 300), st.floats(0.1, 400), steps)
def test_display_spell_is_never_against_the_curve(ramp: float, above: float, apart: list[float]) -> None:
    """One spell above 8 °C: borne only if it was shorter than 4 h, missed only if it was not."""
    up = ramp + 30  # slow enough that no reading is in doubt
    curve = Curve(((0.0, 42.0), (up, 50.0), (up + above, 50.0), (2 * up + above, 42.0)))
    record = Record(_sampled(curve, apart), declared=declared(("from", 0)))
    until = int(record.probe.at_ms[-1])
    answer = judge(Process.COLD_HOLDING, record, UK, until_ms=until, step=Step.DISPLAY)
    spell = curve.outside(46.4, math.inf, curve.ends)
    if spell >= 240 + SLACK:
        assert answer.verdict is not Verdict.MET
    if spell < 240 - SLACK:
        assert answer.verdict is not Verdict.MISSED


@settings(max_examples=100)
@given(st.floats(35, 41), st.floats(10, 240), st.floats(0, 2), st.lists(st.floats(0.02, 10), min_size=5, max_size=200))
def test_reheating_is_never_against_the_curve(cold: float, takes: float, dwell: float, apart: list[float]) -> None:
    """Reached within 2 h of leaving 41 °F, and held 15 s: never met where either failed, whatever it does later."""
    begins = 30.0
    takes, dwell = round(takes * MINUTE) / MINUTE, round(dwell * MINUTE) / MINUTE  # corners on whole milliseconds
    target = begins + takes
    again = target + 121  # held for long enough, but too late
    late = ((target + dwell + 5, 150.0), (again, 150.0), (again + 1, 165.0), (again + 2, 165.0))
    curve = Curve(((0.0, cold), (begins, 41.0), (target, 165.0), (target + dwell, 165.0), *late))
    series = _sampled(curve, apart)
    answer = judge(Process.REHEATING, Record(series), LIMITS, until_ms=int(series.at_ms[-1]), finished=True)
    if takes > 120 + SLACK or dwell < 0.25 - SLACK:
        assert answer.verdict is not Verdict.MET
    if takes < 120 - SLACK and dwell >= 0.25 + SLACK:
        assert answer.verdict is not Verdict.MISSED
