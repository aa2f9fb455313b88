"""The question of a recall, over a morning of our own invention."""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from sqlmodel import Session

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import ConfigError
from holdwatch.plan.starters import starter
from holdwatch.storage.doors import AT_THE_DOOR, door_code, unit_at_door
from holdwatch.storage.engine import Store
from holdwatch.storage.parts import add_part, divide_batch
from holdwatch.storage.products import set_product
from holdwatch.storage.register import add_unit, batch_named, end_batch, note, start_batch, unit_named
from holdwatch.storage.tables import Batch, EventKind
from holdwatch.views.recall import Held, containing, stood_in
from tests.views.conftest import BY, NOW, empty

__all__ = ["empty"]

T0 = NOW - 10 * MS_PER_HOUR


def _at(minutes: int) -> int:
    return T0 + minutes * MS_PER_MINUTE


def _batch(session: Session, lot: str, minutes: int, vessels: int = 1) -> Batch:
    return start_batch(session, product="Custard", lot=lot, vessels=vessels, at_ms=_at(minutes), now_ms=NOW, by=BY)


def _move(session: Session, lot: str, unit: str, minutes: int, vessel: int | None = None) -> None:
    where = unit_named(session, unit)
    batch = batch_named(session, lot)
    note(session, batch, EventKind.MOVED, at_ms=_at(minutes), now_ms=NOW, by=BY, unit=where, vessel=vessel)


@pytest.fixture
def session(empty: Store) -> Iterator[Session]:
    """A store with two units."""
    with empty.write() as opened:
        for name in ("Walk-in 1", "Walk-in 2"):
            add_unit(opened, name, "walk-in", now_ms=T0, by=BY)
        yield opened


def test_what_contains_a_lot_is_followed_through_every_part(session: Session) -> None:
    """Curd into two cakes, one of them into a tray: all of it is on the list, nothing else is."""
    curd, cake, other, tray, apart = (_batch(session, lot, 0) for lot in ("CURD", "CAKE", "CAKE-2", "TRAY", "APART"))
    for into, part, minutes in ((cake, curd, 30), (other, curd, 40), (tray, cake, 60), (tray, apart, 60)):
        add_part(session, into, part, at_ms=_at(minutes), now_ms=NOW, by=BY)
    found = containing(session, curd)
    assert [(each.batch.lot, each.why) for each in found] == [
        ("CURD", Held.ITSELF),
        ("CAKE", Held.CONTAINS),
        ("CAKE-2", Held.CONTAINS),
        ("TRAY", Held.CONTAINS),
    ]
    assert found[-1].through == ("CAKE",)
    assert [each.batch.lot for each in containing(session, tray)] == ["TRAY"]


def test_a_part_divided_off_contains_it_too(session: Session) -> None:
    """Half a batch poured off is the same food."""
    curd = _batch(session, "CURD", 0)
    divide_batch(session, curd, lot="CURD-B", at_ms=_at(20), now_ms=NOW, by=BY)
    assert [each.batch.lot for each in containing(session, curd)] == ["CURD", "CURD-B"]


@pytest.mark.parametrize(
    ("first", "last", "why"),
    [
        (0, 29, Held.MAY_HAVE),  # before its first move nobody wrote down where it stood
        (10, 30, Held.STOOD),  # the very minute it came
        (30, 90, Held.STOOD),
        (90, 90, Held.STOOD),  # the very minute it left
        (91, 119, None),  # it stood in the other one
        (121, 180, Held.MAY_HAVE),  # taken out, and nobody wrote down where to
        (181, 300, None),  # it had ended
    ],
)
def test_where_moves_are_recorded_they_decide(session: Session, first: int, last: int, why: Held | None) -> None:
    """Both ends included; what nobody wrote down may have been."""
    batch = _batch(session, "L1", 0)
    _move(session, "L1", "Walk-in 1", 30)
    _move(session, "L1", "Walk-in 2", 90)
    note(session, batch, EventKind.REMOVED, at_ms=_at(120), now_ms=NOW, by=BY)
    end_batch(session, batch, outcome="served", at_ms=_at(180), now_ms=NOW, by=BY)
    found = stood_in(session, unit_named(session, "Walk-in 1"), _at(first), _at(last))
    assert [each.why for each in found] == ([] if why is None else [why])


