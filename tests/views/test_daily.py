"""What a closing and an opening list, over a morning judged by the watch itself."""

from dataclasses import replace
from datetime import date

import pytest

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import ConfigError
from holdwatch.people.handling import Act, Disposition
from holdwatch.plan.changing import taken, with_step
from holdwatch.storage.daily import record_round, say_nothing_cooled
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import finding_by_key, open_finding
from holdwatch.storage.handling import Signer, record_act
from holdwatch.storage.products import set_product
from holdwatch.storage.register import batch_named, note, start_batch
from holdwatch.storage.states import forecasts
from holdwatch.storage.tables import EventKind, FindingKind
from holdwatch.views.closing import closing, comes_back
from holdwatch.views.daily import Line, Part, back_by, day_bounds, read_back, stood
from holdwatch.views.opening import looks_back, opening
from holdwatch.watch.rounds import go_round
from tests.charts.kitchen import at
from tests.views.conftest import BY, NOW, Morning, empty, morning

__all__ = ["empty", "morning"]

ZONE = "America/Denver"


def _part(parts: list[Part], title: str) -> dict[str, Line]:
    (found,) = [part for part in parts if part.title == title]
    return {line.about: line for line in found.lines}


def _closing(store: Store, back_ms: int = NOW + 10 * MS_PER_HOUR) -> list[Part]:
    with store.read() as session:
        return closing(session, NOW, back_ms)


def _opening(store: Store, now_ms: int = NOW) -> list[Part]:
    with store.read() as session:
        return opening(session, now_ms)


def test_what_will_miss_is_listed_with_what_to_do_now(morning: Morning) -> None:
    """The slow custard, by the word of its forecast; the one that is surely in time is not on the list."""
    found = _part(_closing(morning.store), "Will not get cold by itself")
    assert list(found) == ["Custard B-0412"]
    line = found["Custard B-0412"]
    assert "70\u202f°F by Wed 14 Oct 12:" in line.words
    assert "split it into shallow pans" in line.todo
    assert "discard it now" in line.todo
    assert line.link == f"/batches?batch={morning.slow}"
    steps = {"in_time": "Into the snow tub.", "action": "Bin it, and tell Mara."}
    product = replace(with_step(taken("pastry-cream"), 2, steps), name="Custard")
    with morning.store.write() as session:
        set_product(session, product, from_ms=NOW - MS_PER_DAY, now_ms=NOW, by=BY, why="first plan")
    todo = _part(_closing(morning.store), "Will not get cold by itself")["Custard B-0412"].todo
    assert todo.startswith("By the plan: Into the snow tub. Besides: Cool it faster now")
    assert todo.endswith("What nobody can get cold before leaving, by the plan: Bin it, and tell Mara.")


def test_nobody_is_asked_to_cool_what_nobody_is_to_serve(morning: Morning) -> None:
    """Of a vessel in a deviation the list says what the finding says, until somebody has dealt with it."""
    with morning.store.write() as session:
        told = {"key": "d", "subject": f"batch:{morning.slow}:1", "title": "Custard B-0412", "reason": "too late"}
        finding = open_finding(
            session, kind=FindingKind.DEVIATION, since_ms=NOW, now_ms=NOW, batch_id=morning.slow, **told
        )
        finding.facts = {**finding.facts, "process": "cooling"}
        session.add(finding)
    listed = _part(_closing(morning.store), "Will not get cold by itself")["Custard B-0412"]
    assert "Cool it faster" not in listed.todo
    assert listed.todo.startswith("Do not serve it.")
    with morning.store.write() as session:
        deviation = finding_by_key(session, "d")
        assert deviation is not None
        record_act(
            session, deviation, Act.ACTION, Signer("Ines Okafor"), at_ms=NOW, now_ms=NOW,
            disposition=Disposition.RE_CHILL, text="her decision",
        )  # fmt: skip
    assert "Cool it faster" in _part(_closing(morning.store), "Will not get cold by itself")["Custard B-0412"].todo


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"reaches": False}, "will not get there"),
        ({"reaches": None, "reason": "too few readings"}, "no forecast yet: too few readings"),
        ({"latest_ms": NOW + 30 * MS_PER_HOUR}, "may miss"),
        ({"latest_ms": None}, "may miss"),
    ],
)
def test_only_a_forecast_that_is_wholly_in_time_leaves_the_list(
    morning: Morning, changes: dict[str, object], says: str
) -> None:
    """A wide forecast, none, or one that never gets there is decided before leaving."""
    with morning.store.write() as session:
        for row in forecasts(session, morning.well):
            for name, value in changes.items():
                setattr(row, name, value)
            session.add(row)
    assert (
        says
        in _part(_closing(morning.store), "Will not get cold by itself")["Pastry cream L-0412, vessel 1 of 6"].words
    )


