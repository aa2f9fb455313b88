"""Which readings are the food's: each reason for setting one aside, on both sides of its figure."""

import numpy as np
import pytest

from holdwatch.readings import Medium, Series
from holdwatch.rules.verdicts import Process, Verdict
from holdwatch.sieve import Doubt, Sifted, Surroundings, sift
from tests.rules.series_words import MINUTE, T0, ask, cold, cooling, hot, joined, line, points, reasons, series

MET, MISSED, UNPROVEN, OPEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN


def _sift(probe: Series, around: Surroundings | None = None, until: float | None = None) -> Sifted:
    until_ms = int(probe.at_ms[-1]) if until is None else T0 + round(until * MINUTE)
    return sift(probe, around or Surroundings(), until_ms)


def _at(*minutes: float) -> list[int]:
    return [T0 + round(m * MINUTE) for m in minutes]


def _span(doubt: Doubt) -> tuple[float, float]:
    return (doubt.first_ms - T0) / MINUTE, (doubt.last_ms - T0) / MINUTE


# ---------------------------------------------------------------- not a temperature


@pytest.mark.parametrize(
    ("celsius", "kept"),
    [(-60.0, True), (-60.1, False), (300.0, True), (300.1, False), (-127.0, False), (float("nan"), False)],
)
def test_sieve_sets_aside_what_is_not_a_temperature(celsius: float, *, kept: bool) -> None:
    """Outside −60 to 300 °C, and not a number, is no temperature of food; the ends are."""
    probe = Series(np.array(_at(0, 5, 10)), np.array([4.0, 4.0, celsius]))
    sifted = _sift(probe, until=20)
    assert (len(sifted.series) == 3) is kept
    assert len(sifted.aside) == (0 if kept else 1)


def test_sieve_one_power_on_value_changes_nothing_in_cold_food() -> None:
    """+85 °C once among cold readings is a chip that has just started."""
    record = joined(line((0, 38), (60, 38)), Series.of([(T0 + 30 * MINUTE + 500, 85.0)]))
    answer = ask(Process.COLD_HOLDING, record)
    assert answer.verdict is MET
    assert "power-on value" in answer.set_aside[0].reason


@pytest.mark.parametrize("where", [0, 2])
def test_sieve_power_on_value_at_an_end_is_set_aside(where: int) -> None:
    """The first or last reading of +85 °C has one neighbour, and stands alone beside it."""
    celsius = [4.0, 4.0, 4.0]
    celsius[where] = 85.0
    sifted = _sift(Series.of(zip(_at(0, 10, 20), celsius, strict=True)), until=30)
    assert [reading.celsius for reading in sifted.aside] == [85.0]


@pytest.mark.parametrize("beside", [(86.0, 84.0), (85.0, 85.0), (100.0, 72.0)])
def test_sieve_keeps_85_degrees_of_food_on_its_way(beside: tuple[float, float]) -> None:
    """Food that cools through 85 °C is not a power-on value."""
    sifted = _sift(Series.of(zip(_at(0, 10, 20), (beside[0], 85.0, beside[1]), strict=True)), until=30)
    assert not sifted.aside


# ---------------------------------------------------------------- settling and placing


def test_sieve_settling_in_hot_food_sets_aside_what_came_before_the_warmest() -> None:
    """A probe put into a hot pan counts from the warmest reading of its first three minutes."""
    probe = points((0, 72), (0.5, 120), (1, 150), (1.5, 160), (2, 159.8), (3, 159), (4, 158))
    sifted = _sift(probe, Surroundings(placed=_at(0)))
    assert reasons(sifted.aside) == {"settling: the probe had just been placed"}
    assert [reading.at_ms for reading in sifted.aside] == _at(0, 0.5, 1)
    assert not sifted.doubts


def test_sieve_settling_in_cold_food_sets_aside_what_came_before_the_coldest() -> None:
    """A probe put into cold food is warm from the kitchen at first."""
    probe = joined(points((0, 72), (1, 50), (2, 40), (3, 38)), line((4, 38), (30, 38)))
    assert cold(probe, notes=[("placed", 0)]) is MET
    assert cold(probe) is not MET


