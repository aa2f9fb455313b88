"""What a rule sees of a record: the usual interval, two values at one instant, hand and probe together, the choices."""

from dataclasses import replace

import pytest

from holdwatch.readings import Medium, Record, Series, Source
from holdwatch.rules.context import Context
from holdwatch.rules.judge import judge
from holdwatch.rules.seen import Prepared, prepare
from holdwatch.rules.settling import settle
from holdwatch.rules.verdicts import Process, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, declared, joined, line, points

Pairs = list[tuple[float, float]]


def seen(record: Record, *, until: float | None = None, now: float | None = None, **options: object) -> Prepared:
    """Prepare a record; instants in minutes."""
    last = max(int(s.at_ms[-1]) for s in (record.probe, record.hand) if len(s))
    until_ms = last if until is None else T0 + round(until * MINUTE)
    now_ms = until_ms if now is None else T0 + round(now * MINUTE)
    return prepare(record, until_ms=until_ms, now_ms=now_ms, **options)  # type: ignore[arg-type]


def told(series: Series) -> Pairs:
    """Return readings as (minute, °F)."""
    return [
        ((at - T0) / MINUTE, round(c * 1.8 + 32, 6))
        for at, c in zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True)
    ]


# ---------------------------------------------------------------- the usual interval


@pytest.mark.parametrize(
    ("minutes", "grace"),
    [
        ([0.0], 4),  # nobody knows: two minutes are usual at least
        ([0.0, 1.0, 2.0], 4),
        ([0.0, 5.0], 10),
        ([0.0, 5.0, 10.0, 12.0], 10),  # the median
        ([0.0, 60.0], 30),  # a quarter of an hour at most
        ([n * 3.0 for n in range(-40, 11)] + [30 + 5.0 * n for n in range(1, 11)], 8),  # of the last twenty alone
    ],
)
def test_grace_is_two_usual_intervals(minutes: list[float], grace: float) -> None:
    """The median of the last twenty intervals, taken as 2 to 15 min."""
    probe = points(*((minute, 38) for minute in minutes))
    assert seen(Record(probe)).grace_ms == grace * MINUTE
    assert seen(Record(hand=probe)).grace_ms == grace * MINUTE  # without a probe that of the hand checks
    beside = Record(probe, points((minutes[-1] + 0.5, 38), (minutes[-1] + 20.5, 38)))
    assert seen(beside).grace_ms == grace * MINUTE


def test_grace_counts_two_values_at_one_instant_as_one_reading() -> None:
    """No interval lies between them."""
    doubled = points((0, 38), (0, 39), (6, 38), (6, 39), (12, 38), (12, 39))
    assert seen(Record(doubled)).grace_ms == 12 * MINUTE


# ---------------------------------------------------------------- two values, hand and probe


def test_two_values_at_one_instant_are_both_seen() -> None:
    """The colder in one series, the warmer in the other, at the same instants; the instants are told."""
    record = Record(points((0, 38), (1, 40), (1, 39), (2, 38), (2, 41), (2, 40)))
    found = seen(record)
    (choice,) = found.choices
    assert told(choice.low) == [(0, 38), (1, 39), (2, 38)]
    assert told(choice.high) == [(0, 38), (1, 40), (2, 41)]
    assert choice.contested
    assert found.contested == (T0 + MINUTE, T0 + 2 * MINUTE)
    assert found.used == 6
    alone = seen(Record(points((0, 38), (1, 40))))
    assert not alone.choices[0].contested
    assert alone.contested == ()


def test_hand_reading_at_a_probes_instant_is_a_second_value() -> None:
    """Neither is preferred; the instant counts as a hand check."""
    record = Record(line((0, 38), (3, 38)), points((1, 40), (1.5, 37)))
    (choice,) = seen(record).choices
    assert told(choice.low) == [(0, 38), (1, 38), (1.5, 37), (2, 38), (3, 38)]
    assert told(choice.high) == [(0, 38), (1, 40), (1.5, 37), (2, 38), (3, 38)]
    assert choice.by_hand.tolist() == [False, True, True, False, False]
    assert seen(record).used == 6
    twice = Record(hand=points((0, 38), (0, 40), (5, 39)))
    (choice,) = seen(twice).choices
    assert (told(choice.low)[0], told(choice.high)[0]) == ((0, 38), (0, 40))
    assert choice.by_hand.all()


