"""Opening and closing on the screen."""

from holdwatch.storage.daily import STOOD
from holdwatch.storage.register import add_unit, batch_named, events, note, unit_named
from holdwatch.storage.tables import EventKind
from tests.dashboards.conftest import Opener, empty, morning, press, shown
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning"]


def test_a_closing_is_gone_through_and_keeps_what_stood_on_it(morning: Morning, open_page: Opener) -> None:
    """The slow custard with what to do; the entry holds the list as it was drawn."""
    at = open_page("round")
    text = shown(at)
    assert "Will not get cold by itself: 1" in text
    assert "Custard B-0412" in text
    assert "split it into shallow pans" in text
    at.text_input(key="round-closing-text").input("gas is off")
    at.selectbox(key="round-closing-who").set_value(BY)
    press(at, "Record the closing as gone through")
    assert f"closing gone through by {BY}" in shown(at)
    with morning.store.read() as session:
        (event,) = events(session, kinds=[EventKind.CLOSING])
    assert (event.by, event.text) == (BY, "gas is off")
    assert "Custard B-0412" in [line[1] for line in event.facts[STOOD]]


def test_a_round_is_not_recorded_without_a_name(morning: Morning, open_page: Opener) -> None:
    """It says so beside the field."""
    at = open_page("round", part="opening")
    press(at, "Record the opening as gone through")
    assert "Say who you are" in shown(at)
    with morning.store.read() as session:
        assert events(session, kinds=[EventKind.OPENING]) == []


def test_an_empty_yesterday_is_explained(morning: Morning, open_page: Opener) -> None:
    """Nothing cooled is an entry of its own."""
    at = open_page("round", part="opening")
    assert "no batch was started" in shown(at).lower()
    at.radio(key="round-nothing-day").set_value("yesterday")
    at.selectbox(key="round-nothing-who").set_value(BY)
    press(at, "Record that nothing was cooled")
    assert "nothing was cooled yesterday" in shown(at)
    with morning.store.read() as session:
        (event,) = events(session, kinds=[EventKind.NOTHING_COOLED])
    assert event.facts["day"] == "2026-10-13"


def test_a_time_that_is_none_is_told_beside_its_field(morning: Morning, open_page: Opener) -> None:
    """And no list is drawn that nobody asked for."""
    assert morning.slow
    at = open_page("round")
    at.text_input(key="round-back").input("early").run()
    assert "is not a time" in shown(at)
    assert "Will not get cold" not in shown(at)


def test_a_unit_is_declared_out_of_use_and_comes_back(morning: Morning, open_page: Opener) -> None:
    """From last night to this morning, afterwards; then open, and back: the Bench says so meanwhile."""
    at = open_page("round", part="out-of-use")
    press(at, "Declare it out of use")
    assert "Choose the unit" in shown(at)
    at.selectbox(key="round-rest-unit").set_value("Walk-in 1")
    at.text_input(key="round-rest-from").input("22:00")
    at.text_input(key="round-rest-to").input("05:30")
    at.selectbox(key="round-rest-who").set_value(BY)
    press(at, "Declare it out of use")
    assert f"Recorded by {BY}: Walk-in 1 is out of use, cleaned." in shown(at)
    with morning.store.read() as session:
        (event,) = events(session, kinds=[EventKind.OUT_OF_USE])
    assert (event.facts["to_ms"] - event.at_ms) / 3_600_000 == 7.5
    at.selectbox(key="round-rest-1-unit").set_value("Walk-in 1")
    press(at, "Declare it out of use")
    assert "Units out of use: 1" in shown(at)
    assert "Out of use since Wed 14 Oct 11:42 MDT, cleaned, by Mara" in shown(open_page())
    at.selectbox(key="round-back-in-use-unit").set_value("Walk-in 1")
    press(at, "It is back in use")
    assert "Every unit is in use" in shown(at)


