"""A judgement carried on from a saved state and one made of the whole record from its beginning are the same.

Whatever the record: it is cut anywhere, the state is written down as JSON and taken up by what follows.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.limits import Limits, known_limits, load_limits
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.standing import (
    CARRIED,
    FALL_C,
    NEAR_C,
    RISE_C,
    Standing,
    carried_on,
    standing_from,
    standing_of,
)
from holdwatch.rules.verdicts import Judgement, Process, Spell, Step, Verdict
from tests.accidents.kitchen import cooled
from tests.rules.series_words import LIMITS, MINUTE, T0, declared, joined, line, points

Judge = Callable[[Record, int], Sequence[Judgement]]


@dataclass
class Live:
    """A subject judged reading by reading, as far as that can be without judging it all again."""

    record: Record
    judge: Judge
    limits: Limits
    carried: int = 0
    again: int = 0

    def run(self, *, saved_at: int = -1) -> None:
        """Carry on through the record, comparing with the whole at every reading."""
        at_ms, celsius = self.record.probe.at_ms, self.record.probe.celsius
        standing, told = None, None
        for n in range(len(at_ms)):
            until = int(at_ms[n])
            whole = self._known(until)
            answers = self.judge(whole, until)
            now = _told(answers)
            if standing is not None and not self._noted(standing.last_ms, until):
                standing = carried_on(standing, until, float(celsius[n]))
            else:
                standing = None
            if standing is None:
                self.again += 1
                standing = standing_of(whole, answers, self.limits)
            else:
                self.carried += 1
                assert now == told, (n, now, told)
            told = now
            if n == saved_at and standing is not None:
                again = standing_from(json.loads(json.dumps(standing.to_facts())))
                assert again == standing
                standing = again

    def _noted(self, after_ms: int, until: int) -> bool:
        """Tell whether something else became known of the subject: then it is judged again."""
        noted = [*self.record.hand.at_ms.tolist(), *(d.at_ms for d in self.record.declared)]
        return any(after_ms < at_ms <= until for at_ms in noted)

    def _known(self, until: int) -> Record:
        record = self.record
        notes = tuple(d for d in record.declared if d.at_ms <= until)
        return Record(
            record.probe.between(0, until),
            record.hand.between(0, until),
            record.medium,
            notes,
            record.air.between(0, until),
        )


def _told(answers: Sequence[Judgement]) -> list[object]:
    """Return what must not change: verdicts, spells and brackets; an end that is the last reading moves with it.

    While nothing is reached the bracket has that end alone: the last reading that is judged, by hand or of the probe.
    """
    return [
        (
            clause.clause,
            clause.verdict,
            clause.doubtful,
            clause.started,
            clause.due,
            _reached(clause.reached),
            clause.spells,
        )
        for answer in answers
        for clause in answer.clauses
    ]


def _reached(bracket: tuple[int | None, int | None] | None) -> object:
    return "running" if bracket is not None and bracket[0] is not None and bracket[1] is None else bracket


def _thinned(series: Series, every: int = 3) -> Series:
    return Series(series.at_ms[::every], series.celsius[::every])


def _vessel(record: Record, until: int) -> Sequence[Judgement]:
    return judge_vessel(record, LIMITS, step=Step.COOL, holding="cold", until_ms=until, started_ms=T0)


CREAM = _thinned(cooled(0, 420))
FRIDGE = points(*((float(m) / 2, 38 + 1.5 * np.sin(m / 30) + 0.2 * np.cos(m * 2.1)) for m in range(200)))
RECORDS = {
    "cream": CREAM,
    "slow cream": _thinned(cooled(0, 700, half_min=160), 5),
    "fridge": FRIDGE,
    "fridge that warms": joined(FRIDGE, line((101, 39), (140, 46), (190, 38))),
    "holes": joined(CREAM.between(T0, T0 + 60 * MINUTE), CREAM.between(T0 + 100 * MINUTE, T0 + 420 * MINUTE)),
    "spikes": joined(CREAM, points((30.5, 30), (200.5, 185), (300.2, 70))),
    "fallen out": joined(CREAM.between(T0, T0 + 40 * MINUTE), line((41, 72), (150, 71))),
    "kept hot": line((0, 150), (60, 137), (80, 134), (100, 139), (140, 140)),
    "noise": points(*((float(m), 40 + 3 * np.sin(m * m)) for m in range(120))),
}


@pytest.mark.parametrize("process", sorted(CARRIED))
@pytest.mark.parametrize("name", RECORDS)
def test_process_carried_on_is_the_whole_judged_again(process: object, name: str) -> None:
    """Every process that can be carried on, found by itself, over good records and broken ones."""
    medium = Medium.AIR if name.startswith("fridge") else Medium.FOOD
    record = Record(RECORDS[name], medium=medium)
    Live(record, lambda r, u: (judge(process, r, LIMITS, until_ms=u),), LIMITS).run()  # type: ignore[arg-type]


@pytest.mark.parametrize("name", RECORDS)
def test_vessel_carried_on_is_the_whole_judged_again(name: str) -> None:
    """Cooling and the holding after it, together."""
    Live(Record(RECORDS[name]), _vessel, LIMITS).run()


def test_most_readings_are_carried_on() -> None:
    """Otherwise nothing would be gained: of a good pan every minute four in five, of a good fridge nearly all."""
    pan = Live(Record(cooled(0, 420)), _vessel, LIMITS)
    pan.run()
    assert pan.carried > 4 * pan.again, (pan.carried, pan.again)
    begun = Record(FRIDGE, declared=declared(("from", 0)))
    fridge = Live(begun, lambda r, u: (judge(Process.COLD_HOLDING, r, LIMITS, until_ms=u),), LIMITS)
    fridge.run()
    assert fridge.carried > 50 * fridge.again, (fridge.carried, fridge.again)


@pytest.mark.parametrize("code", known_limits())
def test_vessel_carried_on_under_every_code(code: str) -> None:
    """Whatever levels and times a code has."""
    limits = load_limits(code)
    Live(
        Record(_thinned(cooled(0, 500, from_f=170), 5)),
        lambda r, u: judge_vessel(r, limits, step=Step.COOL, holding="cold", until_ms=u, started_ms=T0),
        limits,
    ).run()


@st.composite
def _records(draw: st.DrawFn) -> Record:
    """A walk of food with everything that can come between."""
    degrees, minute = draw(st.floats(33, 180)), 0.0
    pairs: list[tuple[float, float]] = []
    for _ in range(draw(st.integers(1, 6))):
        rate, every = (
            draw(st.sampled_from([-4, -2, -0.8, -0.3, 0, 0.05, 0.5, 2])),
            draw(st.sampled_from([0.25, 0.5, 1, 2, 6, 21])),
        )
        noise = draw(st.sampled_from([0, 0.1, 1.0]))
        for n in range(draw(st.integers(2, 14))):
            minute += every
            degrees = min(max(degrees + rate * every, 31.0), 200.0)
            pairs.append((minute, degrees + noise * np.sin(7.3 * n)))
        degrees += draw(st.sampled_from([0, 0, 0, -25, -8, 40]))
    probe = points(*pairs)
    kinds = st.sampled_from(["placed", "moved", "left-heat", "removed", "returned"])
    notes = draw(st.lists(st.tuples(kinds, st.integers(0, int(minute))), max_size=3))
    hand = draw(st.lists(st.tuples(st.integers(0, int(minute)), st.floats(33, 180)), max_size=2))
    air = (
        points(*((m, 38 + 3 * np.sin(m / 4)) for m in np.arange(0, minute, 2).tolist()))
        if draw(st.booleans())
        else Series.empty()
    )
    return Record(probe, points(*hand), declared=declared(*notes), air=air)


@settings(max_examples=60)
@given(_records(), st.integers(0, 80))
def test_record_cut_anywhere_is_taken_up_from_its_saved_state(record: Record, saved_at: int) -> None:
    """Live and audit agree at every reading, on whichever side of the cut."""
    Live(record, _vessel, LIMITS).run(saved_at=saved_at)


@settings(max_examples=40)
@given(_records(), st.integers(0, 80), st.sampled_from(sorted(CARRIED)))
def test_holding_cut_anywhere_is_taken_up_from_its_saved_state(record: Record, saved_at: int, process: object) -> None:
    """The same of every process alone, from a declared beginning."""
    begun = Record(
        record.probe, record.hand, declared=(*record.declared, Declaration(T0, DeclarationKind.FROM)), air=record.air
    )
    Live(begun, lambda r, u: (judge(process, r, LIMITS, until_ms=u),), LIMITS).run(saved_at=saved_at)  # type: ignore[arg-type]


# ---------------------------------------------------------------- each bound, from both sides


def _held(record: Record, until: int) -> tuple[Judgement, ...]:
    return (judge(Process.COLD_HOLDING, record, LIMITS, until_ms=until),)


def _stands(record: Record, answers: Sequence[Judgement], **beside: int) -> Standing:
    standing = standing_of(record, answers, LIMITS, **beside)  # type: ignore[arg-type]
    assert standing is not None
    return standing


def _f(degrees: float) -> float:
    return (degrees - 32) / 1.8


STEADY = line((0, 38), (30, 38))
KEPT = Record(STEADY, declared=declared(("from", 0)))
LAST = T0 + 30 * MINUTE
STATE = Standing(T0, 20 * MINUTE, T0 + 10 * MINUTE, 3.0, 5.0)


def _next(record: Record, after_ms: int, degrees: float) -> Record:
    """Return a record with one reading more."""
    last = Series.of([(int(record.probe.at_ms[-1]) + after_ms, _f(degrees))])
    return replace(record, probe=joined(record.probe, last))


@pytest.mark.parametrize(
    ("after_ms", "degrees"),
    [
        (1, 38.0),
        (MINUTE, 38.0),
        (20 * MINUTE, 38.0),
        (MINUTE, 35.001),
        (MINUTE, 40.999),
        (1, 40.999),
    ],
    ids=["at once", "as usual", "at the largest gap", "nearly a fall", "below the level", "at once and warmer"],
)
def test_reading_just_inside_is_carried_on_and_changes_nothing(after_ms: int, degrees: float) -> None:
    """On the near side of each bound the whole judged again says the same."""
    standing, more = _stands(KEPT, _held(KEPT, LAST)), _next(KEPT, after_ms, degrees)
    assert carried_on(standing, LAST + after_ms, _f(degrees)) is not None
    assert _told(_held(more, LAST + after_ms)) == _told(_held(KEPT, LAST))
    (again,) = _held(more, LAST + after_ms)
    assert not again.doubts
    assert not again.gaps
    assert again.last_ms == LAST + after_ms


@pytest.mark.parametrize(
    ("after_ms", "degrees"),
    [
        (20 * MINUTE + 1, 38.0),
        (MINUTE, 34.99),
        (MINUTE, 41.01),
        (MINUTE, 58.01),
        (MINUTE, float("nan")),
        (MINUTE, 999.0),
    ],
    ids=["beyond the largest gap", "a fast fall", "another side", "a spike", "NaN", "error code"],
)
def test_reading_at_a_bound_is_judged_again_and_changes_something(after_ms: int, degrees: float) -> None:
    """On the far side another verdict, a hole, a doubt, or a reading that is not judged."""
    standing, more = _stands(KEPT, _held(KEPT, LAST)), _next(KEPT, after_ms, degrees)
    assert carried_on(standing, LAST + after_ms, _f(degrees)) is None
    (before,), (again,) = _held(KEPT, LAST), _held(more, LAST + after_ms)
    assert (again.verdict, again.gaps, again.doubts, again.set_aside) != (
        before.verdict,
        before.gaps,
        before.doubts,
        before.set_aside,
    )


@pytest.mark.parametrize("after_ms", [0, -1, -MINUTE])
def test_reading_that_is_late_or_of_the_same_instant_is_judged_again(after_ms: int) -> None:
    """What comes in order comes after the last."""
    assert carried_on(STATE, T0 + after_ms, 4.0) is None
    assert carried_on(STATE, T0 + 1, 4.0) is not None


def test_reading_at_the_instant_that_a_time_is_up_is_judged_again() -> None:
    """One before it is not."""
    assert carried_on(STATE, T0 + 10 * MINUTE - 1, 4.0) is not None
    assert carried_on(STATE, T0 + 10 * MINUTE, 4.0) is None
    endless = replace(STATE, due_ms=None)
    assert carried_on(endless, T0 + 20 * MINUTE, 4.0) is not None
    assert carried_on(endless, T0 + 20 * MINUTE + 1, 4.0) is None


@pytest.mark.parametrize(("celsius", "carried"), [(3.0, False), (3.001, True), (4.999, True), (5.0, False)])
def test_band_is_open_at_both_ends(celsius: float, carried: bool) -> None:
    """Its ends are of what may change something."""
    assert (carried_on(STATE, T0 + 1, celsius) is not None) is carried


def test_band_follows_the_readings_and_only_gets_narrower() -> None:
    """The next fall and rise count from this reading as well."""
    wide = replace(STATE, above_c=-60.0, below_c=300.0)
    assert carried_on(wide, T0 + 7, 40.0) == Standing(T0 + 7, wide.gap_ms, wide.due_ms, 40.0 - FALL_C, 40.0 + RISE_C)
    assert carried_on(STATE, T0 + 7, 4.0) == replace(STATE, last_ms=T0 + 7)


@pytest.mark.parametrize(
    ("change_c", "carried"),
    [
        (-3 / 1.8 + 2e-4, True),
        (-3 / 1.8 + 5e-5, False),
        (20 / 1.8 - 2e-4, True),
        (20 / 1.8 - 5e-5, False),
    ],
)
def test_least_changes_are_those_of_the_sieve(change_c: float, carried: bool) -> None:
    """A fall of 3 °F in a minute and a step of 20 °F are looked at (the sieve's figures, ours); and what is as good as one."""
    first = carried_on(replace(STATE, above_c=-60.0, below_c=300.0), T0 + 7, 40.0)
    assert first is not None
    assert (carried_on(first, T0 + 14, 40.0 + change_c) is not None) is carried
    standing = _standing_at((0, 40.0))
    assert standing is not None
    assert (carried_on(standing, T0 + 14, 40.0 + change_c) is not None) is carried


def test_state_of_a_steady_record() -> None:
    """The band is cut by the level above, the fall below; no time is running."""
    c38 = _f(38)
    assert _stands(KEPT, _held(KEPT, LAST)) == Standing(
        LAST, 20 * MINUTE, None, pytest.approx(c38 - FALL_C), 5.0 - NEAR_C
    )
    own = _held(KEPT, LAST)
    assert _stands(KEPT, own, largest_gap_ms=7 * MINUTE).gap_ms == 7 * MINUTE
    assert _stands(KEPT, own, largest_gap_ms=90 * MINUTE).gap_ms == 90 * MINUTE


def _standing_at(*pairs: tuple[float, float]) -> Standing | None:
    """Return what stands after readings given as (ms after T0, °C), of which nothing is asked."""
    record = Record(Series.of([(T0 + round(at), celsius) for at, celsius in pairs]))
    return standing_of(record, (), LIMITS)


@pytest.mark.parametrize("level", [57.222222222222222, 21.11111111111111, 5.0])
def test_level_bounds_the_band_on_either_side(level: float) -> None:
    """135, 70 and 41 °F: a reading on one, or next to it, is judged; one a little way off is not, up to the level."""
    assert _standing_at((0, level)) is None
    assert _standing_at((0, level + NEAR_C / 2)) is None
    assert _standing_at((0, level - NEAR_C / 2)) is None
    above, below = _standing_at((0, level + 3 * NEAR_C)), _standing_at((0, level - 3 * NEAR_C))
    assert above is not None
    assert below is not None
    assert above.above_c == pytest.approx(level + NEAR_C, abs=1e-9)
    assert below.below_c == pytest.approx(level - NEAR_C, abs=1e-9)


def test_coldest_and_warmest_that_a_temperature_can_be_bound_the_band() -> None:
    """Beyond −60 and 300 °C nothing is a temperature of food."""
    cold, warm = _standing_at((0, -59.5)), _standing_at((0, 299.0))
    assert cold is not None
    assert warm is not None
    assert (cold.above_c, warm.below_c) == (-60.0, 300.0)
    assert _standing_at((0, -60.0)) is None
    assert _standing_at((0, 300.0)) is None


@pytest.mark.parametrize(
    ("at_s", "counts"),
    [
        ((0, 60.001), True),
        ((0, 1, 61), False),
        ((0, 30, 60), True),
        ((0, 60), True),
        ((0, 30), True),
        ((0, 30, 90), False),
    ],
)
def test_fall_counts_from_the_last_minute_and_the_reading_before_it(at_s: tuple[float, ...], counts: bool) -> None:
    """The first reading was a degree warmer: it narrows the band as long as a fall may be measured from it."""
    first, *others = at_s
    standing = _standing_at((first * 1000, 31.0), *((at * 1000, 30.0) for at in others))
    assert standing is not None
    assert standing.above_c == pytest.approx((31.0 if counts else 30.0) - FALL_C)


@pytest.mark.parametrize(("after_ms", "counts"), [(10 * MINUTE, True), (10 * MINUTE + 1, False)])
def test_rise_counts_from_the_lowest_of_ten_minutes(after_ms: int, counts: bool) -> None:
    """The ten minutes of the sieve, their beginning included."""
    standing = _standing_at((0, 29.0), (after_ms - 1000, 30.0), (after_ms, 30.0))
    assert standing is not None
    assert standing.below_c == pytest.approx((29.0 if counts else 30.0) + RISE_C)


def test_next_time_that_is_up_is_the_earliest_still_to_come() -> None:
    """Of any clause; what is past, or up at the very reading, is answered already."""
    (one,) = _held(KEPT, LAST)

    def due(*ends: tuple[int | None, int | None] | None) -> int | None:
        clauses = tuple(replace(one.clauses[0], due=end) for end in ends)
        return _stands(KEPT, (replace(one, clauses=clauses),)).due_ms

    assert due(None) is None
    assert due((LAST - 1, LAST)) is None
    assert due((LAST, LAST + 1)) == LAST + 1
    assert due((LAST + 5, LAST + 9), (None, LAST + 3), None) == LAST + 3


# ---------------------------------------------------------------- what cannot be carried on at all


def test_record_that_is_not_plain_is_not_carried_on() -> None:
    """No reading, air beside, two values at an instant, something declared since, a last reading that is not judged, a doubt."""
    (one,) = answers = _held(KEPT, LAST)
    assert standing_of(KEPT, answers, LIMITS) is not None
    assert standing_of(Record(), (), LIMITS) is None
    assert standing_of(replace(KEPT, air=line((0, 37), (1, 37))), answers, LIMITS) is None
    doubled = Series(np.append(STEADY.at_ms, LAST), np.append(STEADY.celsius, _f(38.1)))
    assert standing_of(replace(KEPT, probe=doubled), answers, LIMITS) is None
    earlier = joined(points((3, 38.1)), STEADY)
    assert len(earlier) == len(STEADY) + 1
    assert standing_of(replace(KEPT, probe=earlier), answers, LIMITS) is None
    assert standing_of(replace(KEPT, declared=declared(("moved", 30))), answers, LIMITS) is not None
    assert (
        standing_of(replace(KEPT, declared=(Declaration(LAST + 1, DeclarationKind.PLACED),)), answers, LIMITS) is None
    )
    assert standing_of(KEPT, (replace(one, last_ms=LAST - MINUTE),), LIMITS) is None
    assert standing_of(KEPT, (one, replace(one, process=Process.REHEATING)), LIMITS) is None
    fallen = Record(joined(line((0, 150), (20, 148)), line((21, 72), (30, 71))))
    (doubtful,) = (judge(Process.COLD_HOLDING, fallen, LIMITS, until_ms=LAST),)
    assert doubtful.doubts
    assert standing_of(KEPT, (replace(one, doubts=doubtful.doubts),), LIMITS) is None


@pytest.mark.parametrize(
    ("verdict", "spells", "degrees", "carried"),
    [
        ("met", False, 38, True),
        ("met", True, 38, True),
        ("missed", True, 38, True),
        ("missed", True, 43, False),
        ("none", True, 43, False),
        ("none", False, 43, True),
        ("open", False, 43, True),
        ("open", False, 38, False),
        ("unproven", False, 38, False),
        ("unproven", False, 43, False),
    ],
)
def test_holding_is_carried_on_unless_the_next_reading_counts(
    verdict: str, spells: bool, degrees: float, carried: bool
) -> None:
    """A spell that goes on grows, holding begins by itself, and what is not shown may yet be missed."""
    record = Record(line((0, degrees), (30, degrees)))
    spell = Spell((None, T0), (T0 + MINUTE, T0 + 2 * MINUTE), _f(43), 2)
    (one,) = _held(record, LAST)
    clause = replace(one.clauses[0], verdict=Verdict(verdict), spells=(spell,) if spells else ())
    assert (standing_of(record, (replace(one, clauses=(clause,)),), LIMITS) is not None) is carried


@pytest.mark.parametrize(
    ("verdict", "reached", "carried"),
    [
        ("open", None, True),
        ("met", (LAST - 1, LAST), True),
        ("missed", (LAST, None), True),
        ("unproven", (LAST - 1, LAST), True),
        ("unproven", (LAST, None), False),
        ("unproven", None, False),
    ],
)
def test_cooling_is_carried_on_unless_it_may_still_be_seen_to_be_late(
    verdict: str, reached: tuple[int, int | None] | None, carried: bool
) -> None:
    """Not shown and not reached: the next reading above the target shows that it was missed."""
    (one,) = _held(KEPT, LAST)
    clause = replace(one.clauses[0], verdict=Verdict(verdict), reached=reached)
    cooling = replace(one, process=Process.COOLING, clauses=(clause,))
    assert (standing_of(KEPT, (cooling,), LIMITS) is not None) is carried


def test_every_level_of_a_code_bounds_the_band() -> None:
    """The start and the targets of cooling, and each level of holding; of a code without cooling its holding alone."""
    limits = load_limits("us-food-code-2022")
    assert limits.cooling is not None
    assert limits.cold_holding is not None
    bare = replace(limits, cooling=None, cold_holding=None, hot_holding=None, more={})
    held = replace(bare, cold_holding=limits.cold_holding)
    cooled_only = replace(bare, cooling=limits.cooling)
    for celsius, by_cooling, by_holding in ((57.3, True, False), (21.2, True, False), (5.1, True, True)):
        record = Record(Series.of([(T0, celsius)]))
        for some, bound in ((bare, False), (held, by_holding), (cooled_only, by_cooling)):
            standing = standing_of(record, (), some)
            assert standing is not None
            assert (standing.above_c > celsius - 0.2) is bound