def test_sieve_settling_is_not_judged_until_three_minutes_are_over() -> None:
    """While the probe may still be settling nothing is judged; the instant of decision is told."""
    sifted = _sift(points((0, 72), (1, 60)), Surroundings(placed=_at(0)))
    assert not len(sifted.series)
    assert sifted.decided_ms == T0 + 3 * MINUTE
    assert cold(points((0, 72), (1, 60)), notes=[("placed", 0)]) is OPEN


def test_sieve_quick_chill_right_after_placing_keeps_the_hot_reading() -> None:
    """Hot food that cools from the first reading on loses none to settling."""
    sifted = _sift(points((0, 150), (1, 146), (2, 142), (3, 138), (4, 134)), Surroundings(placed=_at(0)))
    assert not sifted.aside


def test_sieve_readings_before_the_placement_are_not_the_batchs() -> None:
    """What a probe read before it was placed belongs to something else."""
    answer = ask(
        Process.COLD_HOLDING, joined(line((-60, 70), (-1, 70)), line((0, 38), (60, 38))), notes=[("placed", 0)]
    )
    assert answer.verdict is MET
    assert answer.used == 61
    assert len(answer.set_aside) == 60


# ---------------------------------------------------------------- spikes


def test_sieve_ice_dip_of_a_minute_is_a_spike() -> None:
    """Away by more than 20 °F and back within 5 °F inside two minutes is a spike, down or up."""
    for degrees in (32, 185):
        probe = joined(line((0, 110), (10, 108), every=0.5), points((10.5, degrees), (11, degrees), (11.5, 107.5)))
        sifted = _sift(probe)
        assert [reading.at_ms for reading in sifted.aside] == _at(10.5, 11)
        assert not sifted.doubts


@pytest.mark.parametrize(
    ("jump", "back_f", "back_min", "spike"),
    [
        (20.1, 100, 2, True),
        (20.0, 100, 2, False),
        (30, 95, 2, True),
        (30, 94.9, 2, False),
        (30, 100, 2.01, False),
    ],
)
def test_sieve_spike_figures(jump: float, back_f: float, back_min: float, *, spike: bool) -> None:
    """More than 20 °F away, back within 5 °F, not later than two minutes after."""
    probe = points((0, 100), (1, 100 + jump), (1 + back_min, back_f), (10, back_f))
    assert bool(_sift(probe, until=20).aside) is spike


def test_sieve_last_reading_that_jumps_waits_for_the_next() -> None:
    """A jump is not judged until the next readings, or two minutes, show that it was no spike: till then it is open."""
    probe = points((0, 38), (10, 38), (11, 70))
    assert _sift(probe).decided_ms == T0 + 13 * MINUTE
    assert cold(probe) is OPEN
    assert cold(probe, until=12.99) is OPEN
    assert cold(probe, until=13) is not MET
    assert cold(joined(probe, points((12, 38)))) is MET


@pytest.mark.parametrize(("last", "verdict"), [(62, OPEN), (12, MET)])
def test_cold_holding_reading_that_is_not_judged_yet_only_waits_where_it_could_break_the_limit(
    last: float, verdict: Verdict
) -> None:
    """A record that ends with a jump beyond the level is not kept yet; a jump to the allowed side changes nothing."""
    assert cold(joined(line((0, 38), (60, 38), every=5), points((65, last)))) is verdict


def test_cold_holding_probe_placed_anew_is_not_kept_by_what_it_read_before() -> None:
    """Readings that may be the probe settling leave the answer open for three minutes, then they count."""
    warm = joined(line((0, 38), (30, 38)), points((31, 50), (32, 50)))
    assert cold(warm, notes=[("placed", 0), ("placed", 30.5)]) is OPEN
    assert cold(joined(warm, line((33, 50), (40, 50))), notes=[("placed", 0), ("placed", 30.5)]) is MISSED