def test_a_delivery_is_refused_and_another_taken(morning: Morning, open_page: Opener) -> None:
    """What is missing is told and nothing typed is lost; both stand under today."""
    at = open_page("round", part="deliveries")
    key = "round-delivery"
    at.text_input(key=f"{key}-what").input("Whipping cream")
    at.text_input(key=f"{key}-supplier").input("Front Range Dairy")
    at.text_input(key=f"{key}-temperature").input("46")
    at.selectbox(key=f"{key}-who").set_value(BY)
    press(at, "Take it")
    assert "refuse it, or say why" in shown(at)
    assert at.text_input(key=f"{key}-what").value == "Whipping cream"
    at.text_input(key=f"{key}-why").input("46 °F")
    press(at, "Refuse it")
    assert "Whipping cream is refused" in shown(at)
    at.text_input(key=f"{key}-1-what").input("Liquid egg")
    at.text_input(key=f"{key}-1-supplier").input("Front Range Dairy")
    at.text_input(key=f"{key}-1-temperature").input("39")
    at.text_input(key=f"{key}-1-lot").input("LE-1")
    at.selectbox(key=f"{key}-1-who").set_value(BY)
    press(at, "Take it")
    text = shown(at)
    assert "Today: 2" in text
    assert "Taken, batch LE-1" in text
    assert "Refused: 46" in text
    with morning.store.read() as session:
        assert len(events(session, kinds=[EventKind.DELIVERED])) == 2


def test_a_breakdown_is_decided_on_one_sheet(morning: Morning, open_page: Opener) -> None:
    """Each batch with a hand reading, what becomes of it, and one place for what is not thrown away."""
    with morning.store.write() as session:
        add_unit(session, "Walk-in 2", "walk-in", now_ms=NOW, by=BY)
        for lot in ("B-0412", "L-0412"):
            unit = unit_named(session, "Walk-in 1")
            note(session, batch_named(session, lot), EventKind.MOVED, at_ms=NOW, now_ms=NOW, by=BY, unit=unit)
    at = open_page("round", part="breakdown")
    at.selectbox(key="breakdown-unit").set_value(morning.walk_in).run()
    key = f"breakdown-{morning.walk_in}"
    press(at, "Record the sheet")
    assert "Say what becomes of at least one batch" in shown(at)
    at.text_input(key=f"{key}-B-0412-temperature").input("99")
    at.button_group(key=f"{key}-B-0412-food").select("discard")
    at.button_group(key=f"{key}-L-0412-food").select("hold")
    at.selectbox(key=f"{key}-place").set_value("Walk-in 2")
    at.selectbox(key=f"{key}-who").set_value(BY)
    press(at, "Record the sheet")
    assert "2 batches: 1 discard, 1 hold" in shown(at)
    with morning.store.read() as session:
        assert batch_named(session, "B-0412").outcome == "discarded"
        *_, moved = events(session, batch_id=morning.well, kinds=[EventKind.MOVED])
        assert moved.unit_id == unit_named(session, "Walk-in 2").id


def test_an_officers_visit_is_recorded_and_food_detained(morning: Morning, open_page: Opener) -> None:
    """Their reading stands beside the probe's; the Bench says that the custard is detained."""
    at = open_page("round", part="visits")
    at.text_input(key="round-visit-officer").input("J. Ortiz")
    at.text_input(key="round-visit-authority").input("Denver Public Health")
    at.text_area(key="round-visit-samples").input("custard, 200 g")
    at.selectbox(key="round-visit-who").set_value(BY)
    press(at, "Record the visit")
    assert "Sample: custard, 200" in shown(at)
    at.selectbox(key="round-officer-reading-about").set_value("Custard B-0412")
    at.text_input(key="round-officer-reading-temperature").input("100")
    at.selectbox(key="round-officer-reading-who").set_value(BY)
    press(at, "Record the officer's reading")
    assert "probe p2 (food)" in shown(at)
    at.selectbox(key="round-detained-about").set_value("Custard B-0412")
    at.selectbox(key="round-detained-who").set_value(BY)
    press(at, "It is detained")
    assert "Detained by J. Ortiz" in shown(open_page())
    assert morning.slow
