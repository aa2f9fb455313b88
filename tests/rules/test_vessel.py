"""The live judgement of a vessel: cooling, then cold holding from where it begins."""

import pytest

from holdwatch.limits import Limits, load_limits
from holdwatch.readings import Record, Series
from holdwatch.rules.batch import batch_verdict, judge_vessel
from holdwatch.rules.facts import from_facts, next_instant, to_facts
from holdwatch.rules.life import Life
from holdwatch.rules.verdicts import Judgement, Process, Step, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
GOOD = line((0, 150), (15, 135.5), (100, 69), (300, 41), (300, 40.9), (600, 39))


def _vessel(
    probe: Series,
    until: float,
    *,
    step: Step = Step.COOL,
    ended: float | None = None,
    notes: list[tuple[str, float]] | None = None,
    begins: tuple[Process, ...] = (),
    limits: Limits = LIMITS,
) -> tuple[Judgement, ...]:
    return judge_vessel(
        Record(probe, declared=declared(*(notes or []))),
        limits,
        step=step,
        holding="cold",
        until_ms=T0 + round(until * MINUTE),
        ended_ms=None if ended is None else T0 + round(ended * MINUTE),
        life=Life(begins=begins),
    )


def _all(answers: tuple[Judgement, ...]) -> tuple[Verdict, ...]:
    return tuple(clause.verdict for answer in answers for clause in answer.clauses)


def test_vessel_is_asked_both_stages_and_then_holding() -> None:
    """While it cools, the stages are open; when it is cold for thirty minutes, holding begins."""
    assert _all(_vessel(GOOD, 60)) == (OPEN, OPEN, OPEN)
    assert _all(_vessel(GOOD, 120)) == (MET, OPEN, OPEN)
    assert _all(_vessel(GOOD, 320)) == (MET, MET, OPEN)
    assert _all(_vessel(GOOD, 331)) == (MET, MET, MET)
    assert [answer.process for answer in _vessel(GOOD, 331)] == [Process.COOLING, Process.COLD_HOLDING]


def test_vessel_holding_begins_thirty_minutes_after_the_first_cold_reading() -> None:
    """The food has been at 41 °F or less for thirty minutes unbroken."""
    clause = _vessel(GOOD, 400)[1].clauses[0]
    assert clause.started == (T0 + 330 * MINUTE, T0 + 330 * MINUTE)


def test_vessel_cold_for_less_than_thirty_minutes_is_not_yet_held() -> None:
    """A reading above 41 °F breaks the thirty minutes and they begin anew."""
    broken = joined(
        line((0, 150), (15, 135.5), (100, 69), (250, 41), (270, 40)),
        line((271, 41.5), (280, 41)),
        line((281, 40.5), (360, 40)),
    )
    assert _vessel(broken, 290)[1].verdict is OPEN
    assert _vessel(broken, 360)[1].clauses[0].started == (T0 + 310 * MINUTE, T0 + 310 * MINUTE)


def test_vessel_holding_begins_when_the_allowance_ends() -> None:
    """Food still warm when the six hours are over is not cooling any more: it is held too warm."""
    slow = line((0, 140), (6, 134), (100, 69), (480, 45))
    cooling, holding = _vessel(slow, 480)
    assert cooling.clauses[1].verdict is MISSED
    due = cooling.clauses[1].due
    assert due is not None
    assert due[1] is not None
    assert holding.clauses[0].started == (due[1], due[1])
    assert holding.verdict is MISSED


def test_vessel_later_warming_is_a_miss_of_holding_only() -> None:
    """Once cold and held, warming up misses the holding and leaves the cooling kept."""
    warmed = joined(GOOD, line((601, 40), (640, 55)))
    assert _all(_vessel(warmed, 640)) == (MET, MET, MISSED)


def test_vessel_ended_before_holding_began_is_asked_none() -> None:
    """A custard used while it was still cooling is asked nothing of holding."""
    assert _all(_vessel(GOOD, 130, ended=120)) == (MET, NONE, NONE)
    assert _all(_vessel(GOOD, 900, ended=420)) == (MET, MET, MET)


def test_vessel_in_store_is_asked_holding_alone() -> None:
    """A batch that begins in the fridge was never hot."""
    assert _all(_vessel(line((0, 38), (60, 38)), 60, step=Step.STORE)) == (MET,)
    assert _all(_vessel(line((0, 38), (60, 38)), 60, step=Step.ASSEMBLE)) == (NONE,)


def test_vessel_hot_held_is_asked_hot_holding() -> None:
    """A batch that is kept hot is asked the hot limit."""
    answer = judge_vessel(Record(line((0, 150), (60, 140))), LIMITS, step=Step.HOLD, holding="hot", until_ms=T0 + HOUR)
    assert [(a.process, a.verdict) for a in answer] == [(Process.HOT_HOLDING, MET)]


