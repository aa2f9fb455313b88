"""What happens to probes: put in cold, fallen out, dipped, restarted, carried off, cut from their power.

Every docstring gives the reason for its verdict, from the rules in docs/concepts.md. Levels and times: FDA Food Code
2022, 3-501.14(A) (135 °F to 70 °F within 2 h, to 41 °F within 6 h in all) and 3-501.16(A)(2) (41 °F or less). The
temperatures are invented; food cools by Newton's law.
"""

import numpy as np
import pytest

from holdwatch.readings import Series
from holdwatch.rules.signal import judge_signal
from holdwatch.rules.verdicts import Process
from tests.accidents.kitchen import MET, MISSED, OPEN, UNPROVEN, ask, cooled, end, verdicts, vessel
from tests.rules.series_words import MINUTE, T0, joined, line, points

COOLING, COLD = Process.COOLING, Process.COLD_HOLDING
CREAM = cooled(4, 420)
"""Pastry cream that keeps both stages, from when a probe in it has settled."""
CLIMBING = points((0, 68), (0.5, 105), (1, 128), (1.5, 137), (2, 141), (3, 144))


def test_probe_put_in_at_68_f_and_climbing_is_placed_and_kept() -> None:
    """The placement is known, so the climb is settling and set aside; the clock starts with the food, and both are kept."""
    answer = ask(COOLING, joined(CLIMBING, CREAM), [("placed", 0)])
    assert verdicts(answer) == (MET, MET)
    assert {reading.at_ms for reading in answer.set_aside} == {T0 + round(m * MINUTE) for m in (0, 0.5, 1, 1.5, 2)}


def test_probe_put_in_at_68_f_without_a_word_is_asked_about() -> None:
    """Nobody said that it was placed: 68 °F may as well be the food, warmed since. It is neither kept nor missed, it is asked.

    With the climb believed the stages are kept; without it the record begins long below 135 °F with no start.
    """
    answer = ask(COOLING, joined(CLIMBING, CREAM))
    assert verdicts(answer) == (UNPROVEN, UNPROVEN)
    assert answer.clauses[0].doubtful
    assert answer.asks


def test_probe_put_in_at_68_f_before_it_left_the_heat_is_cooking() -> None:
    """The rise lies before the declared `left-heat`: it is a step, and belongs to cooking; both stages are kept."""
    assert verdicts(ask(COOLING, joined(CLIMBING, CREAM), [("left-heat", 4)])) == (MET, MET)


@pytest.mark.parametrize("air_f", [72, 38])
@pytest.mark.parametrize(("until", "verdict"), [(60, OPEN), (135, OPEN), (140, UNPROVEN), (400, UNPROVEN)])
def test_probe_that_falls_out_into_air_decides_nothing(air_f: float, until: float, verdict: object) -> None:
    """Bench air would miss the first stage and walk-in air would meet it; neither is food.

    With and without these readings the answers differ, so it is open while its time runs (until the latest start and
    2 h, and the time an answer may be on its way), and not shown after. The Bench asks.
    """
    fallen = points((41, (cooled(40, 40).celsius[0] * 1.8 + 32 + air_f) / 2), (42, air_f + 5))
    answer = ask(COOLING, joined(cooled(0, 40), fallen, line((43, air_f), (420, air_f))), until=until)
    assert answer.clauses[0].verdict is verdict
    if air_f == 38 or verdict is UNPROVEN:
        assert answer.asks


def test_probe_that_falls_out_and_is_put_back_is_judged_on_the_food() -> None:
    """Ten minutes on the bench: it ends where the readings are back within 5 °F, and either way the food was in time."""
    out = line((41, 80), (50, 72))
    back = cooled(52, 420)
    lifted = joined(cooled(0, 40), out, back)
    assert verdicts(ask(COOLING, lifted, [("placed", 0), ("placed", 52)])) == (MET, MET)


@pytest.mark.parametrize(("bath_f", "seconds"), [(32, 60), (32, 90), (75, 60)])
def test_dip_in_ice_or_sanitiser_is_a_spike(bath_f: float, seconds: int) -> None:
    """More than 20 °F away from its neighbours and back within 2 min: set aside, and the food was kept as before."""
    dip = points((40.25, bath_f), (40.25 + seconds / 60 - 0.5, bath_f))
    cream = cooled(0, 420)
    cut = joined(cream.between(T0, T0 + 40 * MINUTE), dip, cream.between(T0 + 42 * MINUTE, T0 + 420 * MINUTE))
    assert verdicts(ask(COOLING, cut)) == (MET, MET)
    store = joined(line((0, 38), (40, 38)), dip, line((42, 38), (200, 38)))
    answer = ask(COLD, store)
    assert answer.verdict is MET
    assert all(bath_f == 32 or "spike" in reading.reason for reading in answer.set_aside)


