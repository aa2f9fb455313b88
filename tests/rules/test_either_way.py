"""What must be the same either way, and what must not: two values, doubts, first and last, one instant and the next."""

from dataclasses import replace

from holdwatch.limits.model import DateMarkLimits
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.life import Life
from holdwatch.rules.marked import mark_of_life
from holdwatch.rules.seen import prepare
from holdwatch.rules.verdicts import Process, Step, Verdict
from holdwatch.sieve import Surroundings, sift
from tests.rules.series_words import LIMITS, MINUTE, T0, ask, declared, joined, line, points
from tests.rules.test_cumulative_sums import AUSTRALIA, IN, OUT, stay
from tests.rules.test_marks_and_contents import UTC_DAYS

ALL_DAY = line((0, 38), (60, 38), (70, 50), (120, 50), (140, 38), (180, 38))
OUT_OF_FOOD = joined(ALL_DAY, line((181, 95), (220, 95)), line((221, 38), (260, 38)))
"""Warm for an hour at 50 °F; later a probe that jumps by 57 °F in a minute, for forty minutes: perhaps out of the food."""


def test_a_deviation_that_is_sure_is_told_without_the_readings_in_doubt() -> None:
    """It is a deviation either way; how warm the food was is told by the readings that are surely its own."""
    answer = ask(Process.COLD_HOLDING, OUT_OF_FOOD)
    (clause,) = answer.clauses
    assert answer.doubts
    assert (clause.verdict, clause.doubtful) == (Verdict.MISSED, False)
    assert [round(spell.extreme_c * 1.8 + 32, 3) for spell in clause.spells] == [50.0]


def test_readings_in_doubt_leave_a_hole() -> None:
    """Nobody knows what the food was meanwhile: the stretch is told as one without readings."""
    answer = ask(Process.COLD_HOLDING, OUT_OF_FOOD)
    assert [((first - T0) / MINUTE, (last - T0) / MINUTE) for first, last in answer.gaps] == [(180, 221)]


def test_where_no_limit_is_asked_nothing_is_asked_of_a_person_either() -> None:
    """Australia's code has no such limit: a doubt changes nothing there."""
    record = Record(OUT_OF_FOOD)
    answer = judge(Process.SHELL_EGGS, record, AUSTRALIA, until_ms=int(OUT_OF_FOOD.at_ms[-1]))
    assert answer.verdict is Verdict.NONE
    assert answer.doubts
    assert answer.asks == ()


def test_a_value_that_one_of_two_judges_is_not_set_aside() -> None:
    """5 °C, then 5 or 17 °C at one instant, then 17 °C, then 5 °C, 90 s apart.

    With the colder value the later 17 °C is a spike; with the warmer one it is none. It is judged one way, so it is not
    named among what was set aside.
    """
    at = [T0 + round(n * 1.5 * MINUTE) for n in range(20)]
    pairs = [(each, 17.0 if n == 10 else 5.0) for n, each in enumerate(at)]
    prepared = prepare(Record(Series.of([*pairs, (at[9], 17.0)])), until_ms=at[-1], now_ms=at[-1])
    assert prepared.contested == (at[9],)
    assert (at[10], 17.0) not in [(each.at_ms, each.celsius) for each in prepared.set_aside]
    alone = prepare(Record(Series.of(pairs)), until_ms=at[-1], now_ms=at[-1])
    assert [(each.at_ms, each.celsius) for each in alone.set_aside] == [(at[10], 17.0)]


def test_what_is_not_decided_when_the_food_ends_is_decided_later() -> None:
    """A jump just before the end may still turn out to be a spike; one after the end is nothing of the food's."""
    calm, end = line((0, 38), (30, 38)), T0 + 31 * MINUTE
    before = joined(calm, points((30.5, 60), (31.5, 60)))
    after = joined(calm, points((31.5, 60)))
    now = T0 + 32 * MINUTE
    assert prepare(Record(before), until_ms=end, now_ms=now).decided_ms == T0 + round(32.5 * MINUTE)
    assert prepare(Record(after), until_ms=end, now_ms=now).decided_ms is None