def test_cooling_reading_that_is_not_judged_yet_keeps_the_answer_open() -> None:
    """A reading after a long hole, far from the one before, may miss the limit: open until it is judged."""
    probe = points((0, 140), (10, 130), (20, 125), (400, 90))
    assert cooling(probe)[0] is OPEN
    assert cooling(probe, until=402)[0] is MISSED


def test_sieve_jump_that_lasts_is_no_spike() -> None:
    """Readings that stay where they jumped are judged."""
    sifted = _sift(joined(points((0, 38), (10, 38)), line((11, 70), (20, 70))))
    assert not sifted.aside


# ---------------------------------------------------------------- perhaps out of the food


OUT_AND_BACK = joined(line((0, 150), (30, 120)), points((31, 95), (32, 78), (33, 74)), line((34, 73), (45, 73)))


def test_sieve_probe_pulled_out_into_the_air_is_in_doubt() -> None:
    """A fall of 10 °F a minute or more is not the food's; it lasts while nothing shows otherwise."""
    doubts = _sift(OUT_AND_BACK).doubts
    assert [_span(doubt) for doubt in doubts] == [(31, 45)]
    assert not doubts[0].over


def test_cooling_with_the_probe_out_asks_at_once_and_is_never_kept_by_air() -> None:
    """Air at 69 °F does not keep a limit for food: open while the time runs, not shown after, and asked about."""
    out = joined(line((0, 150), (30, 120)), points((31, 95), (32, 78), (33, 69)), line((34, 69), (300, 69)))
    early = ask(Process.COOLING, out, until=40)
    assert early.clauses[0].verdict is OPEN
    assert early.clauses[0].doubtful
    assert "Is the probe still in the food?" in early.asks[0]
    late = ask(Process.COOLING, out)
    assert late.clauses[0].verdict is UNPROVEN
    assert late.clauses[0].doubtful


def test_cooling_with_the_probe_back_in_the_food_is_judged_on_the_food() -> None:
    """Back within 5 °F of the reading before, the doubt is over, and it decides nothing that both ways agree on."""
    back = joined(
        line((0, 150), (30, 120)), points((31, 95), (32, 75), (33, 75), (34, 117)), line((35, 116), (100, 69))
    )
    answer = ask(Process.COOLING, back)
    assert answer.clauses[0].verdict is MET
    assert not answer.clauses[0].doubtful
    assert {reading.at_ms for reading in answer.set_aside} == set(_at(31, 32, 33))


@pytest.mark.parametrize(
    ("fall", "mean", "doubted"),
    [
        (10, 1.99, True),
        (9.9, 1.99, False),
        (5, 1.0, True),
        (4.9, 1.0, False),
        (3, 0.5, True),
        (2.9, 0.5, False),
        (3, 0.0, True),
    ],
)
def test_sieve_fall_figures(fall: float, mean: float, *, doubted: bool) -> None:
    """10 °F a minute; or 3 °F a minute that is five times the mean of the ten minutes before."""
    before = line((0, 160), (10, 160 - 10 * mean))
    probe = joined(before, points((11, 160 - 10 * mean - fall)))
    assert bool(_sift(probe).doubts) is doubted


def test_sieve_slow_fall_rule_needs_ten_minutes_of_earlier_readings() -> None:
    """Without ten minutes before, only 10 °F a minute counts."""
    assert not _sift(joined(line((0, 150), (9, 150)), points((10, 146)))).doubts
    assert _sift(joined(line((0, 150), (10, 150)), points((11, 146)))).doubts


def test_sieve_mean_of_ten_minutes_begins_with_the_reading_ten_minutes_before() -> None:
    """It fell by 9 °F in those ten minutes, all of it in the first: 4 °F in a minute are less than five times 0.9."""
    flat = line((1, 150), (10, 150))
    assert not _sift(joined(points((0, 159)), flat, points((11, 146), (12, 146)))).doubts
    assert _sift(joined(points((0, 157)), flat, points((11, 146), (12, 146)))).doubts


