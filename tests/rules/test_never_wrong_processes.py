"""However a curve is sampled, no process shows what did not happen.

As for cooling and holding: a curve made of straight lines, read anywhere, at most one corner between neighbours of
a level. Where the truth breaks a clause the verdict is never ``met``; where it keeps it, never ``missed``.
"""

import math
from dataclasses import dataclass
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Medium, Record, Series
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


@settings(max_examples=150, deadline=None)
@given(swings(34, 60), steps)
def test_cumulative_time_is_never_against_the_curve(curve: Curve, apart: list[float]) -> None:
    """The truth lies between the shortest and the longest sum."""
    record = Record(_sampled(curve, apart), declared=declared(("from", 0)))
    until = int(record.probe.at_ms[-1])
    answer = judge(Process.CUMULATIVE_TIME, record, AUSTRALIA, until_ms=until)
    total = curve.outside(41, 140, curve.ends)
    back = [m for m in (float(minute) for minute in range(0, int(curve.ends) + 1, 3)) if curve(m) <= 41]
    late = [m for m in back if curve.outside(41, 140, m) >= 120 + SLACK]
    if total >= 240 + SLACK or any(curve(m + 0.01) <= 41 for m in late):
        assert answer.verdict is not Verdict.MET
    if (
        total < 240 - SLACK
        and not any(curve.outside(41, 140, m) >= 120 - SLACK for m in back)
        and curve(curve.ends) > 41
    ):
        assert answer.verdict is not Verdict.MISSED or total >= 120 - SLACK


@settings(max_examples=150, deadline=None)
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


@settings(max_examples=150, deadline=None)
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


@settings(max_examples=150, deadline=None)
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


@settings(max_examples=150, deadline=None)
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


@settings(max_examples=100, deadline=None)
@given(st.floats(35, 41), st.floats(10, 240), st.floats(0, 2), st.lists(st.floats(0.02, 10), min_size=5, max_size=200))
def test_reheating_is_never_against_the_curve(cold: float, takes: float, dwell: float, apart: list[float]) -> None:
    """Reached within 2 h of leaving 41 °F, and held 15 s: never met where either failed."""
    begins = 30.0
    takes, dwell = round(takes * MINUTE) / MINUTE, round(dwell * MINUTE) / MINUTE  # corners on whole milliseconds
    target = begins + takes
    curve = Curve(((0.0, cold), (begins, 41.0), (target, 165.0), (target + dwell, 165.0), (target + dwell + 5, 150.0)))
    series = _sampled(curve, apart)
    answer = judge(Process.REHEATING, Record(series), LIMITS, until_ms=int(series.at_ms[-1]), finished=True)
    if takes > 120 + SLACK or dwell < 0.25 - SLACK:
        assert answer.verdict is not Verdict.MET
    if takes < 120 - SLACK and dwell >= 0.25 + SLACK:
        assert answer.verdict is not Verdict.MISSED


# ---------------------------------------------------------------- an invented code, as a file alone

INVENTED = (
    """
id = "xx-strict"
title = "Strict Code"
authority = "nobody"
edition = "first"
caution = "Invented for a test."
"""
    + "".join(
        f"""
[{part}]
clause = "{part}"
source = "Strict Code"
requires = "as invented"
confidence = "memory"
read_on = 2026-11-25
read_at = ["this test"]
{figures}
"""
        for part, figures in {
            "cold-holding": 'level = "6 °C"\ninclusive = false\n[cold-holding.tolerance]\nclause = "t"\nsource = "s"\n'
            'requires = "one spell of less than 3 h"\nwithin = "3 h"\nwithin_inclusive = false\nconfidence = "memory"\n'
            'read_on = 2026-11-25\nread_at = ["this test"]',
            "hot-holding": 'level = "62 °C"\ninclusive = false',
            "shell-eggs": 'level = "9 °C"\ninclusive = false\nmedium = "air"',
            "frozen-storage": 'level = "-20 °C"\ninclusive = false',
            "ambient-cooling": 'target = "7 °C"\ntarget_inclusive = false\nwithin = "3 h"\nwithin_inclusive = false',
            "received-cooling": 'target = "7 °C"\ntarget_inclusive = false\nwithin = "3 h"\nwithin_inclusive = false',
            "time-control-4h": 'starts_cold = "6 °C"\nstarts_cold_inclusive = false\nwithin = "3 h"\nwithin_inclusive = false',
            "time-control-6h": 'starts_cold = "6 °C"\nnever_above = "20 °C"\nnever_above_inclusive = false\nwithin = "5 h"',
            "time-control-from-room": 'starts_cold = "20 °C"\nwithin = "2 h"',
            "cumulative-time": 'cold = "6 °C"\nhot = "62 °C"\nback_within = "1 h"\nwithin = "3 h"\nwithin_inclusive = false',
            "cook-eggs": '[[cook-eggs.rows]]\nlevel = "72 °C"\ninclusive = false\ndwell = "30 s"',
            "cook-eggs-to-order": '[[cook-eggs-to-order.rows]]\nlevel = "72 °C"',
            "reheating": 'level = "80 °C"\ninclusive = false\ndwell = "20 s"\nstart = "6 °C"\nwithin = "1 h"',
        }.items()
    )
    + """
[cooling]
start = "50 °C"

[[cooling.stages]]
clause = "cooling"
source = "Strict Code"
requires = "as invented"
target = "20 °C"
target_inclusive = false
within = "90 min"
within_inclusive = false
counts = "total"
confidence = "memory"
read_on = 2026-11-25
read_at = ["this test"]
"""
)