def test_a_batch_without_a_probe_is_listed(morning: Morning) -> None:
    """Until somebody measures nothing is shown; food of which no limit is asked is left out."""
    with morning.store.write() as session:
        start_batch(session, product="Curd", lot="C1", at_ms=NOW, now_ms=NOW, by=BY)
        start_batch(session, product="Sponge", lot="S1", at_ms=NOW, now_ms=NOW, by=BY, not_tcs="dry, aw 0.70")
    go_round(morning.store, NOW)
    found = _part(_closing(morning.store), "Nobody measures it")
    assert list(found) == ["Curd C1"]
    assert "by hand" in found["Curd C1"].todo


@pytest.mark.parametrize(("hours", "listed"), [(3.9, False), (4.1, True)])
def test_a_discard_time_is_listed_if_it_passes_before_somebody_is_back(
    morning: Morning, hours: float, listed: bool
) -> None:
    """Four hours from removal, 3-501.19(B): before, it can still be used by those who come back."""
    with morning.store.write() as session:
        tray = start_batch(
            session, product="Eclairs", lot="E1", at_ms=NOW, now_ms=NOW, by=BY, processes=["cold-holding"]
        )
        note(session, tray, EventKind.REMOVED, at_ms=NOW, now_ms=NOW, by=BY, facts={"under": "time-control-4h"})
    go_round(morning.store, NOW)
    back_ms = NOW + round(hours * MS_PER_HOUR)
    found = _part(_closing(morning.store, back_ms), "Time is up before somebody is back")
    assert ("Eclairs E1" in found) == listed


def test_opening_tells_the_night_and_what_must_go(morning: Morning) -> None:
    """The spell in the walk-in with where it stands; a tray whose four hours are over."""
    with morning.store.write() as session:
        tray = start_batch(
            session, product="Eclairs", lot="E1", at_ms=NOW, now_ms=NOW, by=BY, processes=["cold-holding"]
        )
        note(session, tray, EventKind.REMOVED, at_ms=NOW, now_ms=NOW, by=BY, facts={"under": "time-control-4h"})
    later = NOW + 5 * MS_PER_HOUR
    for _ in range(3):
        go_round(morning.store, later)
    parts = _opening(morning.store, later)
    assert "Stands: unseen" in _part(parts, "What the night did")["Walk-in 1, probe w1"].words
    (must_go,) = [part for part in parts if part.title == "What must go, or be decided"]
    (gone,) = [line for line in must_go.lines if "3-501.19(B)" in line.words]
    assert (gone.about, gone.todo[:7]) == ("Eclairs E1", "Discard")


def test_a_date_mark_that_ends_today_is_listed_today_alone(morning: Morning) -> None:
    """Seven days with the day of preparation as the first, 3-501.17(A): the 20th is the last of the 14th."""
    with morning.store.write() as session:
        curd = start_batch(session, product="Curd", lot="C1", at_ms=NOW, now_ms=NOW, by=BY, processes=["cold-holding"])
        note(session, curd, EventKind.PREPARED, at_ms=NOW, now_ms=NOW, by=BY)
    listed = []
    for days in (5, 6, 7):
        now_ms = NOW + days * MS_PER_DAY
        for _ in range(3):
            go_round(morning.store, now_ms)
        listed.append("Curd C1" in _part(_opening(morning.store, now_ms), "Date marks that end today"))
    assert listed == [False, True, False]
    assert "Curd C1" in _part(_opening(morning.store, NOW + 7 * MS_PER_DAY), "What must go, or be decided")