def test_sieve_rate_between_distant_neighbours_is_taken_between_them() -> None:
    """Ten minutes apart, 90 °F is 9 °F a minute and 100 °F is ten."""
    assert not _sift(points((0, 160), (10, 70)), until=20).doubts
    assert _sift(points((0, 170), (10, 70)), until=20).doubts


def test_sieve_rate_of_a_fast_probe_is_taken_over_a_minute() -> None:
    """A probe that speaks every ten seconds falls 10 °F in a minute, not 1.7 °F in ten seconds."""
    steady = line((0, 150), (12, 149), every=1 / 6)
    fall = line((12 + 1 / 6, 147), (13, 138.5), every=1 / 6)
    doubts = _sift(joined(steady, fall)).doubts
    assert len(doubts) == 1
    assert _span(doubts[0])[0] == pytest.approx(12 + 1 / 6)


@pytest.mark.parametrize("every_s", [5, 7, 11, 13, 17, 20, 25, 29, 31, 40, 45, 50, 55, 59, 60])
def test_sieve_rate_does_not_depend_on_the_interval(every_s: int) -> None:
    """A sudden fall of 12 °F is doubted whatever the interval of the probe: a minute need not be a multiple of it."""
    every = every_s / 60
    before = line((0, 150), (30 * every, 149), every=every)
    fall = line((31 * every, 137), (80 * every, 136), every=every)
    doubts = _sift(joined(before, fall)).doubts
    assert len(doubts) == 1
    assert _span(doubts[0])[0] == pytest.approx(31 * every, abs=1e-3)


@pytest.mark.parametrize(("rise", "minutes", "doubted"), [(30.1, 10, True), (30, 10, False), (31, 10.1, False)])
def test_sieve_rise_figures(rise: float, minutes: float, *, doubted: bool) -> None:
    """More than 30 °F within ten minutes, with no step declared."""
    probe = joined(line((0, 40), (20, 40)), points((20 + minutes / 2, 40 + rise / 2), (20 + minutes, 40 + rise)))
    assert bool(_sift(probe, until=60).doubts) is doubted


def test_sieve_sudden_rise_whose_return_was_not_watched_for_ten_minutes_is_over() -> None:
    """The reading before the return stands for the ten minutes in which there is none: it was up there, and came back."""
    sifted = _sift(points((0, 38), (1, 180), (12, 38), (14, 38)))
    assert [(doubt.first_ms, doubt.over) for doubt in sifted.doubts] == [(T0 + MINUTE, True)]
    assert sifted.doubt.tolist() == [0, 1, 0, 0]


def test_sieve_declared_step_explains_a_rise() -> None:
    """A rise at a declared step, or before the food left the heat, is no doubt."""
    probe = joined(line((0, 40), (20, 40)), line((21, 50), (30, 100)))
    assert _sift(probe).doubts
    assert not _sift(probe, Surroundings(steps=_at(21))).doubts
    assert not _sift(probe, Surroundings(left_heat_ms=T0 + 40 * MINUTE)).doubts


@pytest.mark.parametrize(("moved", "doubted"), [(31, False), (26, False), (25.5, True), (36, False), (60, True)])
def test_sieve_move_suspends_suspicion_for_five_minutes(moved: float, *, doubted: bool) -> None:
    """An ice bath, a blast chiller or a stir, declared within five minutes, explains a fast fall."""
    probe = joined(line((0, 150), (30, 120)), points((31, 109)), line((32, 106), (59, 79)))
    assert bool(_sift(probe, Surroundings(moved=_at(moved))).doubts) is doubted


def test_sieve_doubt_ends_when_the_probe_is_placed_again() -> None:
    """From the placement on the readings are the food's again."""
    probe = joined(OUT_AND_BACK, points((46, 90), (47, 105), (48, 106), (49, 105.8)), line((50, 105), (90, 69)))
    sifted = _sift(probe, Surroundings(placed=_at(-1, 46)))
    assert [_span(doubt) for doubt in sifted.doubts] == [(31, 45)]
    assert sifted.doubts[0].over
    assert ask(Process.COOLING, probe, notes=[("placed", -1), ("placed", 46)]).clauses[0].verdict is MET


