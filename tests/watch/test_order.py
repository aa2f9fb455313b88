"""The order of arrival never matters, nor does a kill: same findings, same identities, same final state."""

from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import numpy as np
import pytest

from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import store_url
from holdwatch.storage.outbox import alerts_of
from tests.watch.day import END_MS, Message, Standing, answers, messages, send, set_up, shuffled, standing
from tests.watch.kitchen import MIN, T0, Kitchen

pytestmark = pytest.mark.long

GROUP = 240


class Killed(BaseException):
    """What a kill is to the code: nothing may catch it."""


def _groups(told: list[Message]) -> Iterator[list[Message]]:
    for at in range(0, len(told), GROUP):
        yield told[at : at + GROUP]


def _finish(kitchen: Kitchen) -> None:
    """Let time pass until nothing can change any more by itself."""
    for minute in (0, 11, 12):
        kitchen.rounds(END_MS + minute * MIN)


def _live(kitchen: Kitchen) -> None:
    """Send every reading at its instant."""
    for group in _groups(messages()):
        now_ms = max(group[-1][1][0], T0)
        send(kitchen, group, now_ms)
        kitchen.rounds(now_ms)


def _late(told: list[Message]) -> Callable[[Kitchen], None]:
    def send_late(kitchen: Kitchen) -> None:
        for group in _groups(told):
            send(kitchen, group, END_MS)
            kitchen.rounds(END_MS)

    return send_late


def _outbox(kitchen: Kitchen) -> None:
    """Send the walk-in's week in one burst at the end, beside all others live."""
    kept_back = [message for message in messages() if message[0] == "f1"]
    for group in _groups([message for message in messages() if message[0] != "f1"]):
        send(kitchen, group, group[-1][1][0])
        kitchen.rounds(group[-1][1][0])
    send(kitchen, kept_back, END_MS)


def _killed(kitchen: Kitchen) -> None:
    """Send in random order; the watch is killed at random steps and starts again."""
    chance = np.random.default_rng(7)
    kills = 0

    def step(_: str) -> None:
        nonlocal kills
        if chance.random() < 0.15:
            kills += 1
            raise Killed

    for group in _groups(shuffled(messages(), 3)):
        send(kitchen, group, END_MS)
        kitchen.restart()
        kitchen.watch.step = step
        try:
            kitchen.rounds(END_MS)
        except Killed:
            continue
    kitchen.restart()
    assert kills > 5


ORDERS: dict[str, Callable[[Kitchen], None]] = {
    "reversed": _late(messages()[::-1]),
    "shuffled": _late(shuffled(messages(), 1)),
    "outbox": _outbox,
    "killed": _killed,
}


def test_day_in_any_order_gives_the_same_findings(make_url: Callable[[], str]) -> None:
    """In order, reversed, shuffled, from a week's outbox, killed at random: what stands in the end is the same."""
    live = Kitchen.on(make_url())
    set_up(live)
    _live(live)
    _finish(live)
    expected, verdicts = standing(live), answers(live)
    live.store.close()
    assert {(s.kind, s.is_open) for s in expected} >= {("deviation", True), ("deviation", False), ("not-shown", True)}
    assert any(s.subject.startswith("probe:") and s.is_open for s in expected)
    assert any(s.kind == "soon" and not s.is_open for s in expected)
    for name, order in ORDERS.items():
        kitchen = Kitchen.on(make_url())
        set_up(kitchen)
        order(kitchen)
        _finish(kitchen)
        assert answers(kitchen) == verdicts, name
        assert standing(kitchen) == expected, name
        _check_identities(kitchen)
        kitchen.store.close()


def _check_identities(kitchen: Kitchen) -> None:
    """No finding is there twice: each key once, and no two of a family that overlap."""
    rows = [finding for finding in kitchen.found() if finding.facts["stands"]]
    assert len({row.key for row in rows}) == len(rows)
    for one in rows:
        for other in rows:
            if (one.id or 0) < (other.id or 0) and one.facts["family"] == other.facts["family"]:
                apart = one.facts["last_ms"] < other.facts["first_ms"] or other.facts["last_ms"] < one.facts["first_ms"]
                assert apart, (one, other)


@pytest.mark.parametrize("seed", range(3))
def test_findings_after_a_kill_have_their_alerts(kitchen: Kitchen, seed: int) -> None:
    """A finding and its alerts are one transaction: whenever the watch dies, neither is there without the other."""
    with kitchen.store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:9/", now_ms=T0, by="test")
    set_up(kitchen)
    chance = np.random.default_rng(seed)

    def step(_: str) -> None:
        if chance.random() < 0.2:
            raise Killed

    send(kitchen, messages(), END_MS)
    kitchen.watch.step = step
    for _ in range(60):
        try:
            kitchen.rounds(END_MS)
            break
        except Killed:
            kitchen.restart()
            kitchen.watch.step = step
        with kitchen.store.read() as session:
            for finding in kitchen.found(open_only=True):
                assert len(alerts_of(session, finding.id or 0)) >= 1
    assert kitchen.found(open_only=True)


def test_watch_killed_at_any_step_of_a_round_loses_nothing(tmp_path: Path) -> None:
    """One burst arrives and nothing after it: killed at the first step, the second …, the next start finds all."""
    burst = [message for message in messages() if message[0] in {"p1", "f1"} and message[1][0] >= T0]
    found: list[set[Standing]] = []
    for number in count():
        (tmp_path / str(number)).mkdir()
        kitchen = Kitchen.on(store_url(tmp_path / str(number), None), migrate=True)
        set_up(kitchen)
        kitchen.rounds(T0)
        send(kitchen, burst, END_MS)
        steps = iter(range(number))

        def step(_: str, steps: Iterator[int] = steps) -> None:
            if next(steps, None) is None:
                raise Killed

        kitchen.watch.step = step
        killed = False
        try:
            kitchen.rounds(END_MS)
        except Killed:
            killed = True
        kitchen.restart()
        kitchen.rounds(END_MS)
        found.append(standing(kitchen))
        kitchen.store.close()
        if not killed:
            break
    assert len(found) > 8
    assert found[-1]
    assert all(one == found[-1] for one in found)
