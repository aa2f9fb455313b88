"""Cooling and holding against the figures and the ends that the FDA Food Code 2022 prints."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from holdwatch.quantities import Scale, celsius_of_f
from holdwatch.readings import Declaration, DeclarationKind, Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, ask, cold, hot, points

PUBLISHED = Path(__file__).parents[1] / "published"
MET, MISSED, UNPROVEN, OPEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN


def _rows(name: str) -> list[dict[str, str]]:
    lines = (PUBLISHED / name).read_text(encoding="utf-8").splitlines()
    assert sum(line.startswith("#") for line in lines) >= 5
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


STAGES = _rows("fda_food_code_2022_cooling.csv")
HOLDINGS = _rows("fda_food_code_2022_holding.csv")


@pytest.mark.parametrize("number", range(len(STAGES)))
def test_cooling_limits_match_food_code_3_501_14(number: int) -> None:
    """The limits file holds the figures that the code prints."""
    row, cooling = STAGES[number], LIMITS.cooling
    assert cooling is not None
    stage = cooling.stages[number]
    assert (stage.clause, stage.counts.value) == (row["clause"], row["counts"])
    assert (cooling.start.temperature.value, cooling.start.scale) == (Decimal(row["start_f"]), Scale.F)
    assert (stage.target.temperature.value, stage.target.scale) == (Decimal(row["target_f"]), Scale.F)
    assert stage.within.ms == int(row["within_h"]) * HOUR
    assert stage.target.inclusive
    assert stage.within_inclusive


@pytest.mark.parametrize("row", HOLDINGS, ids=lambda row: row["clause"])
def test_holding_limits_match_food_code_3_501_16(row: dict[str, str]) -> None:
    """The limits file holds the levels that the code prints."""
    limit = LIMITS.hot_holding if row["side"] == "at-least" else LIMITS.cold_holding
    assert limit is not None
    assert (limit.clause, limit.level.side.value) == (row["clause"], row["side"])
    assert (limit.level.temperature.value, limit.level.scale, limit.level.inclusive) == (
        Decimal(row["level_f"]),
        Scale.F,
        True,
    )


def _stepwise(start_c: float, low_c: float, target_c: float, reached_ms: int) -> Series:
    """Return a record that leaves the start at T0, is at `low_c` in between, and at the target at an instant."""
    pairs = [(T0 - MINUTE, start_c), (T0, start_c)]
    steps = 400
    span = reached_ms - T0
    # down in even steps to a hundredth above the target, and onto it at the instant asked for
    for n in range(1, steps):
        at = T0 + span * n // steps
        pairs.append((at, start_c + (low_c - start_c) * n / steps))
    pairs.append((reached_ms, target_c))
    pairs.append((reached_ms + MINUTE, target_c))
    return Series.of(pairs)


# Clause 3-501.14(A): "within 2 hours" and "within a total of 6 hours", from 135 °F; 70 °F and 41 °F (or less) included.
@pytest.mark.parametrize("row", STAGES, ids=lambda row: row["clause"])
@pytest.mark.parametrize(
    ("late_ms", "verdict"), [(-1, MET), (0, MET), (1, UNPROVEN)], ids=["just inside", "exactly", "just outside"]
)
def test_cooling_time_end_is_included(row: dict[str, str], late_ms: int, verdict: Verdict) -> None:
    """The target reached exactly when the time is up is within the time; a millisecond later it is not shown to be."""
    reached = T0 + int(row["within_h"]) * HOUR + late_ms
    target = celsius_of_f(float(row["target_f"]))
    probe = _stepwise(celsius_of_f(135), target + 0.01, target, reached)
    answer = ask(Process.COOLING, probe)
    clause = next(c for c in answer.clauses if c.clause == row["clause"])
    assert clause.verdict is verdict
    assert clause.started == (T0, T0 + (reached - T0) // 400)
    assert clause.reached is not None
    assert clause.reached[1] == reached


@pytest.mark.parametrize("row", STAGES, ids=lambda row: row["clause"])
@pytest.mark.parametrize(("late_ms", "verdict"), [(-1, OPEN), (0, MISSED), (1, MISSED)])
def test_cooling_reading_above_the_target_at_the_end_misses(
    row: dict[str, str], late_ms: int, verdict: Verdict
) -> None:
    """A reading above the target at or after s2 + D misses; one before leaves it running."""
    s2 = T0 + MINUTE
    last = s2 + int(row["within_h"]) * HOUR + late_ms
    pairs = [(T0, celsius_of_f(136)), (s2, celsius_of_f(134))]
    degrees = float(row["target_f"]) + 0.1
    pairs += [(s2 + (last - s2) * n // 100, celsius_of_f(134 + (degrees - 134) * n / 100)) for n in range(1, 101)]
    answer = ask(Process.COOLING, Series.of(pairs))
    assert next(c for c in answer.clauses if c.clause == row["clause"]).verdict is verdict


# The code prints °F; the same temperatures kept in °C are still the same temperatures.
@pytest.mark.parametrize(
    ("celsius", "reached"),
    [
        (celsius_of_f(70.0), True),  # 21.111… °C
        (21.11111111111111, True),
        (21.111, True),  # 69.9998 °F
        (21.1112, False),  # 70.00016 °F
        (21.0, True),  # 69.8 °F
        (21.2, False),  # 70.16 °F
        (celsius_of_f(70.0) + 1e-7, True),  # within the tolerance of a millionth of a degree
        (celsius_of_f(70.0) + 1e-5, False),
    ],
)
def test_cooling_target_is_compared_in_fahrenheit(celsius: float, *, reached: bool) -> None:
    """Whether 70 °F is reached is decided in °F, also for readings in °C."""
    probe = _stepwise(celsius_of_f(136), celsius_of_f(70.5), celsius, T0 + 90 * MINUTE)
    clause = ask(Process.COOLING, probe).clauses[0]
    assert (clause.verdict is MET) is reached


@pytest.mark.parametrize(
    ("celsius", "warm"),
    [(57.22222222222222, True), (57.22222, False), (57.2222222, True), (57.0, False), (57.3, True)],
)
def test_cooling_start_is_compared_in_fahrenheit(celsius: float, *, warm: bool) -> None:
    """A reading of 135.0 °F kept as 57.2222222 °C starts the clock there; 57.0 °C, the code's rounded figure, is 134.6 °F."""
    pairs = [(T0, celsius)] + [(T0 + n * MINUTE, celsius - 0.45 * n) for n in range(1, 100)]
    clause = ask(Process.COOLING, Series.of(pairs)).clauses[0]
    assert clause.started is not None
    assert clause.started == ((T0, T0 + MINUTE) if warm else (None, T0))
    assert clause.verdict is (MET if warm else UNPROVEN)


