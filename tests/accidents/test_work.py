"""What happens to food at work: warmed again, late into the cold, put back, opened, served, finished at night.

Every docstring gives the reason for its verdict, from the rules in docs/concepts.md. Levels and times: FDA Food Code
2022, 3-501.14(A), 3-501.16(A)(2) and 3-501.19(B) (time in place of temperature, 4 h from 41 °F or less).
"""

import numpy as np
import pytest

from holdwatch.readings import Medium
from holdwatch.rules.batch import batch_verdict
from holdwatch.rules.verdicts import Process
from tests.accidents.kitchen import MET, MISSED, NONE, OPEN, UNPROVEN, ask, cooled, verdicts, vessel
from tests.rules.series_words import MINUTE, T0, joined, line, points

COOLING, COLD, FOUR_H = Process.COOLING, Process.COLD_HOLDING, Process.TIME_CONTROL_4H


@pytest.mark.parametrize("takes", [8, 20])
def test_custard_warmed_up_again_at_1_h_57_has_missed_its_first_stage(takes: int) -> None:
    """At 1:57 it stands at 72 °F and goes back on the heat, fast or slowly: the clock of 2 h goes on from its start.

    A later rise to 135 °F starts no clock anew; a reading above 70 °F after 2 h, before 70 °F was reached, is a miss. A
    fast rise that nobody declared is doubted, but the warm readings at its end are the food's again and say the same.
    """
    down = line((0, 150), (15, 135), (117, 72))
    again = line(
        (117 + takes, 150), (117 + takes + 60, 100), (117 + takes + 110, 74), (117 + takes + 125, 66), (500, 36)
    )
    answer = ask(COOLING, joined(down, again))
    assert answer.clauses[0].verdict is MISSED
    assert answer.clauses[0].started == (T0 + 15 * MINUTE, T0 + 16 * MINUTE)


def test_custard_warmed_up_again_after_70_f_keeps_its_first_stage() -> None:
    """It was at 70 °F in time; what is warmed later does not undo that, and the second stage runs from the same start."""
    answer = ask(COOLING, line((0, 150), (15, 135), (100, 69), (117, 68), (150, 140), (300, 60), (500, 40)))
    assert verdicts(answer) == (MET, MISSED)


def test_late_pan_of_six_has_no_start_of_its_own() -> None:
    """The sixth pan gets its probe at 50 min, at 110 °F: nothing shows when it left 135 °F, so it cannot be kept.

    With the batch's `left-heat` the start lies between that and its first reading: kept, since even the earliest is in
    time. One that is still warm 2 h after its first reading is missed, whenever it had started.
    """
    late = cooled(50, 420, from_f=196)
    assert verdicts(ask(COOLING, late)) == (UNPROVEN, UNPROVEN)
    assert verdicts(ask(COOLING, late, [("left-heat", 15)])) == (MET, MET)
    slow = line((50, 110), (175, 75), (180, 74))
    assert ask(COOLING, slow).clauses[0].verdict is MISSED


@pytest.mark.parametrize(
    ("measured", "slowest", "verdict"),
    [([MET], False, UNPROVEN), ([MET], True, MET), ([MET] * 6, True, MET), ([MET] * 5 + [MISSED], True, MISSED)],
)
def test_late_pan_of_six_decides_the_batch(measured: list[object], slowest: bool, verdict: object) -> None:
    """One pan speaks for all only if it was declared the slowest, and one that misses makes the batch miss."""
    assert batch_verdict(measured, speaks_for_all=slowest) is verdict  # type: ignore[arg-type]


ECLAIRS = line((-30, 39), (0, 40))


@pytest.mark.parametrize(
    ("notes", "until", "verdict"),
    [
        ((("returned", 180),), 200, OPEN),  # 3 h, back in the fridge: the discard time stands
        ((("returned", 180), ("ended", 230)), 300, MET),  # thrown out or eaten in time
        ((("returned", 180),), 300, UNPROVEN),  # the time is up, and no end is recorded
        ((("returned", 180), ("ended", 260)), 300, MISSED),  # it was still there after 4 h
        ((("returned", 250),), 300, MISSED),  # an entry after 4 h shows that it was still there
    ],
)
def test_eclairs_put_back_in_the_fridge_keep_their_discard_time(
    notes: tuple[tuple[str, float], ...], until: float, verdict: object
) -> None:
    """Under time in place of temperature a return to the fridge is no end; only served, sold, used or discarded is."""
    assert ask(FOUR_H, ECLAIRS, (("removed", 0), *notes), until=until).verdict is verdict


def test_eclairs_put_back_and_read_cold_after_4_h_are_still_there() -> None:
    """A food reading from a probe still in them, after the allowance, shows that they were not thrown out."""
    cold = joined(ECLAIRS, line((185, 50), (260, 40)))
    assert ask(FOUR_H, cold, (("removed", 0), ("returned", 180))).verdict is MISSED


