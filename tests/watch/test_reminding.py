"""Reminders: one message a day for each kind, at the site's hour, about what is really due."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlmodel import select

from holdwatch.storage.contacts import add_contact
from holdwatch.storage.day_reviews import review_days
from holdwatch.storage.engine import store_url
from holdwatch.storage.events import record_event
from holdwatch.storage.findings import findings
from holdwatch.storage.people import add_person
from holdwatch.storage.register import end_batch
from holdwatch.storage.tables import Alert, EventKind, Finding
from holdwatch.storage.visits import record_visit
from holdwatch.views.days_reviewed import unreviewed_days
from holdwatch.watch.reminding import Reminders
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen

SIX = T0 + 6 * DAY - 2 * HOUR
"""06:00 in Denver on the seventh day; T0 is 08:00."""


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A kitchen with one who is told."""
    found = Kitchen.on(store_url(tmp_path, None), migrate=True)
    with found.store.write() as session:
        add_contact(session, "manager", "json://manager", now_ms=T0, by="test")
    yield found
    found.store.close()


def _titles(kitchen: Kitchen) -> list[str]:
    with kitchen.store.read() as session:
        return [alert.title for alert in session.exec(select(Alert).order_by(Alert.id))]  # type: ignore[arg-type]


def _go_over_until(kitchen: Kitchen, now_ms: int) -> None:
    """Review every day that is over, so that nothing reminds of them."""
    with kitchen.store.write() as session:
        days = unreviewed_days(session, now_ms)
        review_days(session, days[0], days[-1], ended_before="2099-01-01", by="test", manager=None, now_ms=now_ms)


def _reminders(kitchen: Kitchen) -> Reminders:
    return Reminders(kitchen.store, "http://x", 6 * 60)


def test_nothing_due_tells_nothing(kitchen: Kitchen) -> None:
    """An empty kitchen is left in peace."""
    assert _reminders(kitchen).go_on(SIX) == 0
    assert _titles(kitchen) == []


def test_date_marks_of_today_are_one_message_at_the_hour_and_once(kitchen: Kitchen) -> None:
    """Made on day 1, its seventh day ends today (FDA Food Code 2022, 3-501.17(A)): not before six, and once."""
    for number in range(15):
        kitchen.batch(f"L{number}", processes=["cold-holding"])
    kitchen.batch("L99", at_ms=T0 + DAY, processes=["cold-holding"])  # ends tomorrow
    _go_over_until(kitchen, SIX - HOUR)
    reminders = _reminders(kitchen)
    assert reminders.go_on(SIX - MIN) == 0
    assert reminders.go_on(SIX) == 1
    assert reminders.go_on(SIX + HOUR) == 0
    assert _reminders(kitchen).go_on(SIX + 2 * HOUR) == 0  # nor after a restart
    (title,) = _titles(kitchen)
    assert title.startswith("Reminder: 15 batches end today: ")
    with kitchen.store.read() as session:
        (told,) = session.exec(select(Finding)).all()
        assert "and 3 more" in told.reason
        assert "L99" not in told.reason
        assert findings(session) == []  # on no list and no paper
    _go_over_until(kitchen, SIX + DAY - HOUR)
    assert reminders.go_on(SIX + DAY) == 1
    with kitchen.store.read() as session:
        assert [found.closed_ms is None for found in session.exec(select(Finding))] == [False, True]
    assert len(_titles(kitchen)) == 2  # that a reminder is over is told to nobody


def test_what_is_gone_is_not_reminded_of(kitchen: Kitchen) -> None:
    """Food that was used has no date mark to end."""
    batch = kitchen.batch("L1", processes=["cold-holding"])
    with kitchen.store.write() as session:
        end_batch(session, session.merge(batch), at_ms=T0 + DAY, now_ms=T0 + DAY, by="test", outcome="served")
    _go_over_until(kitchen, SIX - HOUR)
    assert _reminders(kitchen).go_on(SIX) == 0


