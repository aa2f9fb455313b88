"""Who is judged first where readings come faster than they can be judged; nobody is left out, and the answer is the same."""

from collections.abc import Sequence

import pytest

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.storage.register import add_correction
from holdwatch.storage.tables import EventKind
from holdwatch.watch.inbox import HOLE_MS, Inbox, levels_of, presses
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, Pair, minutes

LEVELS = tuple(levels_of(load_limits("us-food-code-2022")))
S = 1_000


def _pairs(*fahrenheit: float, every_ms: int = S) -> list[Pair]:
    return minutes(*fahrenheit, every_ms=every_ms)


@pytest.mark.parametrize("level_f", [135, 70, 41])
def test_levels_are_those_of_the_code(level_f: float) -> None:
    """3-501.14 and 3-501.16 of the Food Code name these three."""
    assert any(abs(level - celsius_of_f(level_f)) < 1e-6 for level in LEVELS)


@pytest.mark.parametrize(
    ("points", "pressing"),
    [
        (_pairs(38, 39, 40, 38), False),
        (_pairs(40, 40.9, 41.2), True),
        (_pairs(42, 40.5), True),
        (_pairs(41, 41), False),
        (_pairs(40.5, 41), True),
        (_pairs(43, 44, 43), False),
        (_pairs(71, 69.5), True),
        (_pairs(50, 53), True),
        (_pairs(50, 52.9), False),
        (_pairs(38, 38, every_ms=HOLE_MS), True),
        (_pairs(38, 38, every_ms=HOLE_MS - 1), False),
        (_pairs(38), True),
        ([], True),
    ],
)
def test_reading_presses_that_may_turn_a_verdict(points: Sequence[Pair], pressing: bool) -> None:
    """A level between two readings, a leap, a hole, or nothing to compare with; not what goes on as it was."""
    assert presses(points, LEVELS) is pressing


@pytest.mark.parametrize(("due_ms", "pressing"), [(T0 - 1, False), (T0, True), (T0 + S, True), (T0 + S + 1, False)])
def test_first_reading_after_a_time_is_up_presses(due_ms: int, pressing: bool) -> None:
    """It shows whether the food was in time."""
    assert presses(_pairs(85, 85), LEVELS, [due_ms]) is pressing


def _busy(kitchen: Kitchen, *codes: str) -> None:
    """Let probes speak that were judged before."""
    for code in codes:
        kitchen.probe(code)
        kitchen.unit(f"Unit {code}", "reach-in", code)
        kitchen.arrive(code, _pairs(*[38.0] * 60, every_ms=MIN), T0 + HOUR)
    kitchen.rounds(T0 + HOUR)


def _place(kitchen: Kitchen, code: str) -> tuple[str, int]:
    return "probe", kitchen.probes[code].id or 0


def test_what_presses_is_taken_first_and_the_rest_in_turn(kitchen: Kitchen) -> None:
    """Three speak, the last of them too warm; whoever waited longest is next."""
    _busy(kitchen, "f1", "f2", "f3")
    inbox = Inbox()
    now_ms = T0 + HOUR + S
    for code, fahrenheit in (("f1", 38.2), ("f2", 38.4), ("f3", 41.5)):
        kitchen.arrive(code, [(now_ms, celsius_of_f(fahrenheit))], now_ms)
    with kitchen.store.read() as session:
        inbox.look(session, now_ms)
    assert list(inbox.pressing) == [_place(kitchen, "f3")]
    assert list(inbox.calm) == [_place(kitchen, "f1"), _place(kitchen, "f2")]
    inbox.taken(_place(kitchen, "f1"), (), inbox.newest_id)
    for code in ("f1", "f2"):
        kitchen.arrive(code, [(now_ms + S, celsius_of_f(38.3))], now_ms + S)
    with kitchen.store.read() as session:
        inbox.look(session, now_ms + S)
    assert list(inbox.calm) == [_place(kitchen, "f2"), _place(kitchen, "f1")]
    assert [row.first_ms for row in inbox.calm[_place(kitchen, "f2")]] == [now_ms, now_ms + S]


