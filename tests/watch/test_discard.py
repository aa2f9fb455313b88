"""By when a batch is to be gone: what says so, told before it and at it.

Published figures: FDA Food Code 2022, 3-501.17(A) (7 days, the day of preparation being the first), 3-501.19(B)
(4 h) and Standard 3.2.2 clause 25 with the 2 h/4 h rule of Safe Food Australia. A time in use has no published figure:
it is whatever the kitchen said.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from holdwatch.errors import ConfigError
from holdwatch.plan.starters import starter
from holdwatch.storage.engine import store_url
from holdwatch.storage.parts import add_part, divide_batch
from holdwatch.storage.products import set_product
from holdwatch.storage.register import end_batch
from holdwatch.storage.tables import Batch, EventKind
from holdwatch.views.discard import Discard, discard_times
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, straight

MIDNIGHT = T0 + 16 * HOUR - 1
"""The last millisecond of Tuesday 24 November 2026 in Denver."""
USED = {"facts": {"for_ms": 4 * HOUR}, "text": "4 h"}


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A kitchen with nothing in it."""
    found = Kitchen.on(store_url(tmp_path, None), migrate=True)
    yield found
    found.store.close()


def _cold(kitchen: Kitchen, lot: str = "L1", at_ms: int = T0) -> Batch:
    return kitchen.batch(lot, at_ms=at_ms, processes=["cold-holding"])


def _times(kitchen: Kitchen, batch: Batch, now_ms: int) -> list[tuple[str, int]]:
    with kitchen.store.read() as session:
        return [(each.clause, each.at_ms) for each in discard_times(session, session.merge(batch), now_ms)]


def _kinds(kitchen: Kitchen, clause: str, *, open_only: bool = True) -> list[str]:
    return [found.kind for found in kitchen.found(open_only=open_only) if found.clause == clause]


def _shelf(kitchen: Kitchen, name: str, days: int) -> None:
    product = replace(starter("pastry-cream"), name=name, shelf_days=days)
    with kitchen.store.write() as session:
        set_product(session, product, from_ms=T0 - DAY, now_ms=T0 - DAY, by="test", why="ours")


def test_date_mark_is_there_from_the_making_on(kitchen: Kitchen) -> None:
    """A label is printed when the food is made: seven days, of which today is the first."""
    batch = _cold(kitchen)
    assert _times(kitchen, batch, T0) == [("3-501.17(A)", MIDNIGHT + 6 * DAY)]


def test_earliest_time_governs(kitchen: Kitchen) -> None:
    """Taken out at 09:00 under 4 h: gone by 13:00, whatever the date mark says."""
    batch = _cold(kitchen)
    kitchen.note(batch, EventKind.REMOVED, T0 + HOUR, facts={"under": "time-control-4h"})
    assert _times(kitchen, batch, T0 + HOUR)[0] == ("3-501.19(B)", T0 + 5 * HOUR)


def test_nothing_is_asked_of_what_is_gone(kitchen: Kitchen) -> None:
    """Food that was used has no time left to be discarded by."""
    batch = _cold(kitchen)
    with kitchen.store.write() as session:
        ended = end_batch(session, session.merge(batch), outcome="used", at_ms=T0 + MIN, now_ms=T0 + MIN, by="test")
    assert _times(kitchen, ended, T0 + MIN) == []


def test_time_in_use_is_told_before_it_is_over_and_when_it_is(kitchen: Kitchen) -> None:
    """A piping bag in use from 08:00 for 4 h: told at 11:45, and at 12:00 that nobody recorded its end."""
    batch = _cold(kitchen)
    kitchen.note(batch, EventKind.IN_USE, T0, **USED)
    kitchen.rounds(T0 + 4 * HOUR - 15 * MIN - 1)
    assert _kinds(kitchen, "in use") == []
    kitchen.rounds(T0 + 4 * HOUR - 15 * MIN)
    assert _kinds(kitchen, "in use") == ["soon"]
    kitchen.rounds(T0 + 4 * HOUR)
    assert _kinds(kitchen, "in use") == ["not-shown"]


