"""Ambient cooling, time control, added-up time, cooking, reheating, spells on display: the ordinary kitchen."""

from pathlib import Path

import pytest

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Medium, Record, Series, Source
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Step, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line, points
from tests.rules.series_words import ask as asked_of

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
AUSTRALIA, UK = load_limits("australia"), load_limits("england-wales-ni")
Notes = tuple[tuple[str, float], ...]


def _ask(
    process: Process,
    probe: Series,
    notes: Notes = (),
    *,
    until: float | None = None,
    finished: bool = True,
    hand: Series | None = None,
    code: str = "us-food-code-2022",
    step: Step = Step.STORE,
) -> ClauseVerdict:
    record = Record(probe, hand or Series.empty(), declared=declared(*notes))
    if until is None:
        last = max(
            [int(s.at_ms[-1]) for s in (record.probe, record.hand) if len(s)] + [d.at_ms for d in record.declared]
        )
    else:
        last = T0 + round(until * MINUTE)
    answer = judge(process, record, load_limits(code), until_ms=last, finished=finished, step=step)
    return answer.clauses[0]


def celsius(*pairs: tuple[float, float]) -> Series:
    """Return readings every minute on straight lines between (minutes, °C)."""
    return line(*((minute, value * 1.8 + 32) for minute, value in pairs))


# ---------------------------------------------------------------- ambient ingredients

AMBIENT = Process.AMBIENT_COOLING


def test_ambient_cooling_counts_from_its_preparation() -> None:
    """The start is what was declared, on both sides of the bracket, and the contract's keys are filled."""
    clause = _ask(AMBIENT, line((5, 70), (100, 41), (120, 40)), (("prepared", 0),))
    assert clause.verdict is MET
    assert clause.clause == "3-501.14(B)"
    assert clause.started == (T0, T0)
    assert clause.due == (T0 + 4 * HOUR, T0 + 4 * HOUR)
    assert clause.reached == (T0 + 99 * MINUTE, T0 + 100 * MINUTE)


@pytest.mark.parametrize(
    ("corners", "notes", "until", "verdict"),
    [
        (((0, 70), (100, 41)), (), None, UNPROVEN),  # nobody declared the start: not shown at best
        (((0, 70), (300, 60)), (), None, MISSED),  # four hours warm after the first reading are four hours warm
        (((0, 70), (100, 60)), (("prepared", 0),), None, OPEN),
        (((0, 70), (100, 60)), (("prepared", 0),), 244, OPEN),  # the answer may still be on its way
        (((0, 70), (100, 60)), (("prepared", 0),), 244.1, UNPROVEN),
        (((0, 70), (100, 60)), (("prepared", 0), ("ended", 110)), None, NONE),
        (((0, 38), (100, 38)), (("prepared", 50),), None, MET),  # cold already when it was prepared
    ],
)
def test_ambient_cooling_of_the_ordinary_kitchen(
    corners: tuple[tuple[float, float], ...], notes: Notes, until: float | None, verdict: Verdict
) -> None:
    """What is not declared or not read is not shown; what is warm too long is missed."""
    assert _ask(AMBIENT, line(*corners), notes, until=until).verdict is verdict


# ---------------------------------------------------------------- time instead of temperature

FOUR, SIX = Process.TIME_CONTROL_4H, Process.TIME_CONTROL_6H
OUT = joined(line((-30, 38), (0, 38)), line((1, 40), (60, 65)))


@pytest.mark.parametrize(
    ("notes", "until", "verdict", "said"),
    [
        ((("removed", 0), ("ended", 200)), None, MET, "In time"),
        ((("removed", 0), ("ended", 241)), None, MISSED, "Too late"),
        ((("removed", 0),), 239, OPEN, "to be served, sold, used or discarded by"),
        ((("removed", 0),), 240, OPEN, "Running"),
        ((("removed", 0),), 241, UNPROVEN, "no end is recorded: discard it, and record it"),
        ((("removed", 0), ("returned", 100)), 300, UNPROVEN, "no end is recorded"),  # the fridge is no end
        ((("removed", 0), ("returned", 100), ("ended", 239)), 300, MET, "In time"),
        ((("removed", 0), ("returned", 250)), 300, MISSED, "Still there at"),  # an entry shows it was there
        ((("removed", 0), ("removed", 200), ("ended", 300)), 300, MISSED, "Too late"),  # it is not started again
        ((("removed", 20.1), ("ended", 60)), None, MISSED, "neither 41 °F or less nor 135 °F or above"),
        ((("removed", 85), ("ended", 90)), None, UNPROVEN, "No reading shows how warm it was"),
        ((("ended", 90),), None, UNPROVEN, "Nobody declared when it was removed"),
        ((("removed", 50), ("ended", 40)), 60, NONE, "before it was removed"),
    ],
)
def test_time_control_of_the_ordinary_kitchen(notes: Notes, until: float | None, verdict: Verdict, said: str) -> None:
    """éclairs on the counter: what starts the time, what ends it, what does not."""
    clause = _ask(FOUR, OUT, notes, until=until)
    assert clause.verdict is verdict
    assert said in clause.reason


