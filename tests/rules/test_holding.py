"""Cold and hot holding: gaps, ends, spells, declared preparation, hand checks, air."""

import numpy as np
import pytest

from holdwatch.readings import Medium, Record, Series, Source
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, ask, cold, declared, hot, joined, line, points

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
NOTHING = Series.empty()


# ---------------------------------------------------------------- the largest gap and the ends


@pytest.mark.parametrize(("gap", "verdict"), [(20, MET), (20.001, UNPROVEN)])
def test_holding_bears_a_gap_of_20_min_between_probe_readings(gap: float, verdict: Verdict) -> None:
    """Neighbours further apart than the largest gap leave it not shown; exactly so far is borne."""
    record = points((0, 38), (10, 38), (10 + gap, 38))
    assert cold(record) is verdict
    assert hot(points((0, 150), (10, 150), (10 + gap, 150))) is verdict
    assert len(ask(Process.COLD_HOLDING, record).gaps) == (verdict is UNPROVEN)


@pytest.mark.parametrize(("start", "verdict"), [(-20, MET), (-20.001, UNPROVEN)])
def test_holding_start_of_the_period_must_be_covered(start: float, verdict: Verdict) -> None:
    """The period begins where it was declared, and the first reading must be near."""
    assert cold(line((0, 38), (30, 38)), notes=[("from", start)]) is verdict


@pytest.mark.parametrize(("until", "verdict"), [(50, MET), (50.001, UNPROVEN)])
def test_holding_end_of_the_period_must_be_covered(until: float, verdict: Verdict) -> None:
    """The last reading must be near the end of the period."""
    assert cold(line((0, 38), (30, 38)), until=until) is verdict


def test_holding_reading_before_the_period_is_not_asked() -> None:
    """What was warm before the period began is not held against it."""
    record = joined(line((0, 50), (20, 42)), line((21, 41), (60, 38)))
    assert cold(record, notes=[("from", 21)]) is MET
    assert cold(record) is MISSED


def test_holding_one_reading_without_a_period_is_not_shown() -> None:
    """One reading and no period named shows an instant, not a holding."""
    assert cold(points((0, 38))) is UNPROVEN
    assert cold(points((0, 38)), notes=[("from", -5)], until=5) is MET
    assert cold(points((0, 42))) is MISSED


def test_holding_without_a_reading_is_not_shown() -> None:
    """Absence of readings is no evidence."""
    record = Record(declared=declared(("from", 0)))
    assert judge(Process.COLD_HOLDING, record, LIMITS, until_ms=T0 + 60 * MINUTE).verdict is UNPROVEN


def test_holding_gap_given_by_the_plan_replaces_ours() -> None:
    """The plan's own watching interval decides where it is given."""
    record = Record(points((0, 38), (30, 38), (60, 38)))
    for gap, verdict in ((30, MET), (29, UNPROVEN)):
        answer = judge(Process.COLD_HOLDING, record, LIMITS, until_ms=T0 + 60 * MINUTE, largest_gap_ms=gap * MINUTE)
        assert answer.verdict is verdict


def test_holding_miss_is_a_miss_in_spite_of_gaps() -> None:
    """One reading beyond the level is enough, however thin the record."""
    assert cold(points((0, 38), (120, 42))) is OPEN or cold(points((0, 38), (120, 42))) is MISSED
    assert cold(points((0, 38), (120, 42), (300, 38))) is MISSED


# ---------------------------------------------------------------- spells


def test_holding_spells_are_brackets() -> None:
    """A spell begins and ends between the readings that show it."""
    record = joined(line((0, 40), (10, 40)), line((11, 41.5), (20, 43), (29, 41.5)), line((30, 41), (50, 40)))
    clause = ask(Process.COLD_HOLDING, record).clauses[0]
    spell = clause.spells[0]
    assert spell.begins == (T0 + 10 * MINUTE, T0 + 11 * MINUTE)
    assert spell.ends == (T0 + 29 * MINUTE, T0 + 30 * MINUTE)
    assert spell.readings == 19
    assert spell.extreme_c == pytest.approx((43 - 32) / 1.8)
    assert (
        "41.5 °F at 2026-02-25 06:31:00 UTC, above 41 °F; 19 such readings in 1 spell, farthest 43.0 °F"
        in clause.reason
    )


def test_holding_spell_at_an_end_has_an_open_bracket() -> None:
    """Where no reading stands before or after a spell, its end is not known."""
    clause = ask(Process.HOT_HOLDING, line((0, 130), (10, 120))).clauses[0]
    assert clause.spells[0].begins == (None, T0)
    assert clause.spells[0].ends == (T0 + 10 * MINUTE, None)


# ---------------------------------------------------------------- preparation, steps, air


def test_holding_declared_preparation_is_excepted_and_told() -> None:
    """From removed to returned holding is not asked; how long is told."""
    record = joined(line((0, 38), (30, 38)), line((31, 40), (45, 48), (60, 42)), line((61, 41), (90, 39)))
    notes = [("removed", 30.5), ("returned", 61)]
    clause = ask(Process.COLD_HOLDING, record, notes=notes).clauses[0]
    assert clause.verdict is MET
    assert "Not asked for 30 min 30 s" in clause.reason
    open_end = ask(Process.COLD_HOLDING, record, notes=[("removed", 30.5)]).clauses[0]
    assert "Not asked for 59 min 30 s so far" in open_end.reason
    assert cold(record) is MISSED
    assert cold(record, notes=[("removed", 30.5), ("returned", 59)]) is MISSED