def test_lid_off_cools_faster_and_is_no_doubt() -> None:
    """From 0.5 to 2.5 °F a minute: below 3 °F a minute no fall is doubted, however much faster than before."""
    pan = line((0, 150), (60, 120), (80, 70), (110, 60), (300, 40))
    answer = ask(COOLING, pan)
    assert verdicts(answer) == (MET, MET)
    assert not answer.doubts


def test_lid_off_in_the_walk_in_warms_no_air_reading_into_a_miss() -> None:
    """Steam from an open pan warms the air to 50 °F: air neither keeps nor breaks a limit for food, it warns."""
    answer = ask(COLD, line((0, 38), (10, 50), (60, 40)), medium=Medium.AIR)
    assert answer.verdict is NONE
    assert answer.clauses[0].spells
    assert "neither keeps nor breaks" in answer.clauses[0].reason


def test_door_open_for_a_delivery_is_told_of_the_air_and_kept_by_the_food() -> None:
    """Twenty minutes at 55 °F of air move covered food by some degrees: its own probe shows that it kept 41 °F."""
    minutes = np.arange(0, 181)
    air_f = np.where((minutes >= 60) & (minutes < 80), 55.0, 37.0 + np.sin(minutes / 5))
    air = points(*zip(minutes.astype(float).tolist(), air_f.tolist(), strict=True))
    food_f, now = [], 37.0
    for degrees in air_f.tolist():
        now += (degrees - now) / 120
        food_f.append(now)
    food = points(*zip(minutes.astype(float).tolist(), food_f, strict=True))
    assert ask(COLD, food, air=air).verdict is MET
    told = ask(COLD, air, medium=Medium.AIR)
    assert told.verdict is NONE
    assert [spell.readings for spell in told.clauses[0].spells] == [20]


@pytest.mark.parametrize(("last", "verdict"), [(480, MET), (481, UNPROVEN)])
def test_hand_checks_every_4_h_keep_a_day(last: float, verdict: object) -> None:
    """Four hours between checks is the largest gap for a hand thermometer; a minute more leaves a hole.

    The words are "by 3 checks", never "without a gap".
    """
    checks = points((0, 38), (240, 40), (last, 39))
    answer = ask(COLD, hand=checks)
    assert answer.verdict is verdict
    assert "without a gap" not in answer.clauses[0].reason
    assert ("by 3 checks" in answer.clauses[0].reason) is (verdict is MET)


def test_hand_check_that_is_warm_is_a_miss() -> None:
    """One reading above 41 °F is enough: a hand thermometer is held by somebody who looks."""
    assert ask(COLD, hand=points((0, 38), (240, 42), (480, 39))).verdict is MISSED


def test_creme_anglaise_served_after_40_min_is_asked_nothing() -> None:
    """It was served before either limit fell due, and holding had not begun: no limit is asked of it."""
    answer = ask(COOLING, cooled(0, 40), [("ended", 40)], until=60)
    assert verdicts(answer) == (NONE, NONE)
    assert answer.verdict is NONE
    live = vessel(cooled(0, 40), until=600, ended=40)
    assert [judgement.verdict for judgement in live] == [NONE, NONE]


def test_creme_anglaise_served_after_3_h_answers_for_its_first_stage() -> None:
    """Two hours were over by then: what the record shows of them stands."""
    assert verdicts(ask(COOLING, cooled(0, 180), [("ended", 180)])) == (MET, NONE)
    slow = cooled(0, 180, half_min=120)
    assert verdicts(ask(COOLING, slow, [("ended", 180)])) == (MISSED, NONE)


def test_overnight_finish_at_6_h_30_misses_the_second_stage() -> None:
    """It was at 70 °F in time; a reading above 41 °F at 6 h after the latest start, before 41 °F was reached, is a miss."""
    night = line((0, 150), (10, 135), (100, 70), (400, 41), (480, 39))
    answer = ask(COOLING, night)
    assert verdicts(answer) == (MET, MISSED)
    assert answer.clauses[1].due == (T0 + 370 * MINUTE, T0 + 371 * MINUTE)


def test_overnight_finish_at_6_h_30_that_nobody_measured_is_not_shown() -> None:
    """The listener was off from 5:30 to 6:40: at 41 °F or less after the hole, and no reading says since when."""
    night = line((0, 150), (10, 135), (100, 70), (400, 41), (480, 39))
    cut = joined(night.between(T0, T0 + 330 * MINUTE), night.between(T0 + 410 * MINUTE, T0 + 480 * MINUTE))
    assert verdicts(ask(COOLING, cut)) == (MET, UNPROVEN)