@pytest.mark.parametrize(("age", "verdict"), [(20, MET), (20.1, UNPROVEN)])
def test_time_control_start_reading_is_not_older_than_the_largest_gap(age: float, verdict: Verdict) -> None:
    """Ours: 20 min of a probe."""
    assert _ask(FOUR, points((-age, 38)), (("removed", 0), ("ended", 30))).verdict is verdict


def test_time_control_reading_after_the_time_shows_it_is_still_there() -> None:
    """A probe that still reads the food four hours and a minute later: deviation; one perhaps pulled out: not shown."""
    still = joined(line((-30, 38), (0, 38)), line((1, 40), (241, 66)))
    assert _ask(FOUR, still, (("removed", 0),)).verdict is MISSED
    assert _ask(FOUR, still, (("removed", 0),), until=240).verdict is OPEN
    pulled = joined(line((-30, 38), (0, 38)), line((1, 38), (230, 38)), line((231, 75), (250, 75)))
    clause = _ask(FOUR, pulled, (("removed", 0),))
    assert clause.verdict is UNPROVEN
    assert "no end is recorded" in clause.reason


def test_time_control_minnesota_writes_strict_ends(tmp_path: Path) -> None:
    """A state that writes less than 41 °F is two words in a file."""
    path = tmp_path / "mn.toml"
    packaged = Path(__file__).parents[2] / "holdwatch" / "limits" / "codes" / "us-food-code-2022.toml"
    text = packaged.read_text(encoding="utf-8")
    path.write_text(text.replace("starts_cold_inclusive = true", "starts_cold_inclusive = false"), encoding="utf-8")
    for degrees, verdict in ((41.0, MISSED), (40.9, MET)):
        assert _ask(FOUR, points((0, degrees)), (("removed", 0), ("ended", 30)), code=str(path)).verdict is verdict


@pytest.mark.parametrize(
    ("probe", "notes", "verdict"),
    [
        (joined(line((-10, 38), (0, 38)), line((1, 39), (350, 69))), (("removed", 0), ("ended", 350)), MET),
        (joined(line((-10, 136), (0, 136)), line((1, 69), (300, 69))), (("removed", 0), ("ended", 300)), MISSED),
        (joined(line((-10, 38), (0, 38)), line((1, 39), (350, 71))), (("removed", 0), ("ended", 350)), MISSED),
        (joined(line((-10, 38), (0, 38)), line((22, 50), (90, 60))), (("removed", 0), ("ended", 90)), UNPROVEN),
        (joined(line((-10, 38), (0, 38)), line((20, 50), (90, 60))), (("removed", 0), ("ended", 90)), MET),
        (joined(line((-10, 38), (0, 38)), line((1, 40), (90, 60))), (("removed", 0), ("ended", 111)), UNPROVEN),
        (joined(line((-10, 38), (0, 38)), line((1, 40), (90, 60))), (("removed", 0),), OPEN),
    ],
)
def test_time_control_of_six_hours_asks_every_reading(probe: Series, notes: Notes, verdict: Verdict) -> None:
    """6 h begins cold only, stays at 70 °F or less in every reading, and has no hole."""
    assert _ask(SIX, probe, notes).verdict is verdict


def test_time_control_food_that_warms_fast_is_still_the_food() -> None:
    """Out of the fridge a fast rise is no ground for doubt: nothing is set aside, and 6 h is missed."""
    record = Record(joined(line((-30, 38), (0, 38)), line((3, 75), (60, 75))), declared=declared(("removed", 0)))
    answer = judge(SIX, record, LIMITS, until_ms=T0 + HOUR)
    assert answer.verdict is MISSED
    assert not answer.set_aside


# ---------------------------------------------------------------- added-up time

SUM = Process.CUMULATIVE_TIME