def test_holding_hole_in_declared_preparation_is_no_gap() -> None:
    """A probe taken out for a declared preparation leaves no gap, what lies around it still may."""
    record = joined(line((0, 38), (30, 38)), line((90, 39), (120, 38)))
    assert cold(record, notes=[("removed", 31), ("returned", 90)]) is MET
    assert cold(record, notes=[("removed", 51), ("returned", 90)]) is UNPROVEN
    assert cold(record) is UNPROVEN


def test_holding_is_not_asked_in_other_steps() -> None:
    """Food that is being cooled or assembled is asked no holding limit."""
    record = Record(line((0, 60), (60, 60)))
    answer = judge(Process.COLD_HOLDING, record, LIMITS, until_ms=T0 + 60 * MINUTE, step=Step.ASSEMBLE)
    assert answer.verdict is NONE


@pytest.mark.parametrize("medium", [Medium.AIR, Medium.PRODUCT])
def test_holding_air_and_simulated_product_are_told_and_not_judged(medium: Medium) -> None:
    """Air proves nothing of food: no verdict, but its spells, the estimate and the hand checks are told."""
    air = joined(line((0, 38), (30, 38)), line((31, 44), (50, 47)), line((51, 40), (90, 38)))
    answer = ask(Process.COLD_HOLDING, air, medium=medium, hand=points((45, 39.5)))
    clause = answer.clauses[0]
    assert answer.verdict is NONE
    assert len(clause.spells) == 1
    assert "was above 41 °F once, the longest for 19 min or more" in clause.reason
    assert "1 hand check of the food: the warmest was 39.5 °F" in clause.reason
    assert ("estimated" in clause.reason) is (medium is Medium.AIR)


def test_holding_food_estimated_from_air_lags_behind() -> None:
    """The estimated food follows the air with one time constant: 63 % of a step after 45 min."""
    from holdwatch.rules.air import estimated_food_c

    steps = Series.of([(T0, 0.0)] + [(T0 + n * MINUTE, 10.0) for n in range(1, 91)])
    assert estimated_food_c(steps)[45] == pytest.approx(10 * (1 - np.exp(-1)), abs=0.15)


# ---------------------------------------------------------------- by hand


@pytest.mark.parametrize(("gap", "verdict"), [(240, MET), (240.1, UNPROVEN)])
def test_holding_by_hand_bears_four_hours(gap: float, verdict: Verdict) -> None:
    """Hand checks up to four hours apart keep a holding, told as so many checks."""
    checks = points((0, 39), (gap, 40), (gap + 60, 39))
    record = Record(hand=checks)
    answer = judge(Process.COLD_HOLDING, record, LIMITS, until_ms=int(checks.at_ms[-1]), source=Source.HAND)
    assert answer.verdict is verdict
    assert ("Kept, by 3 checks" in answer.clauses[0].reason) is (verdict is MET)
    assert "continuous" not in answer.clauses[0].reason


def test_holding_hand_readings_are_not_sieved() -> None:
    """A hand thermometer's jump is somebody's reading."""
    checks = points((0, 39), (1, 70), (2, 39))
    assert ask(Process.COLD_HOLDING, NOTHING, hand=checks).verdict is MISSED
    assert cold(checks) is MET  # of a probe the same is a spike


def test_holding_probe_gap_is_not_filled_by_one_hand_check() -> None:
    """Between a probe's reading and a hand check the probe's largest gap stands; between two checks the longer one."""
    probe = joined(line((0, 38), (30, 38)), line((120, 38), (150, 38)))
    assert cold(probe, hand=points((75, 38))) is UNPROVEN
    assert cold(probe, hand=points((45, 38), (105, 38))) is MET


def test_holding_contested_value_counts_the_worse() -> None:
    """Of two values at one instant the worse decides, and it is told."""
    record = joined(line((0, 40), (30, 40)), points((15, 41.5)))
    clause = ask(Process.COLD_HOLDING, record).clauses[0]
    assert clause.verdict is MISSED
    assert "Two values are recorded for 2026-02-25 06:35:00 UTC; the worse one counts." in clause.reason
    assert hot(joined(line((0, 137), (30, 137)), points((15, 134.5)))) is MISSED


def test_holding_next_change_is_never_later_than_the_change() -> None:
    """A kept holding tells when silence would end it."""
    record = Record(line((0, 38), (30, 38)))
    answer = judge(Process.COLD_HOLDING, record, LIMITS, until_ms=T0 + 30 * MINUTE)
    assert answer.changes_ms == T0 + 50 * MINUTE + 1
    assert judge(Process.COLD_HOLDING, record, LIMITS, until_ms=answer.changes_ms - 1).verdict is MET
    assert judge(Process.COLD_HOLDING, record, LIMITS, until_ms=answer.changes_ms).verdict is UNPROVEN
