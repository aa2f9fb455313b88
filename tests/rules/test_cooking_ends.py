"""Cooking of eggs, Food Code 3-401.11(A)(2): what ends the record of a cooking, which run is told, what stays open.

Rows: 145 °F for 3 min, 150 °F for 1 min, 155 °F for 17 s, 158 °F for an instant.
"""

from dataclasses import replace

import pytest

from holdwatch.limits.model import CookingLimits, CookingRow
from holdwatch.quantities import Level, Side, Temperature
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import LIMITS, T0, declared, points

MET, MISSED, UNPROVEN, OPEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN
S = 1_000


def seconds(*pairs: tuple[float, float]) -> Series:
    """Return readings given as (seconds after T0, °F)."""
    return points(*((second / 60, degrees) for second, degrees in pairs))


def cooked(
    probe: Series, left_heat: float | None = None, *, until: float | None = None, finished: bool = True
) -> ClauseVerdict:
    """Return the answer; instants in seconds."""
    notes = () if left_heat is None else declared(("left-heat", left_heat / 60))
    last = int(probe.at_ms[-1]) if until is None else T0 + round(until * S)
    record = Record(probe, declared=notes)
    return judge(Process.COOK_EGGS, record, LIMITS, until_ms=last, finished=finished).clauses[0]


def test_cooking_record_ends_with_the_first_reading_off_the_heat_and_cooler_than_every_row() -> None:
    """A hole after it hides no cooking, and warming up again is none."""
    fell_short = ((0, 130), (10, 140), (20, 144), (30, 140))
    assert cooked(seconds(*fell_short, (600, 60)), 25, until=800).verdict is MISSED
    assert cooked(seconds(*fell_short, (600, 60)), until=800).verdict is UNPROVEN
    assert cooked(seconds(*fell_short, (40, 159)), 25).verdict is MISSED
    assert cooked(seconds(*fell_short, (40, 159))).verdict is MET


def test_cooking_food_still_hot_off_the_heat_is_still_cooking() -> None:
    """What stays at a row after it left the heat counts on; so does a reading at the very instant."""
    resting = seconds((0, 140), (10, 154), (20, 156), (30, 156), (37, 156), (50, 140))
    clause = cooked(resting, 15)
    assert clause.verdict is MET
    assert clause.reason.startswith(
        "155 °F for 17 s: from 156.0 °F at 2026-02-25 06:20:20 UTC, for 17 s at least, in 3 readings."
    )
    assert clause.started == (T0 + 10 * S, T0 + 20 * S)
    assert clause.reached == (T0 + 30 * S, T0 + 37 * S)
    assert cooked(seconds((0, 130), (60, 140), (70, 159), (80, 140)), 60).verdict is MET
    assert cooked(seconds((0, 130), (60, 140), (70, 159), (80, 140)), 59).verdict is MISSED


def test_cooking_first_reading_hot_enough_has_nothing_before() -> None:
    """An instant at the first reading: when it began is not known on the early side."""
    clause = cooked(seconds((0, 160), (10, 140)))
    assert clause.verdict is MET
    assert clause.started == clause.reached == (None, T0)


def test_cooking_what_is_told_where_no_row_is_met() -> None:
    """The longest run of the first row, and the warmest reading."""
    record = seconds((0, 140), (10, 146), (20, 146), (30, 140), (40, 146), (100, 147.5), (110, 147), (120, 140))
    clause = cooked(record)
    assert clause.verdict is MISSED
    assert clause.started == (T0 + 30 * S, T0 + 40 * S)
    assert clause.reached is None
    assert clause.level_c == pytest.approx((145 - 32) / 1.8)
    assert "The warmest was 147.5 °F at 2026-02-25 06:21:40 UTC." in clause.reason
    assert "not 145 °F for 3 min, 150 °F for 1 min, 155 °F for 17 s, 158 °F" in clause.reason