def test_all_readings_by_hand_are_not_sieved() -> None:
    """What a hand thermometer read is what somebody saw."""
    jumpy = points((0, 38), (1, 90), (2, 38))
    found = seen(Record(jumpy), source=Source.HAND)
    assert told(found.choices[0].low) == told(jumpy)
    assert found.choices[0].by_hand.all()
    assert found.set_aside == ()
    assert len(seen(Record(jumpy)).set_aside) == 1
    both = seen(Record(jumpy, points((1.5, 39))), source=Source.HAND)
    assert told(both.choices[0].low) == [(0, 38), (1, 90), (1.5, 39), (2, 38)]


def test_part_of_what_was_seen_keeps_its_ends() -> None:
    """From one instant to another, both included, with whose reading each is."""
    record = Record(joined(line((0, 38), (5, 38)), points((3, 41))), points((2, 39)))
    (choice,) = seen(record).choices
    part = choice.between(T0 + 2 * MINUTE, T0 + 4 * MINUTE)
    assert told(part.low) == [(2, 38), (3, 38), (4, 38)]
    assert told(part.high) == [(2, 39), (3, 41), (4, 38)]
    assert part.by_hand.tolist() == [True, False, False]


# ---------------------------------------------------------------- one answer out of several


@pytest.mark.parametrize(
    ("under", "said"),
    [
        (("missed", "met", "missed", "unproven"), "without the readings in doubt it is not kept, with them not shown."),
        (("missed", "unproven", "met", "missed"), "it depends on which of the readings in doubt are believed"),
        (("met", "met", "met", "missed"), "without the readings in doubt it is kept, with them not kept."),
    ],
)
def test_settled_answer_tells_what_it_is_without_and_with_the_doubtful_readings(
    under: tuple[str, ...], said: str
) -> None:
    """Two doubts leave four choices: the first believes none of them, the last all; what lies between may differ too."""
    falls = [line((0, 150), (20, 150))]
    for n in (0, 1):
        falls += [line((21 + 40 * n, 120), (40 + 40 * n, 120)), line((41 + 40 * n, 150), (60 + 40 * n, 150))]
    record = Record(joined(*falls))
    prepared = seen(record)
    clause = judge(Process.HOT_HOLDING, record, LIMITS, until_ms=int(record.probe.at_ms[-1])).clauses[0]
    answers = [(replace(clause, verdict=Verdict(word)),) for word in under]
    now_ms = T0 + 200 * MINUTE
    context = Context(now_ms=now_ms, grace_ms=0)
    for runs_until, verdict in ((now_ms, Verdict.OPEN), (now_ms - 1, Verdict.UNPROVEN), (None, Verdict.UNPROVEN)):
        (settled,) = settle(answers, prepared, lambda _, at=runs_until: at, context)
        assert settled.verdict is verdict
        assert settled.doubtful
        assert said in settled.reason


# ---------------------------------------------------------------- how far is seen


def test_readings_after_the_end_are_not_the_foods_but_tell_of_a_spike() -> None:
    """The sieve sees on to the instant of judging: what jumped at the end was no food if it was back a minute later."""
    record = Record(joined(line((0, 38), (10, 38)), points((11, 70)), line((12, 38), (20, 38))), points((15, 39)))
    found = seen(record, until=11, now=20)
    assert told(found.choices[0].low)[-1] == (10, 38)
    assert [reading.at_ms for reading in found.set_aside] == [T0 + 11 * MINUTE]
    assert (found.first_ms, found.last_ms) == (T0, T0 + 10 * MINUTE)
    assert found.used == 11
    assert len(found.pending) == 0
    blind = seen(record, until=11)
    assert told(blind.pending) == [(11, 70)]
    assert blind.decided_ms == T0 + 13 * MINUTE
    assert seen(record, until=20).decided_ms is None