@pytest.mark.parametrize(("after", "verdict"), [(4 * HOUR, "met"), (4 * HOUR + 1, "missed")])
def test_time_in_use_that_was_ended_is_kept_or_not(kitchen: Kitchen, after: int, verdict: str) -> None:
    """The last instant still counts."""
    batch = _cold(kitchen)
    kitchen.note(batch, EventKind.IN_USE, T0, **USED)
    with kitchen.store.write() as session:
        end_batch(session, session.merge(batch), outcome="used", at_ms=T0 + after, now_ms=T0 + after, by="test")
    kitchen.rounds(T0 + after)
    assert kitchen.verdicts()["batch:1:1", "in use", "in use"] == verdict


def test_topping_up_gives_no_new_time(kitchen: Kitchen) -> None:
    """Into a tray in use since 08:00 comes food in use since 07:00: it is over an hour earlier; fresh food moves nothing."""
    old, tray, fresh = (_cold(kitchen, lot, at_ms) for lot, at_ms in (("O", T0 - HOUR), ("T", T0), ("F", T0)))
    kitchen.note(old, EventKind.IN_USE, T0 - HOUR, **USED)
    kitchen.note(tray, EventKind.IN_USE, T0, **USED)
    for part, at_ms in ((fresh, T0 + MIN), (old, T0 + 2 * MIN)):
        with kitchen.store.write() as session:
            both = session.merge(tray), session.merge(part)
            add_part(session, *both, at_ms=at_ms, now_ms=at_ms, by="test")
    assert _times(kitchen, tray, T0 + MIN)[0] == ("in use", T0 + 4 * HOUR)
    assert _times(kitchen, tray, T0 + 2 * MIN)[0] == ("in use", T0 + 3 * HOUR)


@pytest.mark.parametrize("into", ["shells", "cream"])
def test_date_mark_of_a_filling_counts_from_its_own_making(kitchen: Kitchen, into: str) -> None:
    """Shells of no TCS, baked three days before, are filled today: seven days from today, whichever is put into which."""
    shells = kitchen.batch("S", at_ms=T0 - 3 * DAY, not_tcs="baked shells, aw 0.60")
    cream = _cold(kitchen, "C")
    assert _times(kitchen, shells, T0) == []
    filled, part = (shells, cream) if into == "shells" else (cream, shells)
    with kitchen.store.write() as session:
        add_part(session, session.merge(filled), session.merge(part), at_ms=T0 + MIN, now_ms=T0 + MIN, by="test")
    assert _times(kitchen, filled, T0 + MIN) == [("3-501.17(A)", MIDNIGHT + 6 * DAY)]
    kitchen.rounds(T0 + 2 * DAY)
    assert kitchen.verdicts()[f"batch:{filled.id}:1", "date-marking", "3-501.17(A)"] == "met"


def test_part_in_use_takes_its_clock_along(kitchen: Kitchen) -> None:
    """Half of a bag in another bag is as long in use as the first."""
    batch = _cold(kitchen)
    kitchen.note(batch, EventKind.IN_USE, T0, **USED)
    with kitchen.store.write() as session:
        part = divide_batch(session, session.merge(batch), lot="L1-b", at_ms=T0 + HOUR, now_ms=T0 + HOUR, by="test")
    assert _times(kitchen, part, T0 + HOUR)[0] == ("in use", T0 + 4 * HOUR)


def test_own_shelf_life_is_watched_beside_the_date_mark(kitchen: Kitchen) -> None:
    """Three days, today the first: told from noon of Thursday on, a deviation once Friday has begun."""
    _shelf(kitchen, "Pastry cream", 3)
    batch = _cold(kitchen)
    last = MIDNIGHT + 2 * DAY
    assert _times(kitchen, batch, T0) == [("shelf life", last), ("3-501.17(A)", MIDNIGHT + 6 * DAY)]
    kitchen.rounds(last - 12 * HOUR)
    assert _kinds(kitchen, "shelf life") == ["soon"]
    kitchen.rounds(last + 1)
    assert _kinds(kitchen, "shelf life") == ["deviation"]


