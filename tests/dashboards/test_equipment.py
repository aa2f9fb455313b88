"""What speaks appears on the Set-up page by itself, and one form names and places it."""

import pytest

from devices.simulator.device import Device, Format, encode
from devices.simulator.linden_street import DEVICES
from holdwatch.intake.keeper import Keeper
from holdwatch.intake.message import Message
from holdwatch.intake.roster import Roster
from holdwatch.people.pins import hash_pin
from holdwatch.storage.engine import Store
from holdwatch.storage.heard import keep_heard
from holdwatch.storage.people import add_person, keep_pin
from holdwatch.storage.ranges import last_readings
from holdwatch.storage.register import events, placements, probes, set_site, units
from holdwatch.storage.signing import signatures
from holdwatch.storage.tables import EventKind
from tests.dashboards.conftest import Opener, press, shown
from tests.support.heard import heard_now
from tests.views.conftest import BY, NOW

SPEAKERS = [next(each for each in DEVICES.values() if each.format is way) for way in Format]
"""One simulated device of each way of writing."""


def _speaks(store: Store, device: Device, at_ms: int, celsius: float) -> None:
    """Let the listener keep one message of a device."""
    message = Message(device.topic, encode(device, at_ms, celsius), at_ms, live=True, qos=1, mid=1, generation=1)
    keeper = Keeper(Roster())
    with store.write() as session:
        keeper.keep(session, keeper.prepare([message]), at_ms)


def _reads_f(store: Store) -> None:
    """Let somebody have recorded something before: the name is offered."""
    with store.write() as session:
        set_site(session, unit="F", from_ms=NOW - 1, now_ms=NOW, by=BY)


@pytest.mark.parametrize("device", SPEAKERS, ids=lambda device: device.format.value)
def test_a_device_that_speaks_is_named_and_placed_by_one_form(empty: Store, open_page: Opener, device: Device) -> None:
    """From its first message to a reading of its unit: nothing of how it writes need be known."""
    _reads_f(empty)
    _speaks(empty, device, NOW - 60_000, 4.0)
    assert "Heard, not yet placed" in shown(open_page())
    at = open_page("setup")
    text = shown(at)
    assert device.topic in text
    assert ("39.2 °F" if device.tells_instant else "4, °C or °F") in " ".join(text.split())
    key = f"heard-{device.topic}"
    at.text_input(key=f"{key}-unit").set_value("Walk-in 1")
    at.selectbox(key=f"{key}-where").set_value("a new unit")
    at.radio(key=f"{key}-medium").set_value("air")
    at.selectbox(key=f"{key}-who").set_value(BY)
    if not device.tells_instant:
        press(at, "Name and place it")
        assert "say whether its numbers are °C or °F" in shown(at)
        at.radio(key=f"{key}-scale").set_value("C")
    press(at, "Name and place it")
    assert f"{device.code} is heard from now on: air of a unit, Walk-in 1." in shown(at)
    assert "Nothing new is heard." in shown(at)
    _speaks(empty, device, NOW + 1_000, 5.0)
    with empty.read() as session:
        (probe,), (unit,) = probes(session), units(session)
        assert (probe.code, probe.medium, probe.topic) == (device.code, "air", device.topic)
        assert [(each.probe_id, each.unit_id) for each in placements(session)] == [(probe.id, unit.id)]
        assert last_readings(session)[probe.id or 0].celsius == pytest.approx(5.0, abs=0.01)
        assert {event.by for event in events(session, probe_id=probe.id)} == {BY}


def test_what_is_refused_leaves_nothing_behind(empty: Store, open_page: Opener) -> None:
    """A name that is no probe's leaves no unit without its probe: it is one transaction; what was typed stays."""
    _reads_f(empty)
    with empty.write() as session:
        keep_heard(session, [heard_now("holdwatch/x", at_ms=NOW, unit="C")])
    at = open_page("setup")
    at.text_input(key="heard-holdwatch/x-code").set_value("no name!")
    at.text_input(key="heard-holdwatch/x-unit").set_value("Walk-in 1")
    at.selectbox(key="heard-holdwatch/x-where").set_value("a new unit")
    at.radio(key="heard-holdwatch/x-medium").set_value("food")
    press(at, "Name and place it")
    assert "Say what it is called" in shown(at)
    at.selectbox(key="heard-holdwatch/x-who").set_value(BY)
    press(at, "Name and place it")
    assert "is no probe code" in shown(at)
    assert at.text_input(key="heard-holdwatch/x-unit").value == "Walk-in 1"
    with empty.read() as session:
        assert (probes(session), units(session)) == ([], [])


def test_with_people_it_is_a_managers_and_signed(empty: Store, open_page: Opener) -> None:
    """A cook's PIN is refused; the manager's signs the unit, the probe and its placement."""
    kept = hash_pin("4711")
    with empty.write() as session:
        keep_heard(session, [heard_now("holdwatch/x", at_ms=NOW, unit="C")])
        for name, initials, role in (("Ines Okafor", "IO", "manager"), ("Tom Reyes", "TR", "cook")):
            keep_pin(session, add_person(session, name, initials, role, now_ms=NOW, by=BY), kept, now_ms=NOW, by=BY)
    for name in ("Tom Reyes", "Ines Okafor"):
        at = open_page("setup")
        at.text_input(key="heard-holdwatch/x-unit").set_value("Walk-in 1")
        at.selectbox(key="heard-holdwatch/x-where").set_value("a new unit")
        at.radio(key="heard-holdwatch/x-medium").set_value("food")
        at.selectbox(key="heard-holdwatch/x-who").set_value(name)
        at.text_input(key="heard-holdwatch/x-pin").set_value("4711")
        press(at, "Name and place it")
        assert bool(at.error) is (name == "Tom Reyes")
    kinds = {EventKind.UNIT_ADDED, EventKind.PROBE_ADDED, EventKind.PROBE_PLACED}
    with empty.read() as session:
        made = events(session, kinds=kinds)
        assert {EventKind(event.kind) for event in made} == kinds
        assert set(signatures(session, [event.id or 0 for event in made])) == {event.id for event in made}


def test_setup_of_an_empty_kitchen_teaches_how_a_probe_is_added(empty: Store, open_page: Opener) -> None:
    """Where nothing speaks the page says what a probe must do, and a unit can be added."""
    _reads_f(empty)
    at = open_page("setup")
    text = shown(at)
    for words in ("Nothing new is heard.", "such as holdwatch/p1", "No probe yet.", "No unit yet: add the first one."):
        assert words in text
    at.text_input(key="unit-unit").set_value("Freezer 2")
    at.selectbox(key="unit-kind").set_value("freezer")
    at.selectbox(key="unit-who").set_value(BY)
    press(at, "Add the unit")
    with empty.read() as session:
        assert [(each.name, each.kind) for each in units(session)] == [("Freezer 2", "freezer")]
