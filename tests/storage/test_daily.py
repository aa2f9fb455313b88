"""Closing, opening, and days on which nothing was cooled."""

from datetime import date

import pytest

from holdwatch.errors import ConfigError
from holdwatch.storage.daily import STOOD, last_round, nothing_cooled_on, record_round, say_nothing_cooled
from holdwatch.storage.engine import Store
from holdwatch.storage.events import events
from holdwatch.storage.tables import EventKind
from tests.storage.kitchen import BY, NOW, open_kitchen

DAY = date(2026, 5, 28)
HOUR = 3_600_000
SPAN = (NOW - 48 * HOUR, NOW - 24 * HOUR)


def test_a_round_keeps_what_stood_on_it(store: Store) -> None:
    """Who, when, and every line as it was; the latest before an instant is found again."""
    lines = [["Will not get cold by itself", "Custard L1", "it will miss", "ice bath"]]
    with store.write() as session:
        for hours, kind in ((9, EventKind.CLOSING), (1, EventKind.OPENING), (0, EventKind.CLOSING)):
            at_ms = NOW - hours * HOUR
            record_round(session, kind, lines, at_ms=at_ms, now_ms=NOW, by=BY, text=" gas off ", back_ms=NOW + HOUR)
    with store.read() as session:
        found = last_round(session, EventKind.CLOSING, NOW - 1)
        assert found is not None
        assert (found.at_ms, found.by, found.text) == (NOW - 9 * HOUR, BY, "gas off")
        assert found.facts == {STOOD: lines, "back_ms": NOW + HOUR}
        assert last_round(session, EventKind.CLOSING, NOW - 10 * HOUR) is None


def test_what_is_no_round_is_refused(store: Store) -> None:
    """Another kind of entry, nobody's name, an instant ahead."""
    with store.write() as session:
        for kind, by, at_ms in (
            (EventKind.NOTE, BY, NOW),
            (EventKind.CLOSING, " ", NOW),
            (EventKind.OPENING, BY, NOW + HOUR),
        ):
            with pytest.raises(ConfigError):
                record_round(session, kind, [], at_ms=at_ms, now_ms=NOW, by=by)
        assert events(session, kinds=[EventKind.CLOSING, EventKind.OPENING]) == []


def test_an_empty_day_is_explained_once(store: Store) -> None:
    """It stands in that day, and is not said twice."""
    with store.write() as session:
        event = say_nothing_cooled(session, DAY, SPAN, now_ms=NOW, by=BY, text="closed")
        assert (event.at_ms, event.facts["day"]) == (SPAN[1], "2026-05-28")
        with pytest.raises(ConfigError, match="recorded already"):
            say_nothing_cooled(session, DAY, SPAN, now_ms=NOW, by=BY)
    with store.read() as session:
        assert nothing_cooled_on(session, DAY) is not None
        assert nothing_cooled_on(session, date(2026, 5, 27)) is None


def test_a_day_on_which_something_cooled_is_not_called_empty(store: Store) -> None:
    """The lot is named; a day that lies ahead is refused as well."""
    with store.write() as session:
        open_kitchen(session)  # its batch began an hour ago
        with pytest.raises(ConfigError, match="L1"):
            say_nothing_cooled(session, DAY, (NOW - 2 * HOUR, NOW), now_ms=NOW, by=BY)
        with pytest.raises(ConfigError, match="future"):
            say_nothing_cooled(session, DAY, (NOW + 2 * HOUR, NOW + 26 * HOUR), now_ms=NOW, by=BY)