def test_days_in_the_freezer_do_not_count_in_the_own_shelf_life(kitchen: Kitchen) -> None:
    """Frozen on the first day, thawed on the fourth: the days of the freezer are left out, as in the date mark."""
    _shelf(kitchen, "Pastry cream", 3)
    batch = _cold(kitchen)
    kitchen.note(batch, EventKind.FROZEN, T0 + HOUR)
    assert _times(kitchen, batch, T0 + HOUR) == []
    kitchen.note(batch, EventKind.THAWED, T0 + 3 * DAY)
    # 24 Nov is day 1; 25 and 26 are frozen; 27 and 28 are days 2 and 3
    assert _times(kitchen, batch, T0 + 3 * DAY)[0] == ("shelf life", MIDNIGHT + 4 * DAY)


def test_times_added_up_say_when_they_will_be_four_hours(kitchen: Kitchen) -> None:
    """Out since 09:00 at 60 °F: by 13:00 it is to be gone, told half an hour before."""
    kitchen.limits("australia")
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", processes=["cold-holding"])
    kitchen.arrive("p1", straight(38, 38, 60, every_min=2), T0 + HOUR)
    kitchen.note(batch, EventKind.REMOVED, T0 + HOUR, facts={"under": "cumulative-time"})
    kitchen.arrive("p1", straight(60, 60, 30, start_ms=T0 + 61 * MIN), T0 + 91 * MIN)
    kitchen.rounds(T0 + 94 * MIN)
    due = [at for clause, at in _times(kitchen, batch, T0 + 94 * MIN) if "25" in clause or "4 h" in clause]
    assert len(due) == 1
    assert T0 + 5 * HOUR - 2_000 <= due[0] <= T0 + 5 * HOUR
    kitchen.rounds(due[0] - 30 * MIN + 1_000)
    assert "soon" in [found.kind for found in kitchen.found(open_only=True) if found.batch_id == 1]


def test_discard_time_is_said_as_a_day_or_as_an_instant() -> None:
    """A date mark ends with its day; a clock runs to the minute."""
    assert Discard(MIDNIGHT, "", "", "", whole_day=True).words("America/Denver") == "end of Tue 24 Nov"
    assert "12:00" in Discard(T0 + 4 * HOUR, "", "", "").words("America/Denver")


def test_food_that_came_into_one_vessel_alone_counts_too(kitchen: Kitchen) -> None:
    """Of three pans the third got food in use since 07:00: it is on the batch, and told in time."""
    old = _cold(kitchen, "O", T0 - HOUR)
    kitchen.note(old, EventKind.IN_USE, T0 - HOUR, **USED)
    pans = kitchen.batch("P", vessels=3, processes=["cold-holding"])
    with kitchen.store.write() as session:
        both = session.merge(pans), session.merge(old)
        add_part(session, *both, vessel=3, at_ms=T0 + MIN, now_ms=T0 + MIN, by="test")
    assert _times(kitchen, pans, T0 + MIN)[0] == ("in use", T0 + 3 * HOUR)
    kitchen.rounds(T0 + 3 * HOUR - 15 * MIN)
    assert {found.batch_id for found in kitchen.found() if found.clause == "in use"} == {old.id, pans.id}


def test_one_vessel_alone_is_not_taken_into_use(kitchen: Kitchen) -> None:
    """It is divided off: what is in use has a clock, a label and an end of its own."""
    pans = kitchen.batch("P", vessels=3, processes=["cold-holding"])
    with pytest.raises(ConfigError, match="divide it off first"):
        kitchen.note(pans, EventKind.IN_USE, T0, vessel=2, **USED)