CASES: dict[str, list[tuple[list[tuple[float, float]], list[tuple[str, float]], str]]] = {
    "cooling": [([(0, 50), (89, 19.9)], [], "met"), ([(0, 50), (90, 19.9)], [], "unproven"), ([(0, 50), (80, 20), (100, 20)], [], "missed")],
    "cold-holding": [([(0, 5.9), (20, 5.9)], [], "met"), ([(0, 5.9), (20, 6.0), (30, 5.9)], [], "met"), ([(0, 5.9), (2, 6.2), (184, 6.2), (187, 5.9)], [], "missed")],
    "hot-holding": [([(0, 62.1), (20, 62.1)], [], "met"), ([(0, 62), (20, 62)], [], "missed")],
    "shell-eggs": [([(0, 8.9), (20, 8.9)], [], "met"), ([(0, 9), (20, 9)], [], "missed")],
    "frozen-storage": [([(0, -20.1), (20, -20.1)], [], "met"), ([(0, -20), (20, -20)], [], "missed")],
    "ambient-cooling": [([(0, 20), (179, 6.9)], [("prepared", 0)], "met"), ([(0, 20), (179, 7.3), (180, 6.9)], [("prepared", 0)], "unproven"), ([(0, 20), (170, 7), (190, 7)], [("prepared", 0)], "missed")],
    "received-cooling": [([(0, 20), (179, 6.9)], [("from", 0)], "met"), ([(0, 20), (190, 7.2)], [("from", 0)], "missed")],
    "time-control-4h": [([(-5, 5.9), (0, 5.9)], [("removed", 0), ("ended", 179.9)], "met"), ([(-5, 5.9), (0, 5.9)], [("removed", 0), ("ended", 180)], "missed"), ([(-5, 6), (0, 6)], [("removed", 0), ("ended", 10)], "missed")],
    "time-control-6h": [([(0, 6), (100, 19.9)], [("removed", 0), ("ended", 100)], "met"), ([(0, 6), (100, 20)], [("removed", 0), ("ended", 100)], "missed")],
    "time-control-from-room": [([(0, 20)], [("removed", 0), ("ended", 120)], "met"), ([(0, 20.1)], [("removed", 0), ("ended", 20)], "missed")],
    "cumulative-time": [([(0, 6), (1, 20), (179, 20)], [], "met"), ([(0, 6), (1, 20), (181, 20)], [], "missed"), ([(0, 6), (1, 20), (62, 20), (63, 6), (70, 6)], [], "missed")],
    "cook-eggs": [([(0, 65), (0.1, 72.1), (0.35, 72.1), (0.6, 72.1), (0.7, 65)], [], "met"), ([(0, 65), (0.1, 72), (0.6, 72), (0.7, 65)], [], "missed")],
    "cook-eggs-to-order": [([(0, 65), (0.1, 72), (0.2, 65)], [], "met"), ([(0, 65), (0.1, 71.9), (0.2, 65)], [], "missed")],
    "reheating": [([(0, 6), (59, 80.1), (59.4, 80.1)], [], "met"), ([(0, 6), (59, 80), (70, 80)], [], "missed")],
}  # fmt: skip


def test_invented_code_is_judged_right_by_every_process(tmp_path: Path) -> None:
    """A code with other figures and strict ends needs a file and no program."""
    path = tmp_path / "strict.toml"
    path.write_text(INVENTED, encoding="utf-8")
    strict = load_limits(str(path))
    assert set(CASES) == {process.value for process in Process}
    for process in Process:
        for corners, notes, verdict in CASES[process.value]:
            curve = Curve(tuple((m - corners[0][0], c * 1.8 + 32) for m, c in corners))
            cooking = process in {Process.COOK_EGGS, Process.COOK_EGGS_TO_ORDER}
            every = [] if cooking else [1.0] * int(curve.ends)
            series = _sampled(curve, every)
            moved = Series(series.at_ms + round(corners[0][0] * MINUTE), series.celsius)
            record = Record(moved, declared=declared(*notes), medium=strict_medium(process))
            until = max(int(moved.at_ms[-1]), *(d.at_ms for d in record.declared), 0)
            answer = judge(process, record, strict, until_ms=until, step=Step.DISPLAY, finished=True)
            assert answer.verdict.value == verdict, (process, corners, notes, answer.clauses[0].reason)


def strict_medium(process: Process) -> Medium:
    """Return what the invented code's limit is written for."""
    return Medium.AIR if process is Process.SHELL_EGGS else Medium.FOOD