@pytest.mark.parametrize(
    ("corners", "notes", "verdict", "said"),
    [
        (((0, 4), (1, 15), (60, 15), (61, 4), (90, 4)), (), MET, "less than 2 h: it may go back"),
        (((0, 4), (1, 15), (150, 15)), (), MET, "between 2 h and 4 h: use it now"),
        (((0, 4), (1, 15), (150, 15), (151, 4), (160, 4)), (), MISSED, "It was back at"),
        # three times 80 min out: no single spell is long, the sum is
        (
            ((0, 4), (1, 15), (80, 15), (81, 4), (100, 4), (101, 15), (240, 15), (300, 15)),
            (),
            MISSED,
            "Outside for",
        ),
        (
            ((0, 65), (1, 50), (200, 50), (201, 65), (210, 65)),
            (),
            MET,
            "use it now",
        ),  # hot again is no return to the fridge
        (((0, 15), (60, 15)), (), UNPROVEN, "before the first reading"),
        (((0, 15), (60, 15)), (("removed", -10),), MET, "Outside for 1 h 10 min in all at most"),
        (((0, 15), (60, 15)), (("removed", -200),), UNPROVEN, "as much as 4 h 20 min"),
    ],
)
def test_cumulative_time_of_the_ordinary_kitchen(
    corners: tuple[tuple[float, float], ...], notes: Notes, verdict: Verdict, said: str
) -> None:
    """The times outside add up over all spells; the band is told."""
    clause = _ask(SUM, celsius(*corners), notes, code="australia")
    assert clause.verdict is verdict
    assert said in clause.reason


@pytest.mark.parametrize(("hole", "verdict"), [(20, MET), (130, UNPROVEN), (300, UNPROVEN)])
def test_cumulative_time_hole_counts_in_the_longest_only(hole: float, verdict: Verdict) -> None:
    """Between two cold readings, a hole may hide a time outside; up to the largest gap it is none."""
    probe = joined(celsius((0, 4), (30, 4)), celsius((30 + hole, 4), (60 + hole, 4)))
    assert _ask(SUM, probe, code="australia").verdict is verdict


def test_cumulative_time_readings_as_far_apart_as_the_largest_gap_leave_no_hole() -> None:
    """Cold readings every 20 min for ten hours are cold; a millisecond more leaves ten hours not shown."""
    for apart, verdict in ((20.0, MET), (20.001, UNPROVEN)):
        probe = points(*((n * apart, 38.0) for n in range(31)))
        assert _ask(SUM, probe, code="australia").verdict is verdict


def test_cumulative_time_cooling_has_its_own_clause() -> None:
    """From a declared left-heat to cold the time is the cooling's; after it every minute counts."""
    cooled = celsius((0, 80), (60, 55), (150, 20), (300, 5), (310, 4))
    assert _ask(SUM, cooled, code="australia").verdict is MISSED
    assert _ask(SUM, cooled, (("left-heat", 0),), code="australia").verdict is MET
    too_slow = celsius((0, 80), (60, 55), (150, 20), (650, 10))
    assert _ask(SUM, too_slow, (("left-heat", 0),), code="australia").verdict is MISSED


# ---------------------------------------------------------------- cooking

EGGS = Process.COOK_EGGS


def seconds(*pairs: tuple[float, float]) -> Series:
    """Return readings given as (seconds after T0, °F)."""
    return points(*((second / 60, degrees) for second, degrees in pairs))


def test_cooking_one_met_row_is_enough_and_is_named() -> None:
    """A custard at 150 °F for a minute keeps the table, though it never saw 155 °F."""
    clause = _ask(EGGS, seconds((0, 140), *((n, 150.5) for n in range(10, 80, 10)), (80, 140)))
    assert clause.verdict is MET
    assert clause.reason.startswith("150 °F for 1 min: from 150.5 °F")
    assert clause.started == (T0, T0 + 10_000)
    assert clause.reached == (T0 + 60_000, T0 + 70_000)


def test_cooking_runs_are_not_added_up_and_rows_lend_no_credit() -> None:
    """Twice ten seconds at 155 °F, or half of two rows, keep nothing."""
    twice = seconds(*((n, 156.0 if 0 <= n < 11 or 20 <= n < 31 else 140.0) for n in range(-1, 40)))
    assert _ask(EGGS, twice).verdict is MISSED
    halves = seconds(
        *((n, 140.0) for n in (-1,)), *((n, 151.0) for n in range(30)), *((n, 156.0) for n in range(30, 40)), (40, 140)
    )
    assert _ask(EGGS, halves).verdict is MISSED


@pytest.mark.parametrize(("apart", "verdict"), [(90, MET), (90.001, UNPROVEN)])
def test_cooking_run_is_unbroken_up_to_90_s(apart: float, verdict: Verdict) -> None:
    """Ours: two readings at 145 °F 90 s apart are one run; further apart it is broken, and not shown."""
    probe = seconds((-10, 140), (0, 146), (apart, 146), (2 * apart, 146), (2 * apart + 10, 140))
    assert _ask(EGGS, probe).verdict is verdict