def test_doubt_that_begins_after_the_end_is_none_and_one_across_it_is_cut() -> None:
    """A fall at 21: the record of the food ends before, at, or after it."""
    record = Record(joined(line((0, 150), (20, 150)), line((21, 120), (60, 119))))
    assert seen(record, until=20, now=60).doubts == ()
    assert len(seen(record, until=20, now=60).choices) == 1
    (doubt,) = seen(record, until=21, now=60).doubts
    assert (doubt.first_ms, doubt.last_ms) == (T0 + 21 * MINUTE, T0 + 21 * MINUTE)
    (doubt,) = seen(record, until=30, now=60).doubts
    assert (doubt.first_ms, doubt.last_ms) == (T0 + 21 * MINUTE, T0 + 30 * MINUTE)
    found = seen(record, until=30, now=60)
    without, believed = found.choices
    assert len(without.low) == 21
    assert len(believed.low) == 31
    assert (found.first_ms, found.last_ms) == (T0, T0 + 20 * MINUTE)  # surely the food's
    assert [reading.at_ms for reading in found.set_aside] == [T0 + n * MINUTE for n in range(21, 31)]
    assert found.set_aside[0].reason.startswith("perhaps out of the food: the probe fell 30 °F")
    assert found.used == 21


def test_air_and_simulated_product_are_never_out_of_the_food() -> None:
    """They are in none."""
    record = Record(joined(line((0, 60), (20, 60)), line((21, 40), (40, 40))), medium=Medium.AIR)
    assert seen(record).doubts == ()
    assert len(seen(Record(record.probe)).doubts) == 1
    assert seen(Record(record.probe), out_of_food=False).doubts == ()


@pytest.mark.parametrize(("falls", "choices"), [(0, 1), (1, 2), (2, 4), (3, 8), (4, 10), (12, 26), (13, 2)])
def test_choices_are_every_one_up_to_three_doubts_and_some_beyond(falls: int, choices: int) -> None:
    """Ours: all of 2, 4, 8; then none, all, each alone and all but each; beyond twelve none and all."""
    parts = [line((0, 150), (20, 150))]
    for n in range(falls):
        parts += [line((21 + 40 * n, 120), (40 + 40 * n, 120)), line((41 + 40 * n, 150), (60 + 40 * n, 150))]
    found = seen(Record(joined(*parts)))
    assert len(found.doubts) == falls
    assert len(found.choices) == choices
    assert len({len(choice.low) for choice in found.choices}) == min(
        choices, falls + 1 if falls < 4 else (4 if falls < 13 else 2)
    )
    lengths = [len(choice.low) for choice in found.choices]
    assert lengths[0] == min(lengths)
    assert lengths[-1] == max(lengths)
    assert max(lengths) - min(lengths) == 20 * falls


def test_declared_steps_explain_a_rise() -> None:
    """Left the heat, prepared, removed, returned: each may warm the food; the beginning of a period does not."""
    probe = joined(line((0, 40), (20, 40), (28, 80)), line((29, 80), (60, 80)))
    for kind in ("left-heat", "prepared", "removed", "returned"):
        assert seen(Record(probe, declared=declared((kind, 20)))).doubts == ()
    assert len(seen(Record(probe, declared=declared(("from", 20)))).doubts) == 1
    moved_late = Record(probe, declared=declared(("left-heat", 5), ("left-heat", 40)))
    assert seen(moved_late).doubts == ()  # the last time it left the heat counts
    assert len(seen(Record(probe, declared=declared(("left-heat", 5)))).doubts) == 1


# ---------------------------------------------------------------- two ways, and what each loses to the sieve


def test_value_that_one_way_loses_to_the_sieve_is_stood_in_for_by_the_other() -> None:
    """At 5 a warm spike beside the food's 38 °F, at 8 a cold one, at 10 two values that both may be the food's."""
    record = Record(joined(line((0, 38), (20, 38)), points((5, 90), (8, 0), (10, 40))))
    found = seen(record)
    (choice,) = found.choices
    flat = [(float(n), 38.0) for n in range(21)]
    assert told(choice.low) == flat
    assert told(choice.high) == [*flat[:10], (10, 40), *flat[11:]]
    assert choice.by_hand.tolist() == [False] * 21
    assert [(r.at_ms - T0) / MINUTE for r in found.set_aside] == [5, 8]
    assert found.used == 22


def test_spike_in_one_way_alone_is_set_aside_alone() -> None:
    """The warmer value at 5 is a spike; the colder is judged, and not set aside with it."""
    for extra in (90, 0):
        found = seen(Record(joined(line((0, 38), (20, 38)), points((5, extra)))))
        ((at_ms, reason),) = [(reading.at_ms, reading.reason) for reading in found.set_aside]
        assert at_ms == T0 + 5 * MINUTE
        assert "a spike" in reason
        assert told(found.choices[0].low) == told(found.choices[0].high)


DIP = joined(line((0, 150), (20, 150)), line((21, 120), (40, 120)), line((41, 150), (60, 150)))