def test_sieve_agreeing_hand_reading_ends_a_doubt() -> None:
    """A hand thermometer that agrees with the probe shows that it is in the food again."""
    probe = joined(OUT_AND_BACK, points((46, 100), (47, 106)), line((48, 105), (90, 69)))
    hand = points((50, 106))
    sifted = _sift(probe, Surroundings(hand=hand))
    assert [_span(doubt) for doubt in sifted.doubts] == [(31, 49)]
    assert ask(Process.COOLING, probe, hand=hand).clauses[0].verdict is MET
    assert ask(Process.COOLING, probe).clauses[0].verdict is OPEN
    assert ask(Process.COOLING, probe, until=200).clauses[0].verdict is UNPROVEN


@pytest.mark.parametrize(("difference", "doubted"), [(4.0, False), (4.1, True), (-4.0, False), (-4.1, True)])
def test_sieve_hand_reading_that_differs_puts_the_probe_in_doubt(difference: float, *, doubted: bool) -> None:
    """More than 4 °F between the two thermometers within five minutes: the probe is doubtful back to the last agreement."""
    probe = line((0, 39), (120, 39))
    sifted = _sift(probe, Surroundings(hand=points((30, 39), (100, 39 + difference))))
    assert [_span(doubt) for doubt in sifted.doubts] == ([(31, 120)] if doubted else [])


def test_sieve_hand_reading_with_no_probe_reading_near_says_nothing_of_the_probe() -> None:
    """More than five minutes from the probe's readings the two are not compared."""
    probe = joined(line((0, 39), (30, 39)), line((45, 39), (60, 39)))
    assert not _sift(probe, Surroundings(hand=points((37.5, 60)))).doubts


def test_cold_holding_hand_reading_that_differs_leaves_it_not_shown() -> None:
    """A probe at 39 °F beside a hand reading of 41 °F is fine; beside one of 34 °F it proves nothing."""
    probe = line((0, 39), (60, 39))
    assert cold(probe, hand=points((30, 41))) is MET
    assert cold(probe, hand=points((30, 34))) is UNPROVEN
    assert cold(probe, hand=points((30, 45))) is MISSED


def test_sieve_food_probe_that_follows_the_air_is_in_doubt() -> None:
    """A probe that swings with the compressor lies in the air; one that does not, does not."""
    minutes = np.arange(0, 120)
    air = points(*((float(m), 38 + 4 * float(np.sin(m / 4))) for m in minutes))
    beside = points(*((m + 0.1, 38.5 + 3.8 * float(np.sin(m / 4))) for m in minutes))
    steady = points(*((m + 0.1, 38.5 + 0.8 * float(np.sin(m / 4))) for m in minutes))
    assert _sift(beside, Surroundings(air=air)).doubts
    assert not _sift(steady, Surroundings(air=air)).doubts
    assert not _sift(beside).doubts
    assert cold(steady, air=air) is MET
    assert cold(beside, air=air) is not MET


# ---------------------------------------------------------------- holding with the probe out


def test_cold_holding_probe_on_the_counter_is_open_then_not_shown() -> None:
    """A probe warm on the counter is asked about: open within the largest gap, not shown after."""
    out = joined(line((0, 38), (30, 38)), points((31, 60), (32, 70)), line((33, 71), (90, 72)))
    for until, verdict in ((40, OPEN), (51, OPEN), (52, UNPROVEN), (90, UNPROVEN)):
        answer = ask(Process.COLD_HOLDING, out, until=until)
        assert answer.verdict is verdict
        assert answer.asks


def test_cold_holding_slow_warming_is_missed_without_doubt() -> None:
    """A door left open warms the food slowly: that is no doubt but a miss."""
    answer = ask(Process.COLD_HOLDING, line((0, 38), (60, 50)))
    assert answer.verdict is MISSED
    assert not answer.asks