def test_a_batch_whose_moves_nobody_wrote_down_may_have_stood_anywhere(session: Session) -> None:
    """From its start to its end."""
    _batch(session, "L1", 60)
    assert stood_in(session, unit_named(session, "Walk-in 2"), _at(0), _at(59)) == []
    (found,) = stood_in(session, unit_named(session, "Walk-in 2"), _at(0), _at(60))
    assert (found.batch.lot, found.why, found.from_ms, found.to_ms) == ("L1", Held.MAY_HAVE, _at(60), None)


def test_one_vessel_moved_leaves_open_where_the_others_are(session: Session) -> None:
    """The whole batch stays on the list of both units."""
    _batch(session, "L1", 0, vessels=3)
    _move(session, "L1", "Walk-in 1", 10)
    _move(session, "L1", "Walk-in 2", 30, vessel=2)
    for unit in ("Walk-in 1", "Walk-in 2"):
        (found,) = stood_in(session, unit_named(session, unit), _at(60), _at(90))
        assert found.why is Held.STOOD


def test_what_stood_there_and_went_into_something_is_followed(session: Session) -> None:
    """The cake never stood in the failing walk-in; its filling did."""
    curd, cake = _batch(session, "CURD", 0), _batch(session, "CAKE", 200)
    _move(session, "CURD", "Walk-in 1", 10)
    _move(session, "CAKE", "Walk-in 2", 200)
    add_part(session, cake, curd, at_ms=_at(210), now_ms=NOW, by=BY)
    found = stood_in(session, unit_named(session, "Walk-in 1"), _at(20), _at(100))
    assert [(each.batch.lot, each.why, each.through) for each in found] == [
        ("CURD", Held.STOOD, ()),
        ("CAKE", Held.CONTAINS, ("CURD",)),
    ]


def test_a_move_that_was_confirmed_at_the_door_says_so(session: Session) -> None:
    """The code on the door names the unit, however it is written; another one stands on no door."""
    _batch(session, "A", 0)
    unit = unit_named(session, "Walk-in 1")
    code = door_code(session, unit)
    assert unit_at_door(session, f" {code.lower()} ") == unit
    assert code != door_code(session, unit_named(session, "Walk-in 2"))
    note(
        session,
        batch_named(session, "A"),
        EventKind.MOVED,
        at_ms=_at(10),
        now_ms=NOW,
        by=BY,
        unit=unit,
        facts=AT_THE_DOOR,
    )
    (found,) = stood_in(session, unit, _at(20), _at(30))
    assert found.words == "stood there, confirmed at the door"
    with pytest.raises(ConfigError, match="stands on no door"):
        unit_at_door(session, "00000")


def test_the_usual_place_of_a_product_is_said_and_shows_nothing(session: Session) -> None:
    """By the plan it stands in Walk-in 1; it may as well have stood in the other one."""
    product = starter("pastry-cream")
    steps = tuple(replace(step, place="Walk-in 1") for step in product.steps)
    own = replace(product, name="Custard", steps=steps)
    set_product(session, own, from_ms=T0 - 1, now_ms=NOW, by=BY, why="ours")
    _batch(session, "A", 0)
    (usual,) = stood_in(session, unit_named(session, "Walk-in 1"), _at(20), _at(30))
    (other,) = stood_in(session, unit_named(session, "Walk-in 2"), _at(20), _at(30))
    assert (usual.why, usual.words) == (Held.MAY_HAVE, "may have stood there, its usual place")
    assert other.words == "may have stood there"
