"""When a unit is out of use."""

import pytest

from holdwatch.errors import ConfigError
from holdwatch.storage.arrivals import arrived
from holdwatch.storage.engine import Store
from holdwatch.storage.out_of_use import back_in_use, next_change_ms, rest_at, rests, take_out_of_use
from holdwatch.storage.register import place
from tests.storage.kitchen import BY, NOW, open_kitchen

HOUR = 3_600_000


def test_a_stretch_is_looked_up_with_its_ends(store: Store) -> None:
    """It begins with its first instant; at the one that ends it the unit is in use."""
    with store.write() as session:
        unit = open_kitchen(session).walk_in
        take_out_of_use(session, unit, "cleaned", from_ms=NOW - 5, to_ms=NOW + 5, now_ms=NOW, by=BY, text="racks out")
        number = unit.id or 0
        assert [rest_at(session, number, NOW + at) is not None for at in (-6, -5, 4, 5)] == [False, True, True, False]
        (rest,) = rests(session, number, NOW, NOW)
        assert (rest.purpose, rest.by, rest.text, rest.declared_ms) == ("cleaned", BY, "racks out", NOW)
        assert rests(session, number, NOW + 5, NOW + 9) == []
        assert [next_change_ms(session, number, NOW + at) for at in (-6, -5, 4, 5)] == [NOW - 5, NOW + 5, NOW + 5, None]


def test_an_open_stretch_ends_when_somebody_says_so(store: Store) -> None:
    """And one with an end may end earlier; the declaration stays."""
    with store.write() as session:
        unit = open_kitchen(session).walk_in
        number = unit.id or 0
        take_out_of_use(session, unit, "defrosted", from_ms=NOW - 9 * HOUR, now_ms=NOW, by=BY)
        assert rest_at(session, number, NOW + 400 * HOUR) is not None
        back_in_use(session, unit, at_ms=NOW - HOUR, now_ms=NOW, by="Tomas")
        assert rest_at(session, number, NOW) is None
        assert rest_at(session, number, NOW - 2 * HOUR) is not None
        with pytest.raises(ConfigError, match="Walk-in 1 was not out of use then"):
            back_in_use(session, unit, at_ms=NOW, now_ms=NOW, by="Tomas")


def test_a_closed_kitchen_is_every_unit_until_one_comes_back(store: Store) -> None:
    """What is said of one unit changes nothing for the others."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        take_out_of_use(session, None, "closed", from_ms=NOW - HOUR, to_ms=NOW + 9 * HOUR, now_ms=NOW, by=BY)
        number = kitchen.walk_in.id or 0
        assert rest_at(session, number, NOW) is not None
        back_in_use(session, kitchen.walk_in, at_ms=NOW, now_ms=NOW, by=BY)
        assert rest_at(session, number, NOW) is None
        assert rest_at(session, None, NOW) is not None


def test_a_kitchen_open_again_leaves_a_unit_in_repair_out_of_use(store: Store) -> None:
    """The unit was out of use for a reason of its own, which nobody said is over."""
    with store.write() as session:
        unit = open_kitchen(session).walk_in
        take_out_of_use(session, unit, "repaired", from_ms=NOW - 9 * HOUR, now_ms=NOW, by=BY)
        take_out_of_use(session, None, "closed", from_ms=NOW - 5 * HOUR, now_ms=NOW, by=BY)
        back_in_use(session, None, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        assert rest_at(session, None, NOW) is None
        running = rest_at(session, unit.id or 0, NOW)
        assert running is not None
        assert (running.purpose, running.to_ms) == ("repaired", None)
        back_in_use(session, unit, at_ms=NOW, now_ms=NOW, by=BY)
        assert rest_at(session, unit.id or 0, NOW) is None


@pytest.mark.parametrize(
    ("purpose", "from_ms", "to_ms", "says"),
    [
        ("holiday", NOW, None, "use one of empty, cleaned"),
        ("empty", NOW, NOW, "cannot be back in use before it is out of use"),
        ("empty", NOW, NOW - 1, "cannot be back in use"),
        ("closed", NOW + 400 * 24 * HOUR, None, "more than a year ahead"),
    ],
)
def test_what_is_no_stretch_is_refused(store: Store, purpose: str, from_ms: int, to_ms: int | None, says: str) -> None:
    """With what to write instead."""
    with store.write() as session:
        unit = open_kitchen(session).walk_in
        with pytest.raises(ConfigError, match=says):
            take_out_of_use(session, unit, purpose, from_ms=from_ms, to_ms=to_ms, now_ms=NOW, by=BY)


def test_the_watch_looks_again_at_the_unit_and_its_probes(store: Store) -> None:
    """A silence that is explained is taken back at once."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.air, unit=kitchen.walk_in, at_ms=NOW, now_ms=NOW, by=BY)
        placed = arrived(session)
        take_out_of_use(session, kitchen.walk_in, "empty", from_ms=NOW - HOUR, now_ms=NOW, by=BY)
        told = arrived(session, placed[-1].id or 0)
    assert [(each.unit_id, each.probe_id) for each in told] == [
        (kitchen.walk_in.id, None),
        (None, kitchen.air.id),
    ]
    assert {(each.first_ms, each.last_ms) for each in told} == {(NOW - HOUR, NOW)}
