"""Batches with a life beyond cooling, as the Bench and their pages show them."""

from pathlib import Path

from holdwatch.storage.engine import store_url
from holdwatch.storage.tables import EventKind
from holdwatch.views.batches import batch_view
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, cooling, straight


def test_time_control_says_by_when_it_is_to_be_gone(tmp_path: Path) -> None:
    """The Bench tells the discard time, not a temperature to get to."""
    kitchen = Kitchen.on(store_url(tmp_path, None), migrate=True)
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", processes=["cold-holding"])
    kitchen.arrive("p1", straight(38, 38, 30, every_min=2), T0 + 30 * MIN)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, facts={"under": "time-control-4h"})
    kitchen.rounds(T0 + 31 * MIN)
    with kitchen.store.read() as session:
        view = batch_view(session, batch.id or 0, T0 + 31 * MIN)
    kitchen.store.close()
    assert view is not None
    assert (view.due_ms, view.due_what, view.due_clause) == (T0 + 270 * MIN, "used up", "3-501.19(B)")
    assert view.sentence == "Pastry cream L1 has 3 h 59 min to be served, sold, used or discarded."


def test_second_cooling_is_drawn_once_it_has_begun(tmp_path: Path) -> None:
    """The picture shows one staircase: that of the cooling that was begun last; the table has every clause."""
    kitchen = Kitchen.on(store_url(tmp_path, None), migrate=True)
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1")
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    begins = T0 + 6 * HOUR
    kitchen.note(batch, EventKind.REHEATING, begins, text="hot-holding")
    hot = [*straight(40, 168, 60, start_ms=begins + MIN), *straight(168, 168, 20, start_ms=begins + 62 * MIN)]
    kitchen.arrive("p1", [*cooling(360), *hot], begins + 82 * MIN)
    kitchen.rounds(begins + 82 * MIN)
    with kitchen.store.read() as session:
        (first,) = batch_view(session, batch.id or 0, begins + 82 * MIN).curves  # type: ignore[union-attr]
    kitchen.note(batch, EventKind.LEFT_HEAT, begins + 82 * MIN)
    again = cooling(60, from_f=168, start_ms=begins + 83 * MIN)
    kitchen.arrive("p1", again, again[-1][0])
    kitchen.rounds(again[-1][0])
    with kitchen.store.read() as session:
        (second,) = batch_view(session, batch.id or 0, again[-1][0]).curves  # type: ignore[union-attr]
    kitchen.store.close()
    assert [clause.verdict.value for clause in first.steps] == ["met", "met", "met"]
    assert [clause.verdict.value for clause in second.steps] == ["open", "open", "open"]
    assert (second.steps[0].started or (0,))[0] >= begins + 82 * MIN  # type: ignore[operator]
    assert len(second.clauses) == len(first.clauses) == 8
