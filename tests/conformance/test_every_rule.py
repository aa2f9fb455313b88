"""Every rule, one suite: what must hold whatever is judged.

The rules are found by themselves: every process that there is, by probe and by hand, under the Food Code; those with
spells, further stages and sums of codes elsewhere; every part of an invented code; the live vessel in every step. A rule
that is added and is asked by none of these fails the suite until it has a way in.
"""

import dataclasses
import importlib
import inspect
import pkgutil
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch import rules as room
from holdwatch.limits import Cited, Limits, known_limits, load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Medium, Record, Series, Source
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.life import Counted, Life, Reheated
from holdwatch.rules.verdicts import Judgement, Process, Step, Verdict, worst
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line, points

Rule = Callable[[Record, int], tuple[Judgement, ...]]


def _of(process: Process, limits: Limits, source: Source = Source.PROBE, step: Step = Step.STORE) -> Rule:
    return lambda record, until: (judge(process, record, limits, until_ms=until, source=source, step=step),)


def _asked(limits: Limits, process: Process) -> bool:
    """Return whether a code has a figure that is asked of food."""
    if process is Process.COOLING:
        return limits.cooling is not None
    holding = limits.holding(process)
    return limits.part(process, Cited) is not None if holding is None else holding.medium is Medium.FOOD


CODES = {name: load_limits(name) for name in known_limits()}
ABROAD = {
    f"{process.value} of {name}": _of(process, limits, step=Step.DISPLAY)
    for name, limits in CODES.items()
    for process in Process
    if _asked(limits, process) and name in {"australia", "england-wales-ni"}
}
INVENTED = load_limits(str(Path(__file__).with_name("invented.toml")))
INVENTED_RULES = {
    f"{process.value} of an invented code": _of(process, INVENTED, step=Step.DISPLAY)
    for process in Process
    if _asked(INVENTED, process)
}
INSTANT = {
    f"{Process.COOK_EGGS.value} of an invented code",
    Process.COOK_EGGS.value,
    f"{Process.COOK_EGGS.value} by hand",
    "vessel with eggs to cook",
}  # one reading is enough for an instant
FOOD = [process for process in Process if _asked(LIMITS, process)]

RULES: dict[str, Rule] = {
    **{process.value: _of(process, LIMITS) for process in FOOD},
    **{f"{process.value} by hand": _of(process, LIMITS, Source.HAND) for process in FOOD},
    **ABROAD,
    **INVENTED_RULES,
    "vessel that cools": lambda record, until: judge_vessel(
        record, LIMITS, step=Step.COOL, holding="cold", until_ms=until
    ),
    "vessel in store": lambda record, until: judge_vessel(
        record, LIMITS, step=Step.STORE, holding="cold", until_ms=until
    ),
    "vessel kept hot": lambda record, until: judge_vessel(
        record, LIMITS, step=Step.HOLD, holding="hot", until_ms=until
    ),
}


def _life(life: Life, *begins: Process) -> Rule:
    asked = dataclasses.replace(life, begins=begins)
    return lambda record, until: judge_vessel(
        record, LIMITS, step=Step.COOL, holding="cold", until_ms=until, life=asked
    )


def _at(minutes: float) -> int:
    return T0 + round(minutes * MINUTE)


RULES |= {
    "vessel with eggs to cook": _life(Life(), Process.COOK_EGGS),
    "vessel that was never hot": _life(Life(), Process.AMBIENT_COOLING),
    "vessel under time control": _life(
        Life(counted=(Counted(Process.TIME_CONTROL_4H, _at(20)), Counted(Process.TIME_CONTROL_6H, _at(40)))),
        Process.COLD_HOLDING,
    ),
    "vessel reheated": _life(Life(reheated=(Reheated(_at(25)),)), Process.COOLING),
    "vessel frozen, prepared and shown": _life(
        Life(
            frozen=((_at(200), _at(250)),),
            steps=((_at(30), Step.ASSEMBLE), (_at(50), Step.STORE), (_at(55), Step.DISPLAY)),
        ),
        Process.COOLING,
    ),
    "vessel with a tray's earlier time": _life(
        Life(
            counted=(Counted(Process.TIME_CONTROL_6H, _at(40), tray_ms=_at(10), room_air=True),),
            room=line((0, 66), (120, 71)),
        ),
        Process.COLD_HOLDING,
    ),
}
rules = pytest.mark.parametrize("rule", RULES.values(), ids=RULES.keys())