def test_cooking_rows_that_may_have_been_met_are_named() -> None:
    """145 °F may have lasted three minutes between the readings around it; the other rows were not reached."""
    clause = cooked(seconds((0, 140), (60, 146), (120, 146), (180, 146), (239, 140)))
    assert clause.verdict is UNPROVEN
    assert "do not show whether it was 145 °F for 3 min. The warmest" in clause.reason
    shorter = cooked(seconds((0, 140), (60, 146), (120, 146), (179, 140)))
    assert shorter.verdict is MISSED


@pytest.mark.parametrize(("hole", "verdict"), [(90, MISSED), (90.001, UNPROVEN)])
def test_cooking_run_may_have_gone_on_in_a_hole(hole: float, verdict: Verdict) -> None:
    """Ours: 90 s; a hole may hide any row."""
    assert cooked(seconds((0, 140), (hole, 140), (hole + 10, 140))).verdict is verdict


def test_cooking_last_reading_not_judged_yet_leaves_it_open() -> None:
    """A jump of more than 20 °F waits for the next readings, even when the cooking is over."""
    jumped = seconds((0, 130), (10, 160))
    assert cooked(jumped).verdict is OPEN
    assert cooked(jumped, until=131).verdict is MET
    assert cooked(seconds((0, 100))).verdict is UNPROVEN  # one reading is one instant
    assert cooked(Series.empty(), until=0).verdict is UNPROVEN
    assert cooked(Series.empty(), until=0).reason.endswith("There is no reading to judge.")
    assert cooked(Series.empty(), until=0, finished=False).verdict is OPEN


@pytest.mark.parametrize(
    ("degrees", "verdict"),
    [
        ((144, 143, 142), UNPROVEN),
        ((144, 144, 142), UNPROVEN),
        ((144, 142, 144), UNPROVEN),
        ((144, 143, 144.1), MISSED),  # it rose to its warmest in the record
        ((143, 144, 142), MISSED),
        ((144, 144, 144), MISSED),  # it did not fall
    ],
)
def test_cooking_that_begins_with_its_warmest_reading_may_have_been_warmer_before(
    degrees: tuple[float, ...], verdict: Verdict
) -> None:
    """A probe that went in after the cooking saw only how it cooled."""
    probe = seconds(*((10.0 * n, each) for n, each in enumerate(degrees)))
    for left_heat in (None, 20):
        clause = cooked(probe, left_heat)
        assert clause.verdict is verdict
    if verdict is UNPROVEN:
        assert (
            "do not show whether it was 145 °F for 3 min, 150 °F for 1 min, 155 °F for 17 s, 158 °F for an instant. The"
            in clause.reason
        )


def test_cooking_no_run_reaches_across_a_hole() -> None:
    """Readings of one run are at most 90 s apart: what the food did in 91 s nobody saw, wherever in the run they lie."""
    assert cooked(seconds((0, 156), (90, 156))).verdict is MET
    assert cooked(seconds((0, 156), (91, 156))).verdict is UNPROVEN
    assert cooked(seconds((0, 140), (10, 156), (20, 156), (111, 156), (112, 140))).verdict is UNPROVEN
    assert cooked(seconds((0, 156), (91, 156), (100, 156), (108, 156))).verdict is MET


def test_cooking_is_told_in_the_scale_of_the_first_row() -> None:
    """Where a code prints its rows in two scales, as no published one does."""
    limit = LIMITS.part("cook-eggs", CookingLimits)
    assert limit is not None
    other = CookingRow(Level(Temperature.parse("70 °C"), Side.AT_LEAST), None)
    code = replace(LIMITS, more={**LIMITS.more, "cook-eggs": replace(limit, rows=(limit.rows[0], other))})
    probe = seconds((0, 130), (10, 140), (20, 130))
    answer = judge(Process.COOK_EGGS, Record(probe), code, until_ms=int(probe.at_ms[-1]), finished=True)
    assert "The warmest was 140.0 °F at " in answer.clauses[0].reason
