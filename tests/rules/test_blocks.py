"""A long record is looked through in blocks; wherever they are cut, the answer is that of the whole."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch import blocks
from holdwatch.crossings import gaps, runs
from holdwatch.quantities import Level, Side, Temperature
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step
from holdwatch.sieve import Surroundings, sift
from tests.rules.series_words import LIMITS, T0, declared, points

CUTS = (1, 2, 7, 30)


def test_blocks_cover_a_length_once_and_in_order(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the last one is short, or full, or there is none."""
    monkeypatch.setattr(blocks, "READINGS", 3)
    assert [(part.start, part.stop) for part in blocks.blocks(7)] == [(0, 3), (3, 6), (6, 7)]
    assert [(part.start, part.stop) for part in blocks.blocks(6)] == [(0, 3), (3, 6)]
    assert list(blocks.blocks(0)) == []
    values = np.array([1, 0, 1, 1, 0, 0, 1])
    assert blocks.places(7, lambda part: values[part] == 1).tolist() == [0, 2, 3, 6]
    assert blocks.places(0, lambda part: values[part] == 1).dtype == np.intp


def test_a_block_is_long_enough_to_be_worth_it_and_short_enough_to_fit() -> None:
    """Eight bytes a figure: half a megabyte an array."""
    assert 2**14 <= blocks.READINGS <= 2**18


@st.composite
def _records(draw: st.DrawFn) -> Record:
    """A walk with falls, rises, spikes, power-on values, gaps and things declared."""
    minute, degrees = 0.0, draw(st.floats(33, 180))
    pairs: list[tuple[float, float]] = []
    for _ in range(draw(st.integers(1, 6))):
        every, rate = draw(st.sampled_from([0.25, 0.5, 1, 2, 6, 25])), draw(st.sampled_from([-4, -1, -0.2, 0, 0.5, 3]))
        for _ in range(draw(st.integers(1, 14))):
            minute += every
            degrees = min(max(degrees + rate * every, 31.0), 200.0)
            pairs.append((minute, draw(st.sampled_from([degrees] * 6 + [degrees + 30, 185.0, 700.0]))))
        degrees += draw(st.sampled_from([0, -25, -8, 40]))
    kinds = st.sampled_from(["placed", "moved", "left-heat", "removed", "returned"])
    notes = draw(st.lists(st.tuples(kinds, st.integers(0, int(minute))), max_size=3))
    hand = draw(st.lists(st.tuples(st.integers(0, int(minute)), st.floats(33, 180)), max_size=2))
    return Record(points(*pairs), points(*hand), declared=declared(*notes))


@settings(max_examples=60)
@given(_records(), st.sampled_from(CUTS))
def test_judged_in_blocks_is_judged_as_a_whole(record: Record, cut: int) -> None:
    """Every word of every answer: verdicts, brackets, spells, doubts, what was set aside, and why."""
    until = int(record.probe.at_ms[-1])

    def answers() -> object:
        vessel = judge_vessel(record, LIMITS, step=Step.COOL, holding="cold", until_ms=until, started_ms=T0)
        held = [
            judge(process, Record(record.probe, medium=medium), LIMITS, until_ms=until)
            for process in (Process.COLD_HOLDING, Process.HOT_HOLDING)
            for medium in (Medium.FOOD, Medium.AIR)
        ]
        return (*vessel, *held)

    whole = answers()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(blocks, "READINGS", cut)
        assert answers() == whole


@pytest.mark.parametrize("cut", range(1, 32))
def test_fall_is_found_wherever_the_seam_lies(cut: int) -> None:
    """A slow fall counts against the mean of the ten minutes before it, in another block than its end, across a gap too."""
    for gap in (0.0, 12.0):
        before = [(float(m), 150 - 0.1 * m) for m in range(14)]
        after = [(14 + gap + m / 2, 148.5 - 2.0 * m) for m in range(1, 12)]
        series = points(*before, *after)
        whole = sift(series, Surroundings(), int(series.at_ms[-1]))
        assert whole.doubts
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(blocks, "READINGS", cut)
            again = sift(series, Surroundings(), int(series.at_ms[-1]))
        assert again.doubts == whole.doubts
        assert again.doubt.tolist() == whole.doubt.tolist()


@pytest.mark.parametrize("cut", CUTS)
def test_levels_runs_and_gaps_do_not_know_the_seams(cut: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A run that crosses a seam is one run; a gap at a seam is a gap."""
    chance = np.random.default_rng(3)
    at = np.cumsum(chance.choice([30_000, 60_000, 2_000_000], 100))
    series = Series(at, chance.normal(5, 1, 100))
    level = Level(Temperature.parse("41 °F"), Side.AT_MOST)
    kept = level.keeps(series.celsius)
    whole = kept.tolist(), runs(at, kept), gaps(at, 60_000), gaps(at, np.full(99, 1_000_000))
    monkeypatch.setattr(blocks, "READINGS", cut)
    kept = level.keeps(series.celsius)
    assert (kept.tolist(), runs(at, kept), gaps(at, 60_000), gaps(at, np.full(99, 1_000_000))) == whole
    assert len(whole[1]) > 10
    assert len(whole[2]) > 10
