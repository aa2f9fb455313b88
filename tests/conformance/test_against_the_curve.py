"""Under every code that there is, a continuous curve of the food, read anywhere, is never answered against the truth.

The truth is known here, since the curve is: when it left the starting level, when it reached each target, whether it kept
a level. It falls or swings slowly enough that it crosses each level at most once between two readings. Then a verdict may
be ``met`` only where the curve keeps the clause, ``missed`` only where it does not; that little is shown is no fault.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.limits import Limits, known_limits, load_limits
from holdwatch.limits.model import Counts
from holdwatch.quantities import Side
from holdwatch.readings import Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import HOLDING, judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Step, Verdict
from tests.rules.series_words import MINUTE, T0, declared

CODES = {name: load_limits(name) for name in known_limits()}
CODES["invented"] = load_limits(str(Path(__file__).with_name("invented.toml")))
COOLED = [name for name, limits in CODES.items() if limits.cooling is not None]
HELD = [(process, name) for process in HOLDING for name, limits in CODES.items() if limits.holding(process) is not None]
SLACK_MIN, SLACK_C = 1e-3, 1e-4


@dataclass(frozen=True)
class Falling:
    """A curve that falls all the time: °C over minutes, straight between corners."""

    corners: tuple[tuple[float, float], ...]

    def __call__(self, minute: float) -> float:
        """Return °C at a minute; the end goes on for ever."""
        before = self.corners[0]
        for corner in self.corners[1:]:
            if minute <= corner[0]:
                return before[1] + (minute - before[0]) / (corner[0] - before[0]) * (corner[1] - before[1])
            before = corner
        return before[1]

    def reaches(self, level_c: float) -> float:
        """Return the minute at which it is at a level, infinite if never."""
        if self.corners[0][1] <= level_c:
            return -math.inf
        for (m0, c0), (m1, c1) in zip(self.corners, self.corners[1:], strict=False):
            if c1 <= level_c < c0:
                return m0 + (c0 - level_c) / (c0 - c1) * (m1 - m0)
        return math.inf


@st.composite
def _falling(draw: st.DrawFn) -> Falling:
    minute, degrees = 0.0, draw(st.floats(64, 90))
    corners = [(minute, degrees)]
    for _ in range(draw(st.integers(1, 7))):
        minute += draw(st.floats(1, 200))
        degrees = max(degrees - draw(st.floats(0.3, 45)), 1.0 - len(corners) / 10)
        corners.append((minute, degrees))
    return Falling(tuple(corners))


seconds = st.lists(st.integers(1, 90 * 60), min_size=1, max_size=60)


def _instants(first_s: int, steps: list[int]) -> list[int]:
    at = [first_s]
    for step in steps:
        at.append(at[-1] + step)
    return at


def _taken(curve: Falling, limits: Limits) -> list[float]:
    """Return how long each stage truly took, in minutes."""
    assert limits.cooling is not None
    begun, taken = curve.reaches(limits.cooling.start.celsius), []
    for number, stage in enumerate(limits.cooling.stages):
        before = limits.cooling.stages[number - 1].target.celsius
        since = curve.reaches(before) if stage.counts is Counts.FURTHER else begun
        reached = curve.reaches(stage.target.celsius)
        taken.append(reached - since if math.isfinite(since) else math.inf)
    return taken


def _right(clause: ClauseVerdict, taken_min: float, within_min: float) -> bool:
    """Tell whether a verdict is not against the truth."""
    if taken_min > within_min + SLACK_MIN:
        return clause.verdict is not Verdict.MET
    return taken_min > within_min - SLACK_MIN or clause.verdict is not Verdict.MISSED


@settings(max_examples=300)
@given(st.sampled_from(COOLED), _falling(), st.integers(0, 3 * 3600), seconds, st.integers(0, 9 * 60), st.booleans())
def test_cooling_is_never_answered_against_the_curve(
    code: str, curve: Falling, first_s: int, steps: list[int], beyond_min: int, left_heat: bool
) -> None:
    """Every stage of every code, in total or further, at whatever instant; live and audit answer the same."""
    limits = CODES[code]
    assert limits.cooling is not None
    probe = Series.of((T0 + s * 1_000, curve(s / 60)) for s in _instants(first_s, steps))
    record = Record(probe, declared=declared(("left-heat", 0)) if left_heat else ())
    until = int(probe.at_ms[-1]) + beyond_min * MINUTE
    audit = judge(Process.COOLING, record, limits, until_ms=until)
    assert len(audit.clauses) == len(limits.cooling.stages)
    before = Verdict.OPEN
    for clause, stage, taken in zip(audit.clauses, limits.cooling.stages, _taken(curve, limits), strict=True):
        never_begun = stage.counts is Counts.FURTHER and clause.started == (None, None)
        if never_begun:  # a stage whose start was never reached is as the stage before
            assert clause.verdict is before
        elif (
            not left_heat or curve.reaches(limits.cooling.start.celsius) >= 0
        ):  # else it left before it was declared to
            assert _right(clause, taken, stage.within.ms / MINUTE), (code, clause, taken)
        before = clause.verdict
    live = judge_vessel(record, limits, step=Step.COOL, holding="cold", until_ms=until, started_ms=T0)
    assert live[0].clauses == audit.clauses


@settings(max_examples=300)
@given(
    st.sampled_from(HELD),
    st.floats(-3, 3),
    st.floats(0, 1.5),
    st.floats(10, 200),
    st.lists(st.integers(1, 40 * 60), min_size=1, max_size=60),
    st.integers(0, 60),
    st.integers(-30, 30),
)
def test_holding_is_never_answered_against_the_curve(
    held: tuple[Process, str],
    off: float,
    swing: float,
    period_min: float,
    steps: list[int],
    beyond_min: int,
    from_min: int,
) -> None:
    """Every level of every code: missed only where the curve was beyond it, met only where no reading was, without a hole."""
    process, code = held
    limits = CODES[code]
    limit = limits.holding(process)
    assert limit is not None
    sign = 1 if limit.level.side is Side.AT_MOST else -1

    def curve(minute: float) -> float:
        return limit.level.celsius + sign * (off + swing * math.sin(minute / period_min))

    at = _instants(0, steps)
    probe = Series.of((T0 + s * 1_000, curve(s / 60)) for s in at)
    record = Record(probe, medium=limit.medium, declared=declared(("from", from_min)))
    until = int(probe.at_ms[-1]) + beyond_min * MINUTE
    answer = judge(process, record, limits, until_ms=until)
    if off + swing < -SLACK_C:
        assert answer.verdict is not Verdict.MISSED, (code, answer.clauses)
    if answer.verdict is Verdict.MET:
        asked = [s for s in at if s >= from_min * 60]
        assert max(sign * (curve(s / 60) - limit.level.celsius) for s in asked) <= SLACK_C
        edges = [from_min * 60, *asked, at[-1] + beyond_min * 60]
        assert max(later - earlier for earlier, later in pairwise(edges)) <= 20 * 60