RECORDS = {
    "good": line((0, 150), (15, 135.5), (100, 69), (300, 41), (420, 39)),
    "slow": line((0, 150), (15, 135.5), (200, 72), (500, 42)),
    "cold": line((0, 38), (60, 40)),
    "hot": line((0, 150), (60, 140)),
    "holes": joined(line((0, 150), (30, 130)), line((90, 80), (120, 68)), line((400, 40), (460, 39))),
    "spiky": joined(line((0, 38), (30, 38)), points((30.5, 185), (31, 90)), line((31.5, 38), (60.5, 38))),
    "out": joined(line((0, 150), (30, 125)), points((31, 90), (32, 75)), line((33, 72), (60, 70), (61, 100), (90, 95))),
}
records = pytest.mark.parametrize("series", RECORDS.values(), ids=RECORDS.keys())


def _pairs(series: Series) -> list[tuple[int, float]]:
    return list(zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True))


@rules
@records
def test_rule_does_not_depend_on_order_of_arrival_or_doubles(rule: Rule, series: Series) -> None:
    """The same readings in any order, some of them twice, are the same record."""
    pairs = _pairs(series)
    mixed = [*pairs[::-2], *pairs, *pairs[::3]]
    until = int(series.at_ms[-1])
    assert rule(Record(Series.of(mixed)), until) == rule(Record(series), until)