def test_dip_that_lasts_longer_than_a_spike_is_asked_about_only_where_it_matters() -> None:
    """Four minutes in ice at 107 °F: without these readings 70 °F is reached later and still in time, so it is kept.

    With them it would be reached at once: both say kept, so nobody needs to be asked.
    """
    cream = cooled(0, 420)
    dip = line((40, 32), (43, 32))
    cut = joined(cream.between(T0, T0 + 39 * MINUTE), dip, cream.between(T0 + 44 * MINUTE, T0 + 420 * MINUTE))
    answer = ask(COOLING, cut)
    assert verdicts(answer) == (MET, MET)
    assert len(answer.doubts) == 1
    assert not answer.asks


@pytest.mark.parametrize("at", [0.5, 100.5, 419.5])
def test_one_85_degrees_value_changes_nothing(at: float) -> None:
    """A probe that restarts answers +85 °C once: standing alone among others it is no temperature of the food.

    Otherwise 185 °F would start the clock anew, or break the holding of 41 °F.
    """
    one = Series.of([(T0 + round(at * MINUTE), 85.0)])
    answer = ask(COOLING, joined(cooled(0, 420, from_f=140), one))
    assert verdicts(answer) == (MET, MET)
    assert [reading.celsius for reading in answer.set_aside] == [85.0]
    assert ask(COLD, joined(line((0, 38), (420, 38)), one)).verdict is MET


@pytest.mark.parametrize(("cold_after", "until"), [(500, 300), (500, 360)])
def test_probe_moved_to_the_next_batch_without_a_word_is_open_while_time_runs(cold_after: float, until: float) -> None:
    """At 3:40 it goes from cream at 43 °F into a new pan at 150 °F: a rise of 107 °F in a minute is no food's doing.

    Believed, the readings would miss the second stage; without them its end is not seen. While 6 h run it is open.
    """
    answer = ask(COOLING, _moved(cold_after), until=until)
    assert verdicts(answer) == (MET, OPEN)


@pytest.mark.parametrize("cold_after", [100, 500])
def test_probe_moved_to_the_next_batch_without_a_word_decides_nothing_of_the_first(cold_after: float) -> None:
    """However the next pan cools, it is another's food: neither kept nor missed by it.

    Not kept when it is cold within the first one's time, not missed when it is warm after. That it comes down to where the first one stood shows nothing; the probe would have to come back as
    suddenly as it left. So the second stage is not shown, and somebody is asked.
    """
    answer = ask(COOLING, _moved(cold_after), until=221 + cold_after)
    assert verdicts(answer) == (MET, OPEN if cold_after == 100 else UNPROVEN)
    assert verdicts(ask(COOLING, _moved(cold_after), until=800)) == (MET, UNPROVEN)
    assert answer.asks[0].startswith("Is the probe still in the food?")


def _moved(cold_after: float) -> Series:
    return joined(cooled(0, 220), line((221, 150), (221 + cold_after, 34), (221 + cold_after + 60, 34)))


def test_probe_put_into_hot_water_and_back_is_over_when_it_is_back() -> None:
    """Washed at 140 °F for five minutes and put back into cold cream: it comes back as suddenly as it left, and counts."""
    washed = joined(cooled(0, 220), line((221, 140), (226, 140)), points((227, 60)), cooled(228, 420))
    answer = ask(COOLING, washed)
    assert verdicts(answer) == (MET, MET)
    assert [doubt.over for doubt in answer.doubts] == [True]


def test_probe_moved_to_the_next_batch_with_a_word_ends_the_first_record() -> None:
    """The placement ends, and its readings after that are not this batch's: the end is not seen, and nobody is asked."""
    answer = ask(COOLING, cooled(0, 220), until=500)
    assert verdicts(answer) == (MET, UNPROVEN)
    assert not answer.asks