def test_discard_times_of_today_say_the_first(kitchen: Kitchen) -> None:
    """Out of temperature control since 05:30 under 4 h: by 09:30 (FDA Food Code 2022, 3-501.19(B))."""
    out_ms = T0 + DAY - 2 * HOUR - 30 * MIN
    batch = kitchen.batch("L1", processes=["cold-holding"])
    kitchen.note(batch, EventKind.REMOVED, out_ms, facts={"under": "time-control-4h"})
    _go_over_until(kitchen, out_ms)
    assert _reminders(kitchen).go_on(T0 + DAY - 2 * HOUR) == 1
    (title,) = _titles(kitchen)
    assert title.startswith("Reminder: 1 discard time today, first 09:30")


def test_unsigned_entries_of_earlier_days_are_told_by_name(kitchen: Kitchen) -> None:
    """What was recorded today may still be signed today."""
    with kitchen.store.write() as session:
        add_person(session, "Tomas Ek", "TE", "cook", now_ms=T0, by="test")
        for at_ms in (T0 + HOUR, T0 + 2 * HOUR, T0 + DAY - 3 * HOUR):
            record_event(session, EventKind.ACTION, at_ms=at_ms, now_ms=at_ms, by="Tomas Ek", text="discarded")
    assert _reminders(kitchen).go_on(T0 + DAY - 2 * HOUR) == 1
    assert _titles(kitchen) == ["Reminder: 2 entries of earlier days to be signed"]
    with kitchen.store.read() as session:
        assert session.exec(select(Finding)).one().reason == "Tomas Ek 2."


def test_checks_of_probes_are_told_once_a_week(kitchen: Kitchen) -> None:
    """T0 is a Tuesday: once until Sunday, and again on Monday."""
    kitchen.probe("f1")
    kitchen.unit("Walk-in 1", "walk-in", "f1")
    reminders = _reminders(kitchen)
    told = [reminders.go_on(T0 + number * DAY) for number in range(8)]
    assert told == [1, 0, 0, 0, 0, 0, 1, 0]
    assert _titles(kitchen)[0] == "Reminder: 1 probe is to be checked at a known temperature"


def test_a_reminder_says_what_to_do(kitchen: Kitchen) -> None:
    """Not to run the check-up of the program."""
    kitchen.probe("f1")
    kitchen.unit("Walk-in 1", "walk-in", "f1")
    _reminders(kitchen).go_on(T0)
    with kitchen.store.read() as session:
        body = session.exec(select(Alert)).one().body
    assert "Do: Hold each probe into ice" in body
    assert "To be checked: f1 (never checked)." in body


def test_an_officers_next_visit_is_told_the_day_before_and_that_morning(kitchen: Kitchen) -> None:
    """T0 is the 24th of November: they come again on the 27th."""
    with kitchen.store.write() as session:
        said = {"at_ms": T0, "now_ms": T0, "by": "test"}
        record_visit(session, "J. Ortiz", "Denver Public Health", next_visit="2026-11-27", **said)  # type: ignore[arg-type]
        record_visit(session, "M. Hale", "Denver Water", next_visit="2027-05-01", **said)  # type: ignore[arg-type]
    reminders = _reminders(kitchen)
    assert [reminders.go_on(T0 + number * DAY) for number in range(5)] == [0, 0, 1, 1, 0]
    assert _titles(kitchen) == [
        f"Reminder: A visit {when}: J. Ortiz, Denver Public Health" for when in ("tomorrow", "today")
    ]


def test_days_that_nobody_signed_are_told_until_somebody_has(kitchen: Kitchen) -> None:
    """Those that are over and on which something ran."""
    kitchen.batch("L1")
    reminders = _reminders(kitchen)
    assert reminders.go_on(T0) == 0  # the first day is not over
    assert reminders.go_on(T0 + 2 * DAY) == 1
    assert _titles(kitchen) == ["Reminder: 2 days are to be gone over and signed"]
    with kitchen.store.read() as session:
        assert session.exec(select(Finding)).one().reason == "24 Nov 2026; 25 Nov 2026."
    _go_over_until(kitchen, T0 + 3 * DAY - HOUR)
    assert reminders.go_on(T0 + 3 * DAY) == 0
