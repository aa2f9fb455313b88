"""Deliveries: held against the receiving limits of 3-202.11, taken or refused."""

from dataclasses import replace
from datetime import date

import pytest

from holdwatch.errors import ConfigError, NameTakenError
from holdwatch.quantities import celsius_of_f
from holdwatch.storage.deliveries import Delivered, deliveries, record_delivery
from holdwatch.storage.engine import Store
from holdwatch.storage.register import batch_named, batches, events
from holdwatch.storage.tables import Event, EventKind
from tests.storage.kitchen import BY, NOW, open_kitchen

TODAY = date(2026, 5, 28)
CREAM = Delivered("Whipping cream", "Front Range Dairy", "receiving-cold", celsius_of_f(39), taken=True)


def _record(store: Store, came: Delivered) -> Event:
    with store.write() as session:
        if not batches(session):
            open_kitchen(session)
        return record_delivery(session, came, at_ms=NOW, now_ms=NOW, today=TODAY, by=BY)


@pytest.mark.parametrize(
    ("part", "fahrenheit", "verdict"),
    [
        ("receiving-cold", 41, "met"),  # 3-202.11(A): 41 °F or less
        ("receiving-cold", 41.2, "missed"),
        ("receiving-shell-eggs", 45, "met"),  # 3-202.11(C): ambient air of 45 °F or less
        ("receiving-shell-eggs", 45.2, "missed"),
        ("receiving-hot", 135, "met"),  # 3-202.11(D): 135 °F or above
        ("receiving-hot", 134.8, "missed"),
        ("receiving-cold", None, "unproven"),
        (None, None, "none"),
    ],
)
def test_a_delivery_is_held_against_its_limit(
    store: Store, part: str | None, fahrenheit: float | None, verdict: str
) -> None:
    """Food by food, eggs by their air; what nobody measured is not shown, dry goods are asked nothing."""
    celsius = None if fahrenheit is None else celsius_of_f(fahrenheit)
    why = "the driver waited" if verdict == "missed" else ""
    event = _record(store, replace(CREAM, part=part, celsius=celsius, why=why))
    assert event.facts["verdict"] == verdict
    with store.read() as session:
        (kept,) = deliveries(session, NOW, NOW)
        assert (kept.text, kept.facts["supplier"], kept.facts["taken"]) == ("Whipping cream", "Front Range Dairy", True)
        assert kept.batch_id is None


@pytest.mark.parametrize(
    ("fahrenheit", "part", "begins"),
    [
        (39, "receiving-cold", "cold-holding"),
        (44, "receiving-cold", "received-cooling"),  # lawfully received above 41 °F: 3-501.14(C)
        (140, "receiving-hot", "hot-holding"),
    ],
)
def test_what_is_taken_may_begin_a_batch(store: Store, fahrenheit: float, part: str, begins: str) -> None:
    """With what it measured at the door, and the maker's date."""
    why = "milk, as the law allows" if begins == "received-cooling" else ""
    came = replace(CREAM, part=part, celsius=celsius_of_f(fahrenheit), why=why, lot="WC-1", use_by="2026-06-01")
    event = _record(store, came)
    with store.read() as session:
        batch = batch_named(session, "WC-1")
        told = {each.kind: each for each in events(session, batch_id=batch.id)}
    assert event.batch_id == batch.id
    assert told[EventKind.BATCH_STARTED].facts["processes"] == [begins]
    assert told[EventKind.BATCH_STARTED].facts["use_by"] == "2026-06-01"
    assert told[EventKind.RECEIVED].celsius == pytest.approx(celsius_of_f(fahrenheit))
    assert told[EventKind.RECEIVED].facts["part"] == part


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"taken": False}, "say why it was refused"),
        ({"taken": False, "why": "warm", "lot": "WC-1"}, "becomes no batch"),
        ({"celsius": celsius_of_f(46)}, "refuse it, or say why"),
        ({"use_by": "2026-05-27"}, "is over"),
        ({"use_by": "tomorrow"}, "is no use-by date"),
        ({"part": None, "lot": "F-1"}, "with its evidence"),
        ({"part": "receiving-shell-eggs", "lot": "E-1"}, "which unit keeps them"),
        ({"part": "receiving-frozen"}, "use one of"),
        ({"what": " "}, "is no name of what came"),
        ({"supplier": ""}, "is no supplier"),
        ({"celsius": 900.0}, "no temperature of food"),
    ],
)
def test_what_cannot_be_is_refused_and_leaves_nothing(store: Store, changes: dict[str, object], says: str) -> None:
    """Neither a delivery nor a batch."""
    with pytest.raises(ConfigError, match=says):
        _record(store, replace(CREAM, **changes))  # type: ignore[arg-type]
    with store.read() as session:
        assert deliveries(session, 0, NOW) == []
        assert batches(session) == []


def test_a_refused_delivery_is_kept_and_becomes_no_batch(store: Store) -> None:
    """A use-by date that is over may well be the reason; today's is not over."""
    _record(store, replace(CREAM, taken=False, why="46 °F", celsius=celsius_of_f(46), use_by="2026-05-27"))
    _record(store, replace(CREAM, use_by="2026-05-28"))
    with store.read() as session:
        assert [each.facts["taken"] for each in deliveries(session, NOW, NOW)] == [False, True]
        assert len(batches(session)) == 1  # the kitchen's own


def test_a_lot_that_exists_is_refused(store: Store) -> None:
    """And the delivery with it."""
    _record(store, replace(CREAM, lot="WC-1"))
    with pytest.raises(NameTakenError):
        _record(store, replace(CREAM, lot="WC-1"))
    with store.read() as session:
        assert len(deliveries(session, NOW, NOW)) == 1