def test_power_cut_of_bare_numbers_leaves_a_hole_in_holding() -> None:
    """What such a probe read while the power was off is lost, and what the broker kept has no known instant.

    45 min without a reading are longer than 20 min, the largest gap: whether 41 °F was kept in it is not shown.
    """
    cut = joined(line((0, 38), (60, 38)), line((105, 38), (160, 38)))
    assert ask(COLD, cut).verdict is UNPROVEN
    short = joined(line((0, 38), (60, 38)), line((80, 38), (160, 38)))
    assert ask(COLD, short).verdict is MET


def test_power_cut_while_cooling_is_bracketed_by_what_was_seen() -> None:
    """Both ends of the hole are in time: 70 °F was reached by the first reading after it, which is before the limit.

    A hole that spans the limit itself shows neither: it may have been reached before or after.
    """
    cream = cooled(0, 420)
    within = joined(cream.between(T0, T0 + 40 * MINUTE), cream.between(T0 + 115 * MINUTE, T0 + 420 * MINUTE))
    answer = ask(COOLING, within)
    assert verdicts(answer) == (MET, MET)
    assert "Seen only at its ends" in answer.clauses[0].reason
    spans = joined(cream.between(T0, T0 + 80 * MINUTE), cream.between(T0 + 160 * MINUTE, T0 + 420 * MINUTE))
    assert verdicts(ask(COOLING, spans)) == (UNPROVEN, MET)


def test_settling_through_41_f_with_noise_is_reached_once_and_held_only_when_settled() -> None:
    """The second stage is reached by the first reading at 41.0 °F or less, and a later 41.3 does not undo it.

    Holding begins after 30 min unbroken at 41 °F or less: the noise before that breaks no holding.
    """
    chance = np.random.default_rng(41)
    minutes = np.arange(0, 421)
    degrees = 34 + 116 * 0.5 ** (minutes / 60)
    noisy = np.where(degrees < 45, degrees + chance.normal(0, 0.3, len(minutes)), degrees)
    pan = points(*zip(minutes.astype(float).tolist(), noisy.tolist(), strict=True))
    first = int(np.flatnonzero(noisy <= 41)[0])
    assert (noisy[first:] > 41).any()  # it does go up again
    cooling, holding = vessel(pan)
    assert verdicts(cooling) == (MET, MET)
    assert cooling.clauses[1].reached == (T0 + (first - 1) * MINUTE, T0 + first * MINUTE)
    assert "this does not undo it" in cooling.clauses[1].reason
    assert holding.verdict is MET


@pytest.mark.parametrize(("degrees", "verdict"), [(41.0, MET), (41.1, MISSED)])
def test_holding_at_41_f_has_no_room_for_noise(degrees: float, verdict: object) -> None:
    """41 °F or less includes 41.0 and no tenth more; the probe's tolerance is never a bonus."""
    assert (
        ask(COLD, joined(line((0, 40.8), (60, 40.8)), points((60.5, degrees)), line((61, 40.8), (90, 40.8)))).verdict
        is verdict
    )


def test_probe_of_60_s_that_jitters_leaves_no_hole_and_no_silence() -> None:
    """Its readings come 42 to 78 s apart and a few tenths up and down: no gap, no doubt, no silence, both stages kept."""
    chance = np.random.default_rng(60)
    at = np.cumsum(chance.uniform(42, 78, 420)) / 60
    degrees = 34 + 116 * 0.5 ** (at / 60) + chance.normal(0, 0.3, len(at))
    probe = points(*zip(at.tolist(), degrees.tolist(), strict=True))
    answer = ask(COOLING, probe)
    assert verdicts(answer) == (MET, MET)
    assert (answer.gaps, answer.doubts, answer.set_aside) == ((), (), ())
    for n in range(30, 420):
        assert not judge_signal(probe.at_ms[:n], T0, int(probe.at_ms[n])).silent


def test_probe_of_60_s_that_jitters_gives_one_answer_for_good() -> None:
    """Judged at every reading, the first stage goes from open to kept once, and never back."""
    chance = np.random.default_rng(61)
    at = np.cumsum(chance.uniform(42, 78, 160)) / 60
    degrees = 34 + 116 * 0.5 ** (at / 60) + chance.normal(0, 0.3, len(at))
    probe = points(*zip(at.tolist(), degrees.tolist(), strict=True))
    told = [ask(COOLING, probe, until=minute).clauses[0].verdict for minute in at.tolist()]
    assert told == [OPEN] * told.index(MET) + [MET] * (len(told) - told.index(MET))
    assert end(probe) > 120