def test_opening_looks_back_to_the_closing_that_was_recorded(morning: Morning) -> None:
    """Without one, sixteen hours, and it says so."""
    with morning.store.write() as session:
        assert looks_back(session, NOW)[0] == NOW - 16 * MS_PER_HOUR
        assert "No closing was recorded" in looks_back(session, NOW)[1]
        record_round(session, EventKind.CLOSING, [], at_ms=NOW - 9 * MS_PER_HOUR, now_ms=NOW, by=BY)
        assert looks_back(session, NOW)[0] == NOW - 9 * MS_PER_HOUR
        assert f"that {BY} went through" in looks_back(session, NOW)[1]


def test_an_empty_yesterday_asks_to_be_explained(empty: Store) -> None:
    """And is, once somebody has said that nothing was cooled."""
    assert "no batch was started" in _part(_opening(empty), "Yesterday")["Tue 13 Oct"].words
    day = date(2026, 10, 13)
    with empty.write() as session:
        say_nothing_cooled(session, day, day_bounds(day, ZONE), now_ms=NOW, by=BY)
    assert f"recorded by {BY}" in _part(_opening(empty), "Yesterday")["Tue 13 Oct"].words


def test_a_batch_named_is_there(morning: Morning) -> None:
    """What is kept of a list is each line with the part it stood in."""
    with morning.store.read() as session:
        assert batch_named(session, "B-0412").product == "Custard"
    kept = stood(_closing(morning.store))
    assert ["Will not get cold by itself", "Custard B-0412"] in [line[:2] for line in kept]


def test_when_somebody_is_back_is_the_time_of_the_last_opening(empty: Store) -> None:
    """Else six in the morning; by the clock of the wall also where the clocks are changed that night."""
    assert back_by(None, NOW, ZONE) == at(2026, 10, 15, 6, 0)
    before_change = at(2026, 10, 31, 22, 0)
    assert back_by(at(2026, 10, 30, 4, 30), before_change, ZONE) == at(2026, 11, 1, 4, 30)
    with empty.write() as session:
        record_round(session, EventKind.OPENING, [], at_ms=at(2026, 10, 14, 4, 45), now_ms=NOW, by=BY)
        assert comes_back(session, NOW) == at(2026, 10, 15, 4, 45)


def test_when_somebody_is_back_can_be_written(empty: Store) -> None:
    """A time of day is the next one; an instant that is over is refused."""
    assert empty
    assert read_back("05:30", NOW, ZONE) == at(2026, 10, 15, 5, 30)
    assert read_back("23:00", NOW, ZONE) == at(2026, 10, 14, 23, 0)
    assert read_back("2026-10-16T06:00", NOW, ZONE) == at(2026, 10, 16, 6, 0)
    for wrong in ("soon", "2026-10-14T06:00", "25:00"):
        with pytest.raises(ConfigError):
            read_back(wrong, NOW, ZONE)
    assert back_by(None, NOW, ZONE) - NOW < 24 * 60 * MS_PER_MINUTE


def test_a_piping_bag_in_use_has_its_own_clock_on_the_closing(empty: Store) -> None:
    """Two hours in use, by the kitchen's own plan; it stands there at once, before the watch has looked."""
    with empty.write() as session:
        bag = start_batch(session, product="Curd", lot="BAG", at_ms=NOW, now_ms=NOW, by=BY, processes=["cold-holding"])
        used = {"for_ms": 2 * MS_PER_HOUR}
        note(session, bag, EventKind.IN_USE, at_ms=NOW, now_ms=NOW, by=BY, text="piping bag", facts=used)
    assert "2 h in use" in _part(_closing(empty), "Time is up before somebody is back")["Curd BAG"].words
    assert _part(_closing(empty, NOW + MS_PER_HOUR), "Time is up before somebody is back") == {}
    gone = _part(_opening(empty, NOW + 3 * MS_PER_HOUR), "What must go, or be decided")["Curd BAG"]
    assert gone.todo.startswith("Discard it")