def test_the_clock_of_cooling_starts_when_the_food_first_left_the_heat() -> None:
    """Said twice: the later one gives no new time. 70 °F is passed 2 h 10 min after the first, 1 h 50 min after the second.

    Its readings begin half an hour after the first: whether the time was kept is not shown; with the second alone it was.
    """
    probe = joined(line((30, 120), (125, 75)), line((126, 73), (140, 60)), line((141, 59), (330, 40)))
    notes = (("left-heat", 0.0), ("left-heat", 20.0))
    first, _ = ask(Process.COOLING, probe, notes=notes).clauses
    assert first.verdict is Verdict.UNPROVEN
    once, _ = ask(Process.COOLING, probe, notes=notes[1:]).clauses
    assert once.verdict is Verdict.MET


def test_holding_begins_at_its_instant_and_not_a_millisecond_later() -> None:
    """Half an hour unbroken at 41 °F: at that very instant it is as it is right after it."""
    probe = joined(line((0, 150), (60, 65)), line((61, 64), (180, 40)), line((181, 40), (400, 40)))

    def holding(until_ms: int) -> Verdict:
        record = Record(probe, declared=declared(("left-heat", 0.0)))
        judged = judge_vessel(record, LIMITS, step=Step.COOL, holding="cold", until_ms=until_ms, started_ms=T0)
        return next(each for each in judged if each.process is Process.COLD_HOLDING).verdict

    begins = next(T0 + n * MINUTE for n in range(180, 400) if holding(T0 + n * MINUTE) is not Verdict.OPEN)
    while holding(begins - 1) is not Verdict.OPEN:
        begins -= 1
    assert holding(begins) is holding(begins + 1)


def test_food_is_frozen_from_the_instant_at_which_it_was_said() -> None:
    """Its date mark is then the one of frozen food, at once."""
    limit = LIMITS.part("date-marking", DateMarkLimits)
    assert limit is not None
    life = Life(made_ms=T0, frozen=((T0 + MINUTE, None),))
    at_once = mark_of_life(limit, life, T0 + MINUTE, UTC_DAYS)
    assert at_once == mark_of_life(limit, life, T0 + 2 * MINUTE, UTC_DAYS)
    assert at_once != mark_of_life(limit, replace(life, frozen=()), T0 + MINUTE, UTC_DAYS)


def test_a_sum_that_grows_is_looked_at_again_within_a_minute() -> None:
    """Time alone makes it longer."""
    probe = joined(stay(0, 10, IN), stay(11, 30, OUT))
    now = int(probe.at_ms[-1])
    answer = judge(Process.CUMULATIVE_TIME, Record(probe, declared=declared(("from", 0.0))), AUSTRALIA, until_ms=now)
    assert answer.changes_ms is not None
    assert now < answer.changes_ms <= now + MINUTE


def test_the_first_of_two_spells_may_be_the_longest() -> None:
    """Air at 44 °F from 11 to 30, and from 41 to 43."""
    air = joined(
        line((0, 38), (10, 38)),
        line((11, 44), (30, 44)),
        line((31, 38), (40, 38)),
        line((41, 44), (43, 44)),
        points((44, 38)),
    )
    (clause,) = ask(Process.COLD_HOLDING, air, medium=Medium.AIR).clauses
    assert "the longest for 19 min or more from 2026-02-25 06:31:00 UTC" in clause.reason


def test_of_two_values_of_air_the_worse_one_warns() -> None:
    """The warmer for what is to be cold, the colder for what is to be hot."""
    cold = points((0, 38), (5, 38), (5, 50), (10, 38))
    (clause,) = ask(Process.COLD_HOLDING, cold, medium=Medium.AIR).clauses
    assert len(clause.spells) == 1
    hot = points((0, 140), (5, 140), (5, 128), (10, 140))
    (clause,) = ask(Process.HOT_HOLDING, hot, medium=Medium.AIR).clauses
    assert len(clause.spells) == 1


def test_an_interval_of_fifty_seconds_does_not_halve_the_rate_of_a_fall() -> None:
    """Food that cools by 1.5 °F a minute, then 10.5 °F between two readings: more than 10 °F in a minute.

    Measured over the 100 s before it is 7.1 °F a minute, and no five times what it was before.
    """
    every = 50 / 60
    probe = joined(line((0, 150), (20, 120), every=every), line((20 + every, 109.5), (40, 109.5), every=every))
    found = sift(probe, Surroundings(), int(probe.at_ms[-1]) + 5 * MINUTE).doubts
    assert [round((doubt.first_ms - T0) / MINUTE, 2) for doubt in found] == [round(20 + every, 2)]