def test_whoever_waited_calmly_presses_with_all_that_waited(kitchen: Kitchen) -> None:
    """The reading that matters takes its probe's earlier ones along."""
    _busy(kitchen, "f1")
    inbox = Inbox()
    for second, fahrenheit in ((1, 40.5), (2, 41.5)):
        kitchen.arrive("f1", [(T0 + HOUR + second * S, celsius_of_f(fahrenheit))], T0 + HOUR + second * S)
        with kitchen.store.read() as session:
            inbox.look(session, T0 + HOUR + second * S)
    assert not inbox.calm
    assert len(inbox.pressing[_place(kitchen, "f1")]) == 2


def test_what_is_no_live_reading_presses(kitchen: Kitchen) -> None:
    """A note, a correction, an hour's outbox, a reading that is late: each may change what was judged."""
    _busy(kitchen, "f1")
    batch = kitchen.batch("L1", at_ms=T0)
    kitchen.note(batch, EventKind.REMOVED, T0 + HOUR)
    kitchen.arrive("f1", [(T0 + MIN // 2, 4.0)], T0 + HOUR + S)
    inbox = Inbox()
    with kitchen.store.read() as session:
        inbox.look(session, T0 + HOUR + S)
    assert not inbox.calm
    assert {kind for kind, _ in inbox.pressing} == {"probe", "others"}


def test_correction_counts_before_a_level_is_looked_for(kitchen: Kitchen) -> None:
    """A probe that shows 2 °C too little passes 41 °F where it says 37.4."""
    _busy(kitchen, "f1")
    with kitchen.store.write() as session:
        add_correction(
            session, kitchen.probes["f1"], from_ms=T0 + HOUR, to_ms=None, offset_c=2.0, by="test", why="ice",
            now_ms=T0 + HOUR,
        )  # fmt: skip
    kitchen.rounds(T0 + HOUR)
    inbox = Inbox()
    for second, fahrenheit, pressing in ((1, 37.2, False), (2, 37.3, False), (3, 37.6, True)):
        kitchen.arrive("f1", [(T0 + HOUR + second * S, celsius_of_f(fahrenheit))], T0 + HOUR + second * S)
        with kitchen.store.read() as session:
            inbox.look(session, T0 + HOUR + second * S)
        assert bool(inbox.pressing) is pressing, second


def test_round_called_away_goes_on_where_it_was_and_leaves_nobody_out(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Something arrives after every judgement, and every round is called away: the one too warm is told in the next."""
    codes = [f"f{n}" for n in range(6)]
    _busy(kitchen, *codes)
    monkeypatch.setattr("holdwatch.watch.rounds.LOOK_MS", 0)
    now_ms = T0 + HOUR + S
    for code in codes:
        kitchen.arrive(code, [(now_ms, celsius_of_f(38.2))], now_ms)

    def step(name: str) -> None:
        nonlocal now_ms
        if name == "judged":
            now_ms += S
            kitchen.arrive(codes[0], [(now_ms, celsius_of_f(38.2))], now_ms)

    kitchen.watch.step = step
    kitchen.arrive("f5", [(now_ms + 1, celsius_of_f(43))], now_ms + 1)
    kitchen.watch.go_round(now_ms + 1)
    assert [finding.unit_id for finding in kitchen.found(open_only=True)] == [kitchen.units["Unit f5"].id]
    judged = {row.subject: row.judged_ms for row in kitchen.clauses()}
    assert sum(at_ms > T0 + HOUR for at_ms in judged.values()) < len(codes)
    for _ in range(3 * len(codes)):
        kitchen.watch.go_round(now_ms)
    judged = {row.subject: row.judged_ms for row in kitchen.clauses()}
    assert all(at_ms > T0 + HOUR for at_ms in judged.values())


def test_numbers_that_are_given_again_are_seen_again(kitchen: Kitchen) -> None:
    """SQLite numbers from the beginning once the queue is empty: what comes then is no less new."""
    _busy(kitchen, "f1")
    for second in (1, 2, 3):
        now_ms = T0 + HOUR + second * S
        kitchen.arrive("f1", [(now_ms, celsius_of_f(38 + second))], now_ms)
        assert kitchen.watch.go_round(now_ms).arrivals == 1