def test_cooking_end_not_seen_has_no_bound() -> None:
    """A file that ends at 156 °F after ten seconds does not show that it was not 17."""
    probe = seconds((-1, 140), *((n, 156.0) for n in range(11)))
    assert _ask(EGGS, probe).verdict is UNPROVEN
    assert _ask(EGGS, probe, finished=False).verdict is OPEN


def test_cooking_is_open_until_the_step_ends() -> None:
    """Live, what is not met yet may still be; leaving the heat ends it."""
    probe = seconds((0, 120), (10, 130), (20, 140))
    assert _ask(EGGS, probe, finished=False).verdict is OPEN
    assert _ask(EGGS, probe).verdict is MISSED
    assert _ask(EGGS, probe, (("left-heat", 0.5),), finished=False).verdict is MISSED


def test_cooking_one_reading_short_of_every_row_shows_nothing() -> None:
    """One reading shows an instant: at 158 °F it is enough, below it is not shown."""
    assert _ask(EGGS, points((0, 158))).verdict is MET
    assert _ask(EGGS, points((0, 157))).verdict is UNPROVEN


def test_cooking_run_that_may_just_have_lasted_is_not_shown() -> None:
    """From the reading before to the reading after exactly 17 s: it may have lasted so long; a second less cannot."""
    for after, verdict in ((17, UNPROVEN), (16, MISSED)):
        assert _ask(EGGS, seconds((0, 140), (1, 156), (after - 1, 156), (after, 140))).verdict is verdict


def test_cooking_hole_may_hide_a_run() -> None:
    """Nothing at any row, but two minutes without a reading: not shown."""
    assert _ask(EGGS, seconds((0, 140), (60, 140), (180, 140))).verdict is UNPROVEN
    assert _ask(EGGS, seconds((0, 140), (60, 140), (150, 140))).verdict is MISSED


# ---------------------------------------------------------------- reheating

HEAT = Process.REHEATING
DWELT = tuple((101 + n / 60, 165.0) for n in range(16))


@pytest.mark.parametrize(
    ("probe", "notes", "finished", "verdict"),
    [
        (joined(line((0, 40), (1, 42), (100, 160)), points(*DWELT)), (), True, MET),
        (joined(line((0, 60), (100, 160)), points(*DWELT)), (), True, UNPROVEN),  # when it left 41 °F is not shown
        (joined(line((0, 60), (100, 160)), points(*DWELT)), (("removed", 0),), True, MET),
        (joined(line((0, 60), (100, 160)), points(*DWELT)), (("removed", -30),), True, UNPROVEN),
        (joined(line((0, 60), (100, 160)), points(*DWELT)), (("removed", 10),), True, UNPROVEN),  # warm before that
        (line((0, 60), (130, 160)), (), True, MISSED),
        (line((0, 40), (60, 120)), (), True, OPEN),  # there is time still
        (line((0, 40), (60, 120)), (("ended", 60),), True, NONE),  # served at once: nothing was asked
        (joined(line((0, 40), (100, 160)), points((101, 165), (102, 160))), (), True, UNPROVEN),
        (
            joined(line((0, 40), (100, 160)), points((100.95, 160), (101, 165), (101.1, 160), (102, 150))),
            (),
            True,
            MISSED,
        ),
        (joined(line((0, 40), (100, 160)), points((101, 165))), (), False, OPEN),
        (line((0, 40), (30, 39)), (), True, OPEN),
    ],
)
def test_reheating_of_the_ordinary_kitchen(probe: Series, notes: Notes, finished: bool, verdict: Verdict) -> None:
    """41 °F to 165 °F within 2 h, and 15 s there."""
    assert _ask(HEAT, probe, notes, finished=finished).verdict is verdict


def test_reheating_is_counted_from_the_last_cold_reading() -> None:
    """Hours in the fridge before are not reheating; the bracket is the last cold reading and the next."""
    clause = _ask(HEAT, joined(line((-600, 38), (0, 41)), line((1, 43), (100, 160)), points(*DWELT)))
    assert clause.verdict is MET
    assert clause.started == (T0, T0 + MINUTE)
    assert clause.due == (T0 + 2 * HOUR, T0 + 2 * HOUR + MINUTE)


# ---------------------------------------------------------------- spells on display

COLD = Process.COLD_HOLDING


