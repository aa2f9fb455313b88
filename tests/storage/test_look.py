"""One look: what was gathered answers as the database itself does, and is forgotten when the look is over."""

from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event
from sqlmodel import Session

from holdwatch.rules.facts import to_facts
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.storage.batching import note, start_batch
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.events import events, gather_events
from holdwatch.storage.findings import findings, gather_open_findings, open_finding
from holdwatch.storage.ids import id_of, numbered
from holdwatch.storage.look import asked_once, one_look
from holdwatch.storage.out_of_use import gather_rests, rests, take_out_of_use
from holdwatch.storage.placing import gather_placements, place, placements
from holdwatch.storage.register import add_unit
from holdwatch.storage.states import clause_states, forecasts, gather_days, gather_states, save_clause, save_forecast
from holdwatch.storage.tables import EventKind, FindingKind, Probe
from holdwatch.views.batches import running
from holdwatch.views.units import unit_rows
from tests.storage.kitchen import BY, NOW, open_kitchen

HOUR = 3_600_000
DAYS = "2026-05-27", "2026-05-28"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Two batches and two units of which something of every kind is kept."""
    directory: Path = tmp_path_factory.mktemp("look")
    with closing(open_store(store_url(directory, None), migrate=True)) as opened:
        with opened.write() as session:
            _fill(session)
        yield opened


def _fill(session: Session) -> None:
    kitchen, told = open_kitchen(session), {"now_ms": NOW, "by": BY}
    other = start_batch(session, product="Lemon curd", lot="L2", at_ms=NOW - HOUR, **told)
    case = add_unit(session, "Display case", "display-case", **told)
    place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, **told)
    place(session, kitchen.second, batch=other, at_ms=NOW - HOUR, **told)
    place(session, kitchen.second, batch=kitchen.batch, at_ms=NOW - 60_000, **told)
    place(session, kitchen.air, unit=kitchen.walk_in, at_ms=NOW - HOUR, **told)
    for batch, kind, at_ms in (
        (kitchen.batch, EventKind.LEFT_HEAT, NOW - HOUR),
        (other, EventKind.LEFT_HEAT, NOW - HOUR),
        (kitchen.batch, EventKind.MOVED, NOW - HOUR // 2),
    ):
        note(session, batch, kind, at_ms=at_ms, unit=kitchen.walk_in if kind is EventKind.MOVED else None, **told)
    wrong = note(session, kitchen.batch, EventKind.READING, celsius=9.0, vessel=1, at_ms=NOW - 5, **told)
    right = {"celsius": 5.0, "vessel": 2, "replaces_id": wrong.id}
    note(session, kitchen.batch, EventKind.READING, at_ms=NOW - 4, **right, **told)
    for unit, at_ms in ((kitchen.walk_in, NOW - 9), (None, NOW - 8), (case, NOW - 7)):
        take_out_of_use(session, unit, "cleaned", from_ms=at_ms, to_ms=NOW + 5, **told)
    running_yet = ClauseVerdict("y", "the code", "cold", Verdict.OPEN, "it runs")
    facts: dict[str, Any] = {"verdict": "open", "judged_ms": NOW, "facts": to_facts(running_yet)}
    for batch in (kitchen.batch, other):
        subject = f"batch:{batch.id}:1"
        save_clause(session, subject=subject, clause="3-501.14(A)(1)", batch_id=batch.id, vessel=1, **facts)
        save_clause(session, subject=subject, clause="3-501.14(A)(2)", batch_id=batch.id, vessel=1, **facts)
        save_forecast(session, subject=subject, batch_id=id_of(batch), vessel=1, clause="x", target_c=21.0, made_ms=NOW)
    for unit in (kitchen.walk_in, case):
        for day in ("2026-05-26", *DAYS):
            save_clause(session, subject=f"unit:{unit.id}:1", clause="y", day=day, unit_id=unit.id, **facts)
    for number, batch in enumerate((kitchen.batch, other, kitchen.batch)):
        open_finding(
            session,
            key=f"finding {number}",
            kind=FindingKind.DEVIATION,
            subject=f"batch:{batch.id}:1",
            title="t",
            reason="r",
            batch_id=batch.id,
            since_ms=NOW,
            now_ms=NOW,
        )


def _gather(session: Session) -> None:
    gather_events(session, [1, 2])
    gather_placements(session, batch_ids=[1, 2], unit_ids=[1, 2])
    gather_states(session, [1, 2])
    gather_days(session, [1, 2], *DAYS)
    gather_open_findings(session, [1, 2])
    gather_rests(session, [1, 2])


QUESTIONS: list[tuple[Callable[..., list[Any]], dict[str, Any]]] = [
    (events, {"batch_id": 1}),
    (events, {"batch_id": 2}),
    (events, {"batch_id": 1, "all_versions": True}),
    (events, {"batch_id": 1, "kinds": [EventKind.READING]}),
    (events, {"batch_id": 1, "kinds": [EventKind.READING], "all_versions": True}),
    (events, {"batch_id": 1, "since_ms": NOW - HOUR // 2, "until_ms": NOW - 5}),
    (events, {"batch_id": 1, "unit_id": 1}),
    (events, {"batch_id": 1, "of_no_finding": True}),
    (events, {"batch_id": 1, "probe_id": 2}),
    (placements, {"batch_id": 1}),
    (placements, {"batch_id": 1, "probe_id": 2}),
    (placements, {"batch_id": 2, "open_only": True}),
    (placements, {"unit_id": 1}),
    (placements, {"unit_id": 2}),
    (placements, {"unit_id": 1, "batch_id": 1}),
    (clause_states, {"batch_id": 1}),
    (clause_states, {"batch_id": 2, "subject": "batch:2:1"}),
    (clause_states, {"batch_id": 1, "last_day": DAYS[1]}),
    (clause_states, {"unit_id": 1, "first_day": DAYS[0], "last_day": DAYS[1]}),
    (clause_states, {"unit_id": 1, "first_day": DAYS[1], "last_day": DAYS[1]}),
    (clause_states, {"unit_id": 2}),
    (forecasts, {"batch_id": 1}),
    (findings, {"batch_id": 1, "open_only": True}),
    (findings, {"batch_id": 1}),
    (findings, {"batch_id": 2, "open_only": True, "since_ms": NOW}),
    (rests, {"unit_id": 1, "first_ms": NOW, "last_ms": NOW}),
    (rests, {"unit_id": 2, "first_ms": NOW - 10, "last_ms": NOW - 8}),
    (rests, {"unit_id": None, "first_ms": NOW, "last_ms": NOW}),
]


@pytest.mark.parametrize(("ask", "given"), QUESTIONS, ids=lambda each: str(getattr(each, "__name__", each)))
def test_what_is_at_hand_is_what_the_database_says(
    store: Store, ask: Callable[..., list[Any]], given: dict[str, Any]
) -> None:
    """The database is asked first, then the look."""
    with store.read() as session:
        asked = ask(session, **given)
        with one_look(session):
            _gather(session)
            assert ask(session, **given) == asked
            assert ask(session, **given) == asked


def _asked(store: Store, ask: Callable[[Session], Any]) -> int:
    """Return how many statements a question takes."""
    said: list[str] = []

    def on(_connection: Any, _cursor: Any, statement: str, *_more: Any) -> None:
        said.append(statement)

    event.listen(store.engine, "before_cursor_execute", on)
    try:
        with store.read() as session:
            ask(session)
    finally:
        event.remove(store.engine, "before_cursor_execute", on)
    return len(said)


def test_more_batches_and_units_take_no_more_statements(store: Store, tmp_path: Path) -> None:
    """Twenty of each take at most what two take of which more is known."""
    with closing(open_store(store_url(tmp_path, None), migrate=True)) as larger:
        with larger.write() as session:
            open_kitchen(session)
            for number in range(20):
                told = {"now_ms": NOW, "by": BY}
                start_batch(session, product="Lemon curd", lot=f"M{number}", at_ms=NOW - HOUR, **told)
                add_unit(session, f"Case {number}", "display-case", **told)
        assert _asked(larger, lambda session: running(session, NOW)) <= _asked(
            store, lambda session: running(session, NOW)
        )
        assert _asked(larger, lambda session: unit_rows(session, NOW)) <= _asked(
            store, lambda session: unit_rows(session, NOW)
        )


def test_a_question_is_asked_once_a_look_and_every_time_without(store: Store) -> None:
    """A look inside of another is part of it."""
    asked: list[int] = []

    @asked_once
    def ask(_session: Session, number: int) -> list[int]:
        asked.append(number)
        return [number]

    with store.read() as session:
        with one_look(session), one_look(session):
            ask(session, 1).append(2)  # what is done with an answer changes no other
            assert ask(session, 1) == [1]
        assert asked == [1]
        ask(session, 1)
        ask(session, 1)
    assert asked == [1, 1, 1]


def test_rows_by_their_numbers_are_the_same_in_a_look(store: Store) -> None:
    """Some of them at hand already, some not."""
    with store.read() as session:
        asked = numbered(session, Probe, {1, 3, 99, None})
        assert set(asked) == {1, 3}
        with one_look(session):
            assert numbered(session, Probe, {1}) == {1: asked[1]}
            assert numbered(session, Probe, {1, 3, 99}) == asked
            assert numbered(session, Probe, {1, 3, 99}) == asked