CUSTARD = line((0, 38), (40, 38), (100, 175), (105, 175), (125, 134), (200, 69), (360, 41), (362, 40.9), (600, 39))
"""A probe in cold milk, cooked to 175 °F, taken from the heat at 105 and cooled in time."""


@pytest.mark.parametrize(
    ("step", "begins", "notes"),
    [
        (Step.COOK, (), [("left-heat", 105)]),
        (Step.COOK, (), []),
        (Step.COOL, (), [("left-heat", 105)]),
        (Step.STORE, (Process.COOK_EGGS,), [("left-heat", 105)]),
        (Step.STORE, (Process.COOK_EGGS,), []),
    ],
)
def test_vessel_cold_before_it_was_cooked_is_no_food_that_has_cooled(
    step: Step, begins: tuple[Process, ...], notes: list[tuple[str, float]]
) -> None:
    """The raw mix is not held: not while it is cooked, nor afterwards; once it has cooled it is."""
    for until in (30, 50, 99, 110, 389, 391, 600):
        known = [note for note in notes if note[1] <= until]
        if step is Step.COOL and not known:  # nothing says yet that it was raw
            continue
        held = _vessel(CUSTARD, until, step=step, begins=begins, notes=known)[-1]
        assert held.process is Process.COLD_HOLDING
        assert held.verdict is (MET if until > 390 else OPEN), until
    assert held.clauses[0].started == (T0 + 390 * MINUTE, T0 + 390 * MINUTE)
    warmed = joined(CUSTARD, line((601, 40), (640, 55)))
    assert _vessel(warmed, 640, step=step, begins=begins, notes=notes)[-1].verdict is MISSED


def test_vessel_cold_before_it_was_cooked_under_a_code_of_one_stage() -> None:
    """Where cooling has one stage alone, its clock is the one that counts."""
    held = _vessel(CUSTARD, 200, step=Step.COOK, notes=[("left-heat", 105)], limits=load_limits("ireland"))[-1]
    assert (held.process, held.verdict) == (Process.COLD_HOLDING, OPEN)


def test_vessel_not_seen_hot_counts_as_cooled_only_after_it_left_the_heat() -> None:
    """The probe was out while it cooked: read cold until 40, and at 120 °F from 80 on."""
    record = joined(line((0, 38), (40, 38)), line((80, 120), (180, 69), (360, 41)), line((361, 40.9), (600, 39)))
    assert _vessel(record, 200, step=Step.COOK, notes=[("left-heat", 70)])[-1].verdict is OPEN
    assert _vessel(record, 600, step=Step.COOK, notes=[("left-heat", 70)])[-1].verdict is MET
    assert _vessel(line((0, 38), (300, 38)), 300, step=Step.COOK)[-1].verdict is OPEN
    assert _vessel(line((0, 38), (400, 38)), 400, step=Step.COOK)[-1].verdict is MET
    assert _vessel(line((0, 38), (300, 38)), 300, step=Step.COOL)[-1].verdict is MET


@pytest.mark.parametrize("until", [30, 90, 130, 260, 320, 331, 500])
def test_vessel_answers_stand_until_the_instant_told(until: float) -> None:
    """Between now and the told instant time alone changes nothing."""
    answers = _vessel(GOOD, until)
    upcoming = min(
        (at for a in answers if (at := next_instant(a, T0 + round(until * MINUTE))) is not None), default=None
    )
    known = Series(GOOD.at_ms[GOOD.at_ms <= T0 + until * MINUTE], GOOD.celsius[GOOD.at_ms <= T0 + until * MINUTE])
    end = T0 + 24 * HOUR if upcoming is None else upcoming
    for at in range(T0 + round(until * MINUTE), end, max((end - T0) // 40, 1)):
        later = judge_vessel(Record(known), LIMITS, step=Step.COOL, holding="cold", until_ms=at)
        assert _all(later) == _all(answers)


def test_vessel_facts_survive_the_store() -> None:
    """A clause's verdict written as JSON values is read back the same."""
    import json

    for answer in (*_vessel(GOOD, 400), *_vessel(line((0, 140), (6, 134), (100, 69), (480, 45)), 480)):
        for clause in answer.clauses:
            assert from_facts(json.loads(json.dumps(to_facts(clause)))) == clause


@pytest.mark.parametrize(
    ("verdicts", "speaks", "whole"),
    [
        ([Verdict.MET, Verdict.MET], True, Verdict.MET),
        ([Verdict.MET, Verdict.MET], False, Verdict.UNPROVEN),
        ([Verdict.MET, Verdict.MISSED], False, Verdict.MISSED),
        ([Verdict.MET, Verdict.OPEN], False, Verdict.OPEN),
        ([Verdict.NONE], False, Verdict.NONE),
    ],
)
def test_batch_is_kept_only_where_the_measured_vessels_speak_for_all(
    verdicts: list[Verdict], *, speaks: bool, whole: Verdict
) -> None:
    """One vessel that misses makes the batch miss; one that keeps does not make it keep."""
    assert batch_verdict(verdicts, speaks_for_all=speaks) is whole