def test_display_spell_is_borne_told_and_not_in_store() -> None:
    """One spell above 8 °C of less than 4 h: kept on display, and told; in store it is a deviation."""
    probe = celsius((0, 7), (3, 10), (100, 10), (103, 7), (120, 7))
    clause = _ask(COLD, probe, code="england-wales-ni", step=Step.DISPLAY)
    assert clause.verdict is MET
    assert "borne by Sch. 4 para 5(1)" in clause.reason
    assert len(clause.spells) == 1
    assert "one spell above 8 °C of less than 4 h" in clause.requires
    assert _ask(COLD, probe, code="england-wales-ni").verdict is MISSED
    assert _ask(COLD, probe, code="australia", step=Step.DISPLAY).verdict is MISSED


def test_display_spell_with_a_hole_is_not_shown() -> None:
    """A hole ends what is surely one spell, and leaves the rest not shown."""
    probe = joined(celsius((0, 7), (2, 9), (150, 9)), celsius((180, 9), (300, 9), (302, 7)))
    assert _ask(COLD, probe, code="england-wales-ni", step=Step.DISPLAY).verdict is UNPROVEN


def test_display_spell_at_the_first_reading_has_no_bound() -> None:
    """How long it was warm before the first reading is not shown, unless the period was named."""
    probe = celsius((0, 10), (30, 10), (33, 7), (60, 7))
    assert _ask(COLD, probe, code="england-wales-ni", step=Step.DISPLAY).verdict is UNPROVEN
    assert _ask(COLD, probe, (("from", -5),), code="england-wales-ni", step=Step.DISPLAY).verdict is MET


def test_display_spell_counts_live_for_a_batch_on_display() -> None:
    """A vessel on display is judged with the tolerance, one in store without."""
    record = Record(celsius((0, 7), (3, 10), (100, 10), (103, 7), (120, 7)))
    for step, verdict in ((Step.DISPLAY, MET), (Step.STORE, MISSED)):
        (answer,) = judge_vessel(record, UK, step=step, holding="cold", until_ms=T0 + 2 * HOUR)
        assert answer.verdict is verdict


# ---------------------------------------------------------------- air

AIR = Record(line((0, 44), (60, 45)), medium=Medium.AIR)


def test_shell_eggs_are_judged_on_air_and_on_nothing_else() -> None:
    """Food Code 3-501.16(B) is written for the air; a food probe in an egg is no air."""
    assert judge(Process.SHELL_EGGS, AIR, LIMITS, until_ms=T0 + HOUR).verdict is MET
    for medium in (Medium.FOOD, Medium.PRODUCT):
        answer = judge(Process.SHELL_EGGS, Record(AIR.probe, medium=medium), LIMITS, until_ms=T0 + HOUR)
        assert answer.verdict is NONE
        assert "written for air" in answer.clauses[0].reason


@pytest.mark.parametrize(
    ("probe", "hand", "verdict"),
    [
        (joined(line((0, 44), (60, 44)), line((240, 44), (300, 44))), points((65, 39), (235, 39)), UNPROVEN),
        (line((0, 40), (300, 40)), points((65, 50)), MET),
        (line((0, 46), (300, 46)), points((0, 40)), MISSED),
        (Series.empty(), points((0, 40), (300, 40)), UNPROVEN),
    ],
)
def test_shell_eggs_are_not_judged_on_hand_checks_of_the_food(probe: Series, hand: Series, verdict: Verdict) -> None:
    """Beside a probe in the air they fill no hole of it, and break no limit of it."""
    answer = asked_of(Process.SHELL_EGGS, probe, hand=hand, medium=Medium.AIR)
    assert answer.verdict is verdict
    by_hand = Record(probe, hand, Medium.AIR)
    checks = judge(Process.SHELL_EGGS, by_hand, LIMITS, until_ms=T0 + 5 * HOUR, source=Source.HAND)
    assert checks.used == len(probe) + len(hand)


@pytest.mark.parametrize("process", [p for p in Process if p is not Process.SHELL_EGGS])
def test_air_proves_and_breaks_no_limit_for_food(process: Process) -> None:
    """Every other process answers none for air."""
    record = Record(line((0, 80), (300, 80)), medium=Medium.AIR, declared=declared(("removed", 0), ("prepared", 0)))
    for code in (LIMITS, AUSTRALIA, UK):
        assert judge(process, record, code, until_ms=T0 + 5 * HOUR, finished=True).verdict is NONE


def test_reading_in_fahrenheit_is_the_same_in_celsius() -> None:
    """The helper of these tests writes °C as °F exactly enough for the ends."""
    assert celsius_of_f(5 * 1.8 + 32) == pytest.approx(5, abs=1e-9)
