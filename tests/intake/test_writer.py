"""Commit first, acknowledge afterwards."""

import queue
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlmodel import Session, select

from holdwatch import clock
from holdwatch.errors import StoreBusyError
from holdwatch.intake import writer as writer_module
from holdwatch.intake.keeper import Keeper, Kept
from holdwatch.intake.message import Message
from holdwatch.intake.roster import Roster
from holdwatch.intake.writer import ENOUGH, LARGEST_GROUP, Writer
from holdwatch.storage.engine import Store
from holdwatch.storage.tables import SetAsideMessage
from tests.support.waiting import wait_for

NOW_MS = 1_795_500_000_000


class AcknowledgesFirst(Writer):
    """The mistake that the check below must see."""

    def _keep(self, group: Sequence[Message]) -> None:
        with self._store.write() as session:
            kept = self._keeper.keep(session, self._keeper.prepare(group), clock.now_ms())
            self._confirm(group, kept)


def number(mid: int, value: float = 4.0) -> Message:
    """Return a bare number."""
    return Message("holdwatch/p2", str(value).encode(), NOW_MS + mid, live=True, qos=1, mid=mid, generation=1)


def numbers(values: Sequence[float]) -> "queue.Queue[Message]":
    """Return a queue of bare numbers."""
    waiting: queue.Queue[Message] = queue.Queue()
    for mid, value in enumerate(values):
        waiting.put(number(mid, value))
    return waiting


def on_disk(data: Path) -> set[float]:
    """Return what another process would read."""
    connection = sqlite3.connect(data / "holdwatch.db")
    try:
        return {celsius for (celsius,) in connection.execute("SELECT celsius FROM reading")}
    finally:
        connection.close()


def write_all(
    store: Store, writer: type[Writer], waiting: "queue.Queue[Message]", confirm: Callable[..., None]
) -> None:
    """Let a writer write what waits."""
    writing = writer(store, Keeper(Roster()), waiting, confirm)
    writing.start()
    writing.finish(10)


@pytest.mark.parametrize(("writer", "sound"), [(Writer, True), (AcknowledgesFirst, False)])
def test_writer_acknowledges_only_what_another_connection_can_read(
    store: Store, tmp_path: Path, writer: type[Writer], *, sound: bool
) -> None:
    """At the instant of an acknowledgement its reading is there for everybody; the wrong order is seen."""
    seen: list[bool] = []

    def confirm(group: Sequence[Message], _kept: Kept) -> None:
        there = on_disk(tmp_path)
        seen.extend(float(message.payload) in there for message in group)

    write_all(store, writer, numbers([4.0, 5.0, 6.0]), confirm)
    assert seen == [sound] * 3
    assert on_disk(tmp_path) == {4.0, 5.0, 6.0}


@pytest.mark.parametrize(
    ("language", "why"), [("en", "p2: the message is empty"), ("fr", "p2\u00a0: le message est vide")]
)
def test_writer_says_in_the_language_of_the_site_why_something_is_set_aside(
    store: Store, language: str, why: str
) -> None:
    """As the listener last read it; whoever reads the Bench there reads it too."""
    waiting: queue.Queue[Message] = queue.Queue()
    waiting.put(Message("holdwatch/p2", b" ", NOW_MS, live=True, qos=1, mid=1, generation=1))
    writing = Writer(store, Keeper(Roster()), waiting, lambda _group, _kept: None)
    writing.language = language
    writing.start()
    writing.finish(10)
    with store.read() as session:
        assert [each.detail for each in session.exec(select(SetAsideMessage))] == [why]


def test_writer_groups_are_bounded_and_acknowledged_in_order(store: Store) -> None:
    """A long queue is written in groups of at most a thousand, and acknowledged as it came."""
    groups: list[list[int]] = []
    count = LARGEST_GROUP * 2 + 10
    write_all(store, Writer, numbers([4.0] * count), lambda group, _: groups.append([m.mid for m in group]))
    assert max(map(len, groups)) <= LARGEST_GROUP
    assert [mid for group in groups for mid in group] == list(range(count))


@pytest.mark.parametrize(("pace_s", "more"), [(30.0, ENOUGH), (0.3, ENOUGH // 2)])
def test_writer_collects_what_follows_a_commit(
    store: Store, monkeypatch: pytest.MonkeyPatch, pace_s: float, more: int
) -> None:
    """A lone message is committed at once; what follows it goes together, when the pause is over or they are enough."""
    monkeypatch.setattr(writer_module, "PACE_S", pace_s)
    groups: list[list[int]] = []
    waiting = numbers([4.0])
    writing = Writer(store, Keeper(Roster()), waiting, lambda group, _: groups.append([m.mid for m in group]))
    writing.start()
    wait_for(lambda: groups == [[0]], within_s=10)
    for mid in range(1, more + 1):
        waiting.put(number(mid))
    wait_for(lambda: len(groups) > 1, within_s=10)
    writing.finish(10)
    assert groups == [[0], list(range(1, more + 1))]


def test_writer_busy_store_keeps_the_group(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A store that is locked for a while delays the acknowledgement and loses nothing."""
    confirmed: list[int] = []
    failures = iter([True, True, False])
    real = Store.write

    @contextmanager
    def write(self: Store) -> Iterator[Session]:
        if next(failures, False):
            raise StoreBusyError("the store is locked by another process")
        with real(self) as session:
            yield session

    monkeypatch.setattr(Store, "write", write)
    writing = Writer(
        store, Keeper(Roster()), numbers([4.0, 5.0]), lambda group, _: confirmed.extend(m.mid for m in group)
    )
    writing.start()
    wait_for(lambda: "locked by another process" in writing.problem)
    assert confirmed == []
    wait_for(lambda: len(confirmed) == 2)
    wait_for(lambda: not writing.problem)
    writing.finish(10)
    assert confirmed == [0, 1]
    assert on_disk(tmp_path) == {4.0, 5.0}
