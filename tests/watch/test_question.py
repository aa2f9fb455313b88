"""Is the probe still in the food? Asked by the watch, answered with a hand thermometer on the command line."""

from pathlib import Path

import pytest

from holdwatch import clock
from holdwatch.clock import to_iso
from holdwatch.storage.tables import ClauseState
from tests.support.commands import succeed
from tests.watch.kitchen import MIN, T0, Kitchen, straight

STAGE_1 = "3-501.14(A)(1)"
FELL = [*straight(150, 120, 30), *straight(42, 38, 168, start_ms=T0 + 32 * MIN)]
ICE_BATH = [
    *straight(150, 140, 30),
    *straight(100, 70, 3, start_ms=T0 + 31 * MIN),
    *straight(69, 41, 65, start_ms=T0 + 35 * MIN),
]


@pytest.fixture
def cream(kitchen: Kitchen) -> Kitchen:
    """A pan of pastry cream that cools with a probe in it."""
    kitchen.probe("p1")
    kitchen.batch("L1", "p1")
    return kitchen


def _go_on(kitchen: Kitchen, readings: list[tuple[int, float]], first_min: int, last_min: int) -> None:
    """Let the readings of some minutes arrive, ten at a time, and the last ones at their instant."""
    for minute in [*range(first_min, last_min, 10), last_min]:
        now_ms = T0 + minute * MIN
        kitchen.arrive("p1", [pair for pair in readings if now_ms - 10 * MIN < pair[0] <= now_ms], now_ms)
        kitchen.rounds(now_ms)


def _by_hand(monkeypatch: pytest.MonkeyPatch, data: Path, at_min: float, degrees: str) -> None:
    """Note a hand reading as a cook does at that minute."""
    at_ms = T0 + round(at_min * MIN)
    monkeypatch.setattr(clock, "now_ms", lambda: at_ms)
    succeed("batch", "note", "L1", "reading", degrees, "--at", to_iso(at_ms), "--by", "Ines", "--data", data)


def _stage_1(kitchen: Kitchen) -> ClauseState:
    return next(row for row in kitchen.clauses() if row.clause == STAGE_1)


def test_question_is_asked_at_once_when_the_probe_falls_out(cream: Kitchen) -> None:
    """Two minutes after the fall the clause runs on, and carries the question for the Bench."""
    _go_on(cream, FELL, 0, 34)
    state = _stage_1(cream)
    assert state.verdict == "open"
    assert state.facts["asks"][0].startswith("Is the probe still in the food?")


@pytest.mark.parametrize(("by_hand", "verdict"), [("69F", "met"), ("75F", "missed")])
def test_question_answered_by_hand_that_it_was_out(
    cream: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, by_hand: str, verdict: str
) -> None:
    """The food is 104 °F while the probe reads 42 °F: the air proves nothing, and the hand decides, either way."""
    _go_on(cream, FELL, 0, 44)
    _by_hand(monkeypatch, tmp_path, 45, "104F")
    _go_on(cream, FELL, 45, 110)
    state = _stage_1(cream)
    assert state.verdict == "open"
    assert state.facts["asks"][0].startswith("Is the probe back in the food?")
    _by_hand(monkeypatch, tmp_path, 130 if verdict == "met" else 140, by_hand)
    _go_on(cream, FELL, 111, 141)
    state = _stage_1(cream)
    assert state.verdict == verdict
    assert state.facts["asks"] == []
    kinds = [finding.kind for finding in cream.found() if finding.clause == STAGE_1 and finding.kind != "soon"]
    assert kinds == ([] if verdict == "met" else ["deviation"])


def test_question_answered_by_hand_that_it_was_in(
    cream: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An ice bath that nobody declared: the hand agrees a few minutes later, and the question is gone."""
    _go_on(cream, ICE_BATH, 0, 35)
    assert _stage_1(cream).facts["asks"]
    _by_hand(monkeypatch, tmp_path, 36, "69F")
    _go_on(cream, ICE_BATH, 36, 37)
    state = _stage_1(cream)
    assert (state.verdict, state.facts["asks"]) == ("met", [])
    _go_on(cream, ICE_BATH, 38, 75)
    assert cream.found() == []


def test_question_nobody_answers_leaves_it_not_shown(cream: Kitchen) -> None:
    """The probe lies in the air, nobody looks: the answer is awaited while time runs, and then it is not shown."""
    _go_on(cream, FELL, 0, 44)
    for minute in (120, 139, 141, 145):
        cream.arrive("p1", [pair for pair in FELL if pair[0] <= T0 + minute * MIN], T0 + minute * MIN)
        cream.rounds(T0 + minute * MIN)
    assert _stage_1(cream).verdict == "unproven"
    (found,) = [finding for finding in cream.found(open_only=True) if finding.clause == STAGE_1]
    assert found.kind == "not-shown"
    assert "Is the probe still in the food?" in found.reason