@rules
@records
def test_rule_sees_nothing_after_the_instant_of_judging(rule: Rule, series: Series) -> None:
    """Judged at ten instants inside, the record and its beginning alone give the same."""
    for part in range(1, 11):
        until = int(series.at_ms[0] + (series.at_ms[-1] - series.at_ms[0]) * part // 10)
        known = series.between(int(series.at_ms[0]), until)
        assert rule(Record(series), until) == rule(Record(known), until)


@rules
@records
def test_rule_leaves_its_record_as_it_was(rule: Rule, series: Series) -> None:
    """Judging changes nothing in the readings."""
    at, celsius = series.at_ms.copy(), series.celsius.copy()
    rule(Record(series, hand=points((5, 100))), int(series.at_ms[-1]))
    assert (at == series.at_ms).all()
    assert (celsius == series.celsius).all()


@rules
@records
def test_rule_is_not_changed_by_values_that_are_no_temperature(rule: Rule, series: Series) -> None:
    """NaN and error codes between readings are set aside and change no verdict."""
    extra = [
        (int(at) + 1, value) for at, value in zip(series.at_ms[::7], [-127.0, 999.0, float("nan")] * 99, strict=False)
    ]
    both = sorted([*_pairs(series), *extra])
    noisy = Series(np.array([at for at, _ in both]), np.array([c for _, c in both]))
    until = int(noisy.at_ms[-1])
    clean, dirty = rule(Record(series), until), rule(Record(noisy), until)
    if dirty[0].used == len(noisy):  # a hand thermometer's readings are somebody's: they count as they are
        return
    for one, other in zip(clean, dirty, strict=True):
        assert [clause.verdict for clause in one.clauses] == [clause.verdict for clause in other.clauses]
        assert other.used == one.used


@rules
def test_rule_without_a_reading_is_neither_kept_nor_missed(rule: Rule) -> None:
    """Absence of readings is no evidence of anything."""
    for notes in ((), (("placed", 0.0),), (("left-heat", 0.0), ("placed", 0.0))):
        for until in (T0 + MINUTE, T0 + HOUR, T0 + 100 * HOUR):
            for answer in rule(Record(declared=declared(*notes)), until):
                assert answer.verdict not in {Verdict.MET, Verdict.MISSED}
                assert (answer.used, answer.first_ms, answer.last_ms) == (0, None, None)


@pytest.mark.parametrize(
    "rule",
    [rule for name, rule in RULES.items() if name not in INSTANT and not name.startswith("reheating of")],
    ids=[name for name in RULES if name not in INSTANT and not name.startswith("reheating of")],
)
@pytest.mark.parametrize("degrees", [-40.0, 32.0, 41.0, 70.0, 135.0, 212.0])
def test_rule_one_reading_is_never_kept(rule: Rule, degrees: float) -> None:
    """One reading shows an instant; only a limit that asks for an instant is kept by it."""
    for answer in rule(Record(points((0, degrees))), T0):
        assert answer.verdict is not Verdict.MET


@rules
@records
def test_rule_takes_the_worse_of_two_values_at_every_instant(rule: Rule, series: Series) -> None:
    """A second value at some instants never turns a verdict for the better."""
    order = [Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.MET, Verdict.NONE]
    extra = Series.of((at, c + 0.6) for at, c in _pairs(series)[::5])
    until = int(series.at_ms[-1])
    for alone, beside in zip(rule(Record(series), until), rule(Record(joined(series, extra)), until), strict=True):
        for one, other in zip(alone.clauses, beside.clauses, strict=True):
            assert order.index(other.verdict) <= order.index(one.verdict)


@rules
def test_rule_verdict_is_the_worst_of_its_clauses(rule: Rule) -> None:
    """Missed, unproven, open, met; none is not counted."""
    for series in RECORDS.values():
        for answer in rule(Record(series), int(series.at_ms[-1])):
            assert answer.verdict is worst(clause.verdict for clause in answer.clauses)


@rules
@records
def test_rule_judges_no_food_limit_on_air(rule: Rule, series: Series) -> None:
    """Air and simulated product give none."""
    for medium in (Medium.AIR, Medium.PRODUCT):
        for answer in rule(Record(series, medium=medium), int(series.at_ms[-1])):
            assert answer.verdict is Verdict.NONE


@rules
@records
def test_rule_reasons_are_sentences_and_name_readings(rule: Rule, series: Series) -> None:
    """Every reason is a sentence; one that rests on a reading names its time."""
    for until in (int(series.at_ms[len(series) // 2]), int(series.at_ms[-1])):
        for answer in rule(Record(series), until):
            for clause in answer.clauses:
                assert clause.reason.endswith((".", "?"))
                assert "  " not in clause.reason
                if clause.verdict in {Verdict.MET, Verdict.MISSED}:
                    assert " UTC" in clause.reason
                    assert "°F at " in clause.reason or "°C at " in clause.reason


@settings(max_examples=150)
@given(
    st.lists(st.tuples(st.integers(0, 400), st.floats(-10, 400, allow_nan=False)), max_size=40),
    st.lists(st.tuples(st.integers(0, 400), st.floats(30, 200)), max_size=5),
    st.lists(
        st.tuples(
            st.sampled_from(["placed", "moved", "left-heat", "removed", "returned", "ended", "from"]),
            st.integers(-10, 420),
        ),
        max_size=5,
    ),
    st.integers(-10, 700),
)
def test_rules_answer_whatever_they_are_given(
    probe: list[tuple[int, float]],
    hand: list[tuple[int, float]],
    notes: list[tuple[str, int]],
    until: int,
) -> None:
    """Any readings with any declarations get an answer, the same twice, and its parts add up."""
    record = Record(
        Series.of((T0 + at * MINUTE, celsius_of_f(f)) for at, f in probe),
        Series.of((T0 + at * MINUTE, celsius_of_f(f)) for at, f in hand),
        declared=declared(*notes),
    )
    until_ms = T0 + until * MINUTE
    for rule in RULES.values():
        answers = rule(record, until_ms)
        assert answers == rule(dataclasses.replace(record), until_ms)
        for answer in answers:
            assert answer.used >= 0
            assert all(reading.at_ms <= until_ms for reading in answer.set_aside)
            assert answer.changes_ms is None or answer.changes_ms > until_ms
            assert answer.last_ms is None or answer.last_ms <= until_ms
            for clause in answer.clauses:
                for bracket in (clause.started, clause.due, clause.reached):
                    if bracket is not None and None not in bracket:
                        assert bracket[0] <= bracket[1]  # type: ignore[operator]


@rules
@records
@pytest.mark.parametrize("later_min", [0, 125])
def test_rule_tells_when_time_alone_can_change_its_answer(rule: Rule, series: Series, later_min: int) -> None:
    """Until the instant told no verdict changes; the live watch looks at nothing in between."""
    until = max(int(series.at_ms[-1]), _at(260)) + later_min * MINUTE
    answers = rule(Record(series), until)
    told = min((answer.changes_ms for answer in answers if answer.changes_ms is not None), default=until + 30 * HOUR)
    verdicts = [clause.verdict for answer in answers for clause in answer.clauses]
    for at in {until + 1, (until + told) // 2, *range(until, told, max((told - until) // 7, 1)), told - 1}:
        if until < at < told:
            later = [clause.verdict for answer in rule(Record(series), at) for clause in answer.clauses]
            assert later == verdicts, at


# ---------------------------------------------------------------- whether every rule is here

ALONE = {
    "judge_signal": "tests/conformance/test_conditions.py",
    "judge_stuck": "tests/conformance/test_conditions.py",
    "judge_implausible": "tests/conformance/test_conditions.py",
    "judge_refusals": "tests/conformance/test_conditions.py",
    "judge_device_clock": "tests/conformance/test_conditions.py",
    "judge_receiving": "tests/conformance/test_conditions.py",
    "judge_marked": "of days, not of readings: tests/watch/test_life.py",
    "judge_date_mark": "of days, not of readings: tests/rules/test_food_and_days.py",
}
"""Rules of no series of the food: where they are tried."""


def _every_rule() -> set[str]:
    """Return the names of all public functions that judge, in every module of the rules."""
    found = set()
    for module in pkgutil.iter_modules(room.__path__):
        named = importlib.import_module(f"{room.__name__}.{module.name}")
        found |= {
            name
            for name, thing in inspect.getmembers(named, inspect.isfunction)
            if name.startswith("judge") and thing.__module__ == named.__name__
        }
    return found


def test_every_rule_that_there_is_passes_through_this_suite() -> None:
    """A function that judges and that nothing here has asked is a rule that escaped."""
    called: set[str] = set()

    def look(frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            called.add(frame.f_code.co_name)

    sys.setprofile(look)
    try:
        for rule in RULES.values():
            for series in (RECORDS["good"], RECORDS["cold"]):
                for notes in ((), (("prepared", 0.0), ("removed", 1.0), ("from", 0.0))):
                    rule(Record(series, declared=declared(*notes)), int(series.at_ms[-1]))
        RULES[Process.COLD_HOLDING.value](Record(RECORDS["cold"], medium=Medium.AIR), T0 + HOUR)
    finally:
        sys.setprofile(None)
    assert _every_rule() - called == set(ALONE)


# ---------------------------------------------------------------- how a record comes in, and what is in it


@rules
@records
def test_rule_reads_a_record_that_came_in_pieces_as_one(rule: Rule, series: Series) -> None:
    """Cut anywhere, the pieces in whatever order, put together again: the same record, and the same answer."""
    until = int(series.at_ms[-1])
    whole = rule(Record(series), until)
    for part in range(1, 8):
        cut = int(series.at_ms[len(series) * part // 8])
        pieces = [_pairs(series.between(cut, until)), _pairs(series.between(0, cut))]
        assert rule(Record(Series.of(pair for piece in pieces for pair in piece)), until) == whole


@rules
def test_rule_bears_a_reading_of_the_far_future(rule: Rule) -> None:
    """A reading dated a hundred years ahead is not seen before its time, and takes nothing with it."""
    series = RECORDS["good"]
    until = int(series.at_ms[-1])
    ahead = joined(series, Series.of([(until + 36_525 * 24 * HOUR, 4.0)]))
    assert rule(Record(ahead), until) == rule(Record(series), until)
    for answer in rule(Record(ahead), int(ahead.at_ms[-1])):
        assert answer.last_ms is not None


@rules
@pytest.mark.parametrize("bad", [float("nan"), float("inf"), float("-inf"), -127.0, 1e9])
def test_rule_of_nothing_but_values_that_are_none_is_not_kept(rule: Rule, bad: float) -> None:
    """A probe that sends no temperature at all is as one that sends nothing; by hand a number is a number."""
    series = Series(np.array([T0 + n * MINUTE for n in range(300)]), np.full(300, bad))
    for answer in rule(Record(series), T0 + 300 * MINUTE):
        by_hand = answer.used == len(series)
        assert answer.verdict is not Verdict.MET or by_hand
        assert by_hand or answer.verdict is not Verdict.MISSED