def test_hot_holding_probe_out_is_not_missed() -> None:
    """A probe pulled out of hot food proves nothing against it."""
    out = joined(line((0, 150), (30, 150)), points((31, 110), (32, 90)), line((33, 80), (90, 75)))
    assert hot(out) is UNPROVEN


def test_cooling_verdict_does_not_depend_on_words() -> None:
    """The series notation of these tests reads as minutes."""
    record = series("150x5 149 _x3 145x2")
    assert len(record) == 8
    assert cooling(record) == (OPEN, OPEN)


# ---------------------------------------------------------------- where the two answers differ


def test_cold_holding_short_time_out_is_not_shown_either_way() -> None:
    """Ten minutes on the counter: with those readings missed, without them kept; so it is not shown, and told so."""
    out = joined(
        line((0, 38), (30, 38)), points((31, 60), (32, 72)), line((33, 73), (40, 73)), line((41, 39), (90, 38))
    )
    answer = ask(Process.COLD_HOLDING, out)
    clause = answer.clauses[0]
    assert clause.verdict is UNPROVEN
    assert clause.doubtful
    assert "without the readings in doubt it is kept, with them not kept" in clause.reason
    assert "Was the probe in the food from 2026-02-25 06:51:00 UTC to 2026-02-25 07:00:00 UTC?" in answer.asks[0]


def test_cooling_miss_that_only_sure_readings_show_is_not_shown_while_others_say_otherwise() -> None:
    """Food that misses on its sure readings, and reached the target on doubtful ones, is asked about, not decided."""
    out = joined(
        line((0, 140), (60, 120)), points((61, 80), (62, 69)), line((63, 69), (65, 69)), line((66, 117), (200, 90))
    )
    clause = ask(Process.COOLING, out).clauses[0]
    assert clause.verdict is UNPROVEN
    assert "without the readings in doubt it is not kept, with them kept" in clause.reason


def test_cooling_two_doubts_are_weighed_together_and_apart() -> None:
    """One doubtful stretch may fake the start, another the end: every choice of them must agree."""
    fake_end = joined(
        line((0, 136), (30, 134.6)), points((31, 90), (32, 69)), line((33, 68), (35, 68)), line((36, 132), (110, 76))
    )
    record = joined(fake_end, points((111, 60), (112, 45)), line((113, 40), (118, 40)), line((119, 73), (125, 69.5)))
    answer = ask(Process.COOLING, record)
    assert len({reason for reason in reasons(answer.set_aside) if "perhaps" in reason}) == 2
    assert len(answer.asks) == 2 or not answer.clauses[0].doubtful


# ---------------------------------------------------------------- the hand reading that answers


FALLEN = joined(line((0, 150), (30, 120)), points((31, 75), (32, 50)), line((33, 42), (200, 38)))


def test_cooling_hand_reading_that_differs_settles_that_the_probe_was_out() -> None:
    """The probe lies in the walk-in's air; the food is taken by hand: it is judged on the hand, either way."""
    warm = points((45, 104), (110, 78), (140, 75))
    answer = ask(Process.COOLING, FALLEN, hand=warm, until=140)
    assert answer.clauses[0].verdict is MISSED  # by hand 75 °F at 2:20, and it left 135 °F at 0:15
    in_time = points((45, 104), (110, 69), (200, 50))
    answer = ask(Process.COOLING, FALLEN, hand=in_time, until=200)
    assert answer.clauses[0].verdict is MET
    assert answer.clauses[0].reached == (T0 + 45 * MINUTE, T0 + 110 * MINUTE)
    assert {reading.at_ms for reading in answer.set_aside} == set(_at(*range(31, 201)))
    assert next(iter(reasons(answer.set_aside))).startswith("out of the food: the probe fell")


