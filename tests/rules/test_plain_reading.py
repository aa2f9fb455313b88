"""The engine and a plain, slow reading of the same rules give the same verdicts."""

import math
from itertools import accumulate

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.limits import load_limits
from holdwatch.readings import Declaration, DeclarationKind, Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process
from tests.rules import plain

T0 = 1_790_000_000_000
LIMITS = load_limits("us-food-code-2022")
STAGES = {"3-501.14(A)(1)": (70.0, 2 * plain.HOUR), "3-501.14(A)(2)": (41.0, 6 * plain.HOUR)}

intervals = st.lists(st.integers(20, 24 * 60), min_size=1, max_size=90)


def celsius(fahrenheit: float) -> float:
    """Return °C of °F."""
    return (fahrenheit - 32) / 1.8


def series_of(readings: list[plain.Reading]) -> Series:
    """Return the engine's series of a plain list."""
    return Series.of((at, celsius(f)) for at, f in readings)


@st.composite
def coolings(draw: st.DrawFn) -> list[plain.Reading]:
    """A smooth cooling towards some surroundings, read at uneven times, that no sieve would touch."""
    start_f = draw(st.floats(60, 165))
    room_f = draw(st.floats(28, 69))
    rate = draw(st.floats(0.002, 0.019))  # a minute: never above 2.6 °F a minute
    steps = draw(intervals)
    wiggle = draw(st.floats(0, 0.4))
    seconds = [0, *accumulate(steps)]
    readings = [
        (T0 + s * 1000, room_f + (start_f - room_f) * math.exp(-rate * s / 60) + wiggle * math.sin(s)) for s in seconds
    ]
    kept = readings[:1]
    for at, f in readings[1:]:  # a step of 20 °F would wait for its successor, which is the sieve's business
        if abs(f - kept[-1][1]) <= 19:
            kept.append((at, f))
        else:
            break
    return kept


@settings(max_examples=1500)
@given(
    coolings(),
    st.one_of(st.none(), st.integers(-40, 30)),
    st.integers(0, 9 * 60),
)
def test_cooling_equals_plain_reading(
    readings: list[plain.Reading], left_heat_min: int | None, beyond_min: int
) -> None:
    """Whatever smooth cooling is sampled, both stages get the verdict that a plain reading of the rule gives."""
    left_heat = None if left_heat_min is None else readings[0][0] + left_heat_min * plain.MINUTE
    until = max(readings[-1][0], left_heat or 0) + beyond_min * plain.MINUTE
    declared = () if left_heat is None else (Declaration(left_heat, DeclarationKind.LEFT_HEAT),)
    judged = judge(Process.COOLING, Record(probe=series_of(readings), declared=declared), LIMITS, until_ms=until)

    got = {c.clause: c.verdict.value for c in judged.clauses}

    wanted = {c: plain.stage(readings, left_heat, until, f, d) for c, (f, d) in STAGES.items()}
    assert got == wanted, (readings, judged)


@st.composite
def holdings(draw: st.DrawFn) -> list[plain.Reading]:
    """A cold unit that drifts slowly around 41 °F, read at uneven times."""
    middle = draw(st.floats(36, 42))
    swing = draw(st.floats(0, 3))
    steps = draw(intervals)
    seconds = [0, *accumulate(steps)]
    return [(T0 + s * 1000, middle + swing * math.sin(s / 4000)) for s in seconds]


@settings(max_examples=600)
@given(holdings(), st.integers(0, 30), st.integers(0, 30))
def test_cold_holding_equals_plain_reading(readings: list[plain.Reading], before_min: int, after_min: int) -> None:
    """A period of cold holding gets the verdict that a plain reading of the rule gives."""
    start = readings[0][0] - before_min * plain.MINUTE
    until = readings[-1][0] + after_min * plain.MINUTE
    record = Record(probe=series_of(readings), declared=(Declaration(start, DeclarationKind.FROM),))

    judged = judge(Process.COLD_HOLDING, record, LIMITS, until_ms=until)

    assert judged.verdict.value == plain.cold_holding(readings, start, until), (readings, judged)


@pytest.mark.parametrize("clause", sorted(STAGES))
def test_plain_reading_covers_every_verdict(clause: str) -> None:
    """The comparison would be worth little if the plain reading always said the same."""
    f, allowed = STAGES[clause]
    warm, cold = (T0, 136.0), (T0 + 60_000, f - 1)
    late = (T0 + allowed + 2 * plain.MINUTE, f - 1)

    assert plain.stage([warm, (T0 + 30_000, 134.0), cold], None, T0 + 60_000, f, allowed) == "met"
    assert plain.stage([warm, (T0 + 60_000, 134.0)], None, T0 + 60_000, f, allowed) == "open"
    assert plain.stage([warm, (T0 + 60_000, 134.0), late], None, late[0], f, allowed) == "unproven"
    above = (T0 + allowed + plain.MINUTE, f + 1)
    assert plain.stage([warm, (T0 + 60_000, 134.0), above], None, above[0], f, allowed) == "missed"
