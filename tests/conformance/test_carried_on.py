"""A judgement carried on from a saved state and one made of the whole record from its beginning are the same.

Whatever the record: it is cut anywhere, the state is written down as JSON and taken up by what follows.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.limits import Limits, known_limits, load_limits
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.standing import CARRIED, carried_on, standing_from, standing_of
from holdwatch.rules.verdicts import Judgement, Process, Step
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
            now = _told(answers, until)
            if standing is not None and not self._noted(standing.last_ms, until):
                standing = carried_on(standing, until, float(celsius[n]))
            else:
                standing = None
            if standing is None:
                self.again += 1
                standing = standing_of(whole, answers, self.limits, until_ms=until)
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


def _told(answers: Sequence[Judgement], last_ms: int) -> list[object]:
    """Return what must not change: verdicts, spells and brackets; an end that is the last reading moves with it."""
    return [
        (
            clause.clause,
            clause.verdict,
            clause.doubtful,
            clause.started,
            clause.due,
            _reached(clause.reached, last_ms),
            clause.spells,
        )
        for answer in answers
        for clause in answer.clauses
    ]


def _reached(bracket: tuple[int | None, int | None] | None, last_ms: int) -> object:
    return "running" if bracket == (last_ms, None) else bracket


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
    """Otherwise nothing would be gained: of a good pan and a good fridge five in six and more."""
    for live in (
        Live(Record(CREAM), _vessel, LIMITS),
        Live(
            Record(FRIDGE, declared=declared(("from", 0))),
            lambda r, u: (judge(Process.COLD_HOLDING, r, LIMITS, until_ms=u),),
            LIMITS,
        ),
    ):
        live.run()
        assert live.carried > 5 * live.again, (live.carried, live.again)


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


@settings(max_examples=60, deadline=None)
@given(_records(), st.integers(0, 80))
def test_record_cut_anywhere_is_taken_up_from_its_saved_state(record: Record, saved_at: int) -> None:
    """Live and audit agree at every reading, on whichever side of the cut."""
    Live(record, _vessel, LIMITS).run(saved_at=saved_at)


@settings(max_examples=40, deadline=None)
@given(_records(), st.integers(0, 80), st.sampled_from(sorted(CARRIED)))
def test_holding_cut_anywhere_is_taken_up_from_its_saved_state(record: Record, saved_at: int, process: object) -> None:
    """The same of every process alone, from a declared beginning."""
    begun = Record(
        record.probe, record.hand, declared=(*record.declared, Declaration(T0, DeclarationKind.FROM)), air=record.air
    )
    Live(begun, lambda r, u: (judge(process, r, LIMITS, until_ms=u),), LIMITS).run(saved_at=saved_at)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("at_min", "degrees"),
    [(421, float("nan")), (421, 999.0), (420, 38.0), (419, 38.0), (442, 38.0), (421, 41.5), (421, 70.0), (2e6, 38.0)],
    ids=["NaN", "error code", "same instant", "earlier", "after a gap", "another side", "jump", "far future"],
)
def test_reading_that_may_change_something_is_not_carried_on(at_min: float, degrees: float) -> None:
    """Whatever is late, doubled, far, wild or on another side of a level has the record judged again."""
    record = Record(cooled(0, 420))
    until = int(record.probe.at_ms[-1])
    standing = standing_of(record, _vessel(record, until), LIMITS, until_ms=until)
    assert standing is not None
    assert carried_on(standing, T0 + round(at_min * MINUTE), (degrees - 32) / 1.8) is None