def test_cooling_probe_that_was_found_out_is_asked_for_until_it_is_back() -> None:
    """While it lies in the air the Bench goes on asking; once it is placed it does not."""
    hand = points((45, 104))
    answer = ask(Process.COOLING, FALLEN, hand=hand, until=60)
    assert answer.clauses[0].verdict is OPEN
    assert answer.clauses[0].doubtful
    assert answer.asks[0].startswith("Is the probe back in the food?")
    back = joined(
        FALLEN.between(T0, T0 + 49 * MINUTE), points((50, 60), (51, 95), (52, 100)), line((53, 99), (100, 69))
    )
    answer = ask(Process.COOLING, back, hand=hand, notes=[("placed", -1), ("placed", 50)])
    assert answer.clauses[0].verdict is MET
    assert not answer.asks
    assert answer.doubts[0].over


def test_cooling_hand_reading_before_the_fall_settles_nothing() -> None:
    """One that agreed while the probe was still in the food says nothing of the fall after it."""
    answer = ask(Process.COOLING, FALLEN, hand=points((20, 130)), until=100)
    assert answer.clauses[0].verdict is OPEN
    assert answer.clauses[0].doubtful
    assert answer.asks[0].startswith("Is the probe still in the food?")


@pytest.mark.parametrize(("at", "settled"), [(32, True), (46, True), (46.1, False), (60, False)])
def test_sieve_hand_reading_that_agrees_soon_settles_that_the_probe_was_in(at: float, *, settled: bool) -> None:
    """An ice bath that nobody declared: within 15 min of the fall no food comes down to the air by itself; later it may."""
    probe = joined(line((0, 150), (30, 140)), points((31, 110)), line((32, 90), (40, 60)), line((41, 60), (120, 40)))
    degrees = float(np.interp(at, (probe.at_ms - T0) / MINUTE, probe.celsius * 1.8 + 32))
    sifted = _sift(probe, Surroundings(hand=points((at, degrees))))
    assert (not sifted.doubts) is settled
    if not settled:
        assert _span(sifted.doubts[0])[0] == 31


@pytest.mark.parametrize("degrees", [39.0, 60.0])
def test_cold_holding_rise_is_settled_by_hand_both_ways(degrees: float) -> None:
    """The probe reads 75 °F: food that is 39 °F by hand was kept, and food that is warm by hand was not."""
    probe = joined(line((0, 38), (60, 38)), points((61, 75)), line((62, 75), (75, 75)), line((76, 39), (120, 38)))
    assert cold(probe) is UNPROVEN
    if degrees > 41:
        assert cold(probe, hand=points((65, 74))) is MISSED
    else:
        assert cold(probe, hand=points((65, degrees))) is MET


def test_sieve_differing_hand_reading_explained_by_a_fall_leaves_the_readings_before_it() -> None:
    """The fall is why the two differ: what the probe read before it stands, as it did before anybody measured."""
    sifted = _sift(FALLEN, Surroundings(hand=points((45, 104))))
    assert not sifted.doubts
    assert len(sifted.series) == 31
    assert [_span(out) for out in sifted.outs] == [(31, 200)]


def test_sieve_readings_of_nobody_take_their_part_of_another_doubt_with_them() -> None:
    """A second hand reading that differs before any fall doubts the rest; the two never share a reading."""
    sifted = _sift(FALLEN, Surroundings(hand=points((10, 100), (45, 104))))
    assert [_span(doubt) for doubt in sifted.doubts] == [(0, 30)]
    assert sifted.doubt.tolist() == [1] * 31
    assert [_span(out) for out in sifted.outs] == [(31, 200)]


def test_air_beside_a_hand_reading_of_the_food_is_no_probe_out_of_the_food() -> None:
    """Air may jump and differ from the food as it likes."""
    air = joined(line((0, 38), (30, 38)), points((31, 75)), line((32, 75), (60, 75)))
    answer = ask(Process.COLD_HOLDING, air, hand=points((40, 39)), medium=Medium.AIR)
    assert not answer.set_aside
    assert not answer.doubts