@pytest.mark.parametrize("beside", [150.0, 120.0])
def test_doubt_of_one_way_alone_leaves_both_choices(beside: float) -> None:
    """A second value a minute from 21 to 40: the colder ones fell, the warmer ones did not; or the other way about."""
    second = line((21, beside), (40, beside))
    first = DIP if beside == 150 else line((0, 150), (60, 150))
    found = seen(Record(joined(first, second)))
    assert len(found.doubts) == 1
    assert (found.doubts[0].first_ms, found.doubts[0].last_ms) == (T0 + 21 * MINUTE, T0 + 40 * MINUTE)
    without, believed = found.choices
    assert told(without.low) == told(without.high) == [(float(n), 150.0) for n in range(61)]
    assert told(believed.low)[30] == (30, 120)
    assert told(believed.high)[30] == (30, 150)
    assert [(r.at_ms - T0) / MINUTE for r in found.set_aside] == [float(n) for n in range(21, 41)]


def test_rise_of_the_warmer_way_alone_is_a_doubt() -> None:
    """The second values from 21 to 40 rose by 60 °F; the first ones did not."""
    found = seen(Record(joined(line((0, 40), (60, 40)), line((21, 100), (40, 100)))))
    assert len(found.doubts) == 1
    assert len(found.choices) == 2


def test_readings_a_millisecond_apart_are_two() -> None:
    """One at an instant, and one a millisecond later."""
    record = Record(Series.of([*((T0 + n * MINUTE, 3.0) for n in range(5)), (T0 + 1, 3.5), (T0, 4.0)]))
    (choice,) = seen(record).choices
    assert len(choice.low) == len(choice.high) == 6
    assert choice.high.celsius[:2].tolist() == [4.0, 3.5]
    assert choice.low.celsius[:2].tolist() == [3.0, 3.5]


def test_doubtful_readings_are_set_aside_each_with_its_own_reason() -> None:
    """A fall of 30 °F, and later one of 20 °F."""
    probe = joined(DIP, line((61, 130), (80, 130)), line((81, 150), (90, 150)))
    reasons = {(r.at_ms - T0) // MINUTE: r.reason for r in seen(Record(probe)).set_aside}
    assert "fell 30 °F" in reasons[21]
    assert "fell 30 °F" in reasons[40]
    assert "fell 20 °F" in reasons[61]


def test_hand_reading_between_the_probes_is_no_second_value() -> None:
    """Only where they share an instant."""
    beside = seen(Record(line((0, 38), (3, 38)), points((1.5, 37)))).choices[0]
    assert not beside.contested
    assert beside.by_hand.tolist() == [False, False, True, False, False]
    part = beside.between(T0 + 2 * MINUTE, T0 + 3 * MINUTE)
    assert part.by_hand.tolist() == [False, False]
    assert beside.between(T0 + round(1.5 * MINUTE), T0 + 2 * MINUTE).by_hand.tolist() == [True, False]


def test_what_was_cut_off_takes_no_second_values_with_it() -> None:
    """Two values at 5, the food's record ends at 10, and the instant of judging is 20."""
    doubled = seen(Record(joined(line((0, 38), (20, 38)), points((5, 40)))), until=10, now=20).choices[0]
    assert told(doubled.high)[5] == (5, 40)
    assert told(doubled.low)[5] == (5, 38)
    assert not seen(Record(line((0, 38), (20, 38))), until=10, now=20).choices[0].contested


def test_readings_of_two_ways_are_decided_when_the_first_of_them_is() -> None:
    """The colder values from 11 on and the warmer at 12 may be a spike each: two minutes after 11 the first is decided."""
    record = Record(joined(line((0, 38), (12, 38)), points((11, 10), (12, 10), (12, 70))))
    assert seen(record, until=12.5).decided_ms == T0 + 13 * MINUTE


def test_stretch_out_of_the_food_is_cut_where_the_food_ends() -> None:
    """A hand reading of 150 °F at 30 settles the fall at 21 as out of the food; the food's record ends before, at, after."""
    record = Record(joined(line((0, 150), (20, 150)), line((21, 120), (60, 119))), points((18, 150)))
    settled = replace(record, hand=points((30, 150)))
    (whole,) = seen(settled, until=60).doubts
    assert whole.out
    assert seen(settled, until=30, now=60).doubts[0].last_ms == T0 + 30 * MINUTE
