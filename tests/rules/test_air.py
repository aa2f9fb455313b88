"""Air under a limit for food: it proves nothing, and what it tells is right: spells, the estimate, the hand checks."""

import pytest

from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.air import estimated_food_c
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, declared, joined, line, points

COLD, HOT = Process.COLD_HOLDING, Process.HOT_HOLDING


def told(
    air: Series,
    process: Process = COLD,
    *,
    hand: Series | None = None,
    since: float | None = None,
    until: float | None = None,
    medium: Medium = Medium.AIR,
    lag_min: float | None = None,
) -> ClauseVerdict:
    """Return the answer, which is always none."""
    notes = () if since is None else declared(("from", since))
    record = Record(air, hand or Series.empty(), medium, notes, food_lag_min=lag_min)
    until_ms = max(int(air.at_ms[-1]), T0) if until is None else T0 + round(until * MINUTE)
    answer = judge(process, record, LIMITS, until_ms=until_ms)
    assert answer.verdict is Verdict.NONE
    (clause,) = answer.clauses
    assert clause.verdict is Verdict.NONE
    return clause


TWO_SPELLS = joined(
    line((0, 38), (10, 38)), line((11, 44), (13, 50)), line((14, 40), (20, 40)), line((21, 42), (40, 43), (41, 40))
)


def test_air_spells_are_counted_and_the_longest_and_the_farthest_told() -> None:
    """Two spells above 41 °F: 11 to 13, up to 50 °F; 21 to 40, up to 43 °F."""
    clause = told(TWO_SPELLS)
    assert (
        "The air was above 41 °F 2 times, the longest for 19 min or more from 2026-02-25 06:41:00 UTC, farthest 50.0 °F."
        in clause.reason
    )
    assert len(clause.spells) == 2
    assert clause.level_c == pytest.approx(5.0)


def test_air_of_a_hot_cabinet_is_told_below_its_level() -> None:
    """135 °F or above: the coldest is the farthest."""
    air = joined(
        line((0, 140), (10, 140)), line((11, 130), (13, 120)), line((14, 138), (20, 138)), line((21, 133), (25, 133))
    )
    clause = told(air, HOT, hand=points((12, 136), (15, 134)))
    assert "below 135 °F 2 times, the longest for 4 min or more" in clause.reason
    assert "farthest 120.0 °F" in clause.reason
    assert "at the coldest" in clause.reason
    assert "2 hand checks of the food: the coldest was 134.0 °F." in clause.reason


def test_air_within_the_limit_is_told_so() -> None:
    """No spell; still no proof of the food."""
    clause = told(line((0, 38), (30, 38)))
    assert clause.reason.startswith(
        "A reading of air neither keeps nor breaks a limit for food. No air reading is above 41 °F."
    )
    assert clause.reason.endswith("There is no hand check of the food.")
    assert "Food in that air is estimated at 38.0 °F at the warmest (an estimate)." in clause.reason


def test_air_outside_the_period_is_not_told() -> None:
    """Readings and hand checks from the declared start to the end, both included."""
    clause = told(TWO_SPELLS, since=20, hand=points((19.999, 60), (20, 39), (41, 40), (41.001, 60)))
    assert "above 41 °F once" in clause.reason
    assert "2 hand checks of the food: the warmest was 40.0 °F." in clause.reason
    assert "above 41 °F once" in told(TWO_SPELLS, until=20).reason
    assert "1 hand check of the food" in told(TWO_SPELLS, until=20, hand=points((5, 39), (30, 39))).reason
    nothing = told(TWO_SPELLS, since=41.001, until=50)
    assert "estimated" not in nothing.reason


def test_air_estimate_follows_the_lag_of_the_unit_and_is_of_air_alone() -> None:
    """A lag of a minute follows at once, one of ten hours hardly; simulated product is no air."""
    step = joined(line((0, 38), (9, 38)), line((10, 60), (60, 60)))
    assert "estimated at 60.0 °F" in told(step, lag_min=1).reason
    slow = told(step, lag_min=600).reason
    assert "estimated at 39." in slow
    product = told(step, medium=Medium.PRODUCT)
    assert "estimated" not in product.reason
    assert "The simulated product was above 41 °F once" in product.reason
    assert estimated_food_c(step, 600)[-1] < estimated_food_c(step)[-1] < estimated_food_c(step, 1)[-1]


def test_air_reading_at_the_instant_of_a_hand_check_is_the_checks() -> None:
    """The hand thermometer was in the food: its reading is no air."""
    air = joined(line((0, 38), (14, 38)), line((16, 38), (30, 38)))
    clause = told(air, hand=points((15, 50)))
    assert "No air reading is above 41 °F." in clause.reason
    assert "1 hand check of the food: the warmest was 50.0 °F." in clause.reason


def test_air_estimate_leaves_out_what_is_no_temperature() -> None:
    """−127 °C of a sensor that does not answer, or 301 °C, moves no food; −60 and 300 °C are temperatures."""
    steady = [(T0 + n * MINUTE, 4.0) for n in range(60)]
    for odd in (-127.0, -60.1, 300.1, float("nan")):
        broken = Series.of([*steady[:30], (T0 + 30 * MINUTE, odd), *steady[31:]])
        estimate = estimated_food_c(broken)
        assert estimate[-1] == pytest.approx(4.0)
    for real in (-60.0, 300.0):
        odd = Series.of([*steady[:30], (T0 + 30 * MINUTE, real), *steady[31:]])
        assert abs(estimated_food_c(odd)[-1] - 4.0) > 0.05


def test_longest_spell_is_the_longest_not_the_latest() -> None:
    """Half an hour at first, ten minutes later on."""
    air = joined(line((0, 38), (9, 38)), line((10, 45), (40, 45)), line((41, 38), (60, 38)), line((61, 45), (70, 45)))
    clause = told(joined(air, line((71, 38), (80, 38))))
    assert "2 times, the longest for 30 min" in clause.reason
    assert not clause.doubtful


@pytest.mark.parametrize(("process", "extra", "farthest"), [(COLD, 50, "50.0 °F"), (HOT, 131, "131.0 °F")])
def test_air_of_two_values_is_told_by_the_worse(process: Process, extra: float, farthest: str) -> None:
    """At 5 two are recorded: the warmer is farthest from cold, the colder from hot."""
    fine = 38 if process is COLD else 150
    other = 45 if process is COLD else 133
    clause = told(joined(line((0, fine), (20, fine)), points((5, other), (5, extra))), process)
    assert len(clause.spells) == 1
    assert farthest in clause.reason