# Clause 3-501.16(A)(2): "41 °F or less"; (A)(1): "135 °F or above".
@pytest.mark.parametrize(
    ("degrees", "verdict"), [(40.9, MET), (41.0, MET), (41.0 + 5e-7, MET), (41.00001, MISSED), (41.1, MISSED)]
)
def test_cold_holding_level_is_included(degrees: float, verdict: Verdict) -> None:
    """41 °F is allowed, in °F and in °C; a hundred-thousandth above is not."""
    assert cold(points((0, 38), (10, degrees), (20, 38))) is verdict


@pytest.mark.parametrize(("celsius", "verdict"), [(4.99, MET), (5.0, MET), (5.0001, MISSED), (5.1, MISSED)])
def test_cold_holding_level_in_celsius_is_included(celsius: float, verdict: Verdict) -> None:
    """41 °F is 5 °C exactly."""
    assert cold(Series.of([(T0, 3.0), (T0 + 10 * MINUTE, celsius), (T0 + 20 * MINUTE, 3.0)])) is verdict


@pytest.mark.parametrize(
    ("degrees", "verdict"), [(135.1, MET), (135.0, MET), (135.0 - 5e-7, MET), (134.99999, MISSED), (134.9, MISSED)]
)
def test_hot_holding_level_is_included(degrees: float, verdict: Verdict) -> None:
    """135 °F is allowed; a hundred-thousandth below is not."""
    assert hot(points((0, 140), (10, degrees), (20, 140))) is verdict


def test_total_of_six_hours_lets_saved_time_be_spent() -> None:
    """The second figure counts from the same start: four and a half hours after a quick first stage are within it."""
    probe = _stepwise(celsius_of_f(135), celsius_of_f(41.1), celsius_of_f(41), T0 + 6 * HOUR)
    stages = ask(Process.COOLING, probe).clauses
    first, second = stages
    assert first.started == second.started
    assert second.due == (T0 + 6 * HOUR, (first.started or (0, 0))[1] + 6 * HOUR)  # type: ignore[operator]
    assert second.verdict is MET


def test_left_heat_stands_for_a_start_nobody_measured() -> None:
    """Where no reading is at 135 °F, the declared instant begins the clock and the first reading ends the bracket."""
    pairs = [(T0 + n * MINUTE, celsius_of_f(120 - n)) for n in range(60)]
    record = Record(Series.of(pairs), declared=(Declaration(T0 - 10 * MINUTE, DeclarationKind.LEFT_HEAT),))
    clause = judge(Process.COOLING, record, LIMITS, until_ms=T0 + 59 * MINUTE).clauses[0]
    assert clause.started == (T0 - 10 * MINUTE, T0)
    assert clause.verdict is MET
