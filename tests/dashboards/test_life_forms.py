"""What befalls a batch after it was made, entered on its page."""

from dataclasses import replace

import pytest

from holdwatch.plan.starters import starter
from holdwatch.storage.doors import door_code
from holdwatch.storage.products import set_product
from holdwatch.storage.register import batch_named, events, unit_named
from holdwatch.storage.tables import EventKind
from tests.dashboards.conftest import Opener, press, shown
from tests.views.conftest import BY, NOW, Morning


@pytest.mark.parametrize(
    ("form", "chosen", "kind", "text", "facts"),
    [
        (
            "out",
            "Taken out: 4 h count from now",
            EventKind.REMOVED,
            "under time-control-4h",
            {"under": "time-control-4h"},
        ),
        ("out", "Put back", EventKind.RETURNED, "", {}),
        ("happened", "It was put on display", EventKind.STEP, "display", {}),
        ("happened", "Reheating for hot holding begins", EventKind.REHEATING, "hot-holding", {}),
        ("happened", "It was frozen", EventKind.FROZEN, "", {}),
    ],
)
def test_what_befell_a_batch_is_recorded(
    morning: Morning, open_page: Opener, form: str, chosen: str, kind: EventKind, text: str, facts: dict[str, object]
) -> None:
    """By whom and when, with what it means for the limits."""
    at = open_page("batches", batch=str(morning.slow))
    key = f"b{morning.slow}-{form}"
    at.selectbox(key=f"{key}-what").select(chosen)
    at.selectbox(key=f"{key}-who").select(BY)
    press(at, {"out": "Record out or back", "happened": "Record what happened"}[form])

    assert not at.exception
    with morning.store.read() as session:
        kept = events(session, batch_id=morning.slow, kinds=[kind])[-1]
    assert (kept.by, kept.at_ms, kept.text, kept.facts) == (BY, NOW, text, facts)


def test_out_form_without_a_choice_says_what_is_missing(morning: Morning, open_page: Opener) -> None:
    """Nothing is recorded."""
    at = open_page("batches", batch=str(morning.slow))
    press(at, "Record out or back")

    assert "Choose what happened" in shown(at)
    with morning.store.read() as session:
        assert not events(session, batch_id=morning.slow, kinds=[EventKind.REMOVED])


def test_part_is_divided_off_on_the_page(morning: Morning, open_page: Opener) -> None:
    """The part is a batch of its own, with the past of the first."""
    at = open_page("batches", batch=str(morning.slow))
    at.text_input(key=f"b{morning.slow}-divide-lot").input("B-0412-b")
    press(at, "Divide it off")

    assert not at.exception
    with morning.store.read() as session:
        part = batch_named(session, "B-0412-b")
        (added,) = events(session, batch_id=part.id, kinds=[EventKind.ADDED])
    assert added.facts["batch"] == morning.slow


def test_batch_starts_as_what_it_is(morning: Morning, open_page: Opener) -> None:
    """Food made from ingredients at room temperature is asked the four hours of its own clause."""
    at = open_page("batches")
    at.text_input(key="start-another").input("Whipped cream filling")
    at.text_input(key="start-lot").input("W-1")
    at.selectbox(key="start-begins").select("Made from ingredients at room temperature")
    press(at, "Start the batch")

    with morning.store.read() as session:
        (start,) = events(session, batch_id=batch_named(session, "W-1").id, kinds=[EventKind.BATCH_STARTED])
    assert start.facts["processes"] == ["ambient-cooling"]


def test_what_is_taken_into_use_is_to_be_gone_by_then(morning: Morning, open_page: Opener) -> None:
    """Its own clock stands on its page at once, and its hours are proposed the next time."""
    at = open_page("batches", batch=str(morning.slow))
    at.number_input(key=f"b{morning.slow}-use-hours").set_value(2.5)
    press(at, "It is taken into use")

    assert "in use" in shown(at)
    with morning.store.read() as session:
        (kept,) = events(session, batch_id=morning.slow, kinds=[EventKind.IN_USE])
    assert kept.facts == {"for_ms": 9_000_000}
    again = open_page("batches", batch=str(morning.slow))
    assert again.number_input(key=f"b{morning.slow}-use-hours").value == 2.5


def test_hours_of_the_plan_are_proposed_before_those_of_last_time(morning: Morning, open_page: Opener) -> None:
    """And the form says that they are the plan's."""
    product = replace(starter("pastry-cream"), name="Custard", in_use="90 min")
    with morning.store.write() as session:
        set_product(session, product, from_ms=NOW - 86_400_000, now_ms=NOW, by=BY, why="first plan")
    hours = open_page("batches", batch=str(morning.slow)).number_input(key=f"b{morning.slow}-use-hours")
    assert (hours.value, hours.label) == (1.5, "In use for (hours, as your plan says)")


def test_allergens_are_declared_on_the_page(morning: Morning, open_page: Opener) -> None:
    """Before that the page says that nobody declared them; a word that is none is refused beside its field."""
    at = open_page("batches", batch=str(morning.slow))
    assert "not declared of Custard B-0412" in shown(at)
    at.text_input(key=f"b{morning.slow}-allergens-in").input("dairy")
    press(at, "Declare the allergens")
    assert "is no allergen" in shown(at)
    at.text_input(key=f"b{morning.slow}-allergens-in").input("milk, eggs")
    press(at, "Declare the allergens")
    assert "contains egg, milk" in shown(at)


def test_labels_are_made_on_the_page(morning: Morning, open_page: Opener) -> None:
    """A size that cannot be is refused; the file is offered to take."""
    at = open_page("batches", batch=str(morning.slow))
    key = f"b{morning.slow}-label"
    at.text_input(key=f"{key}-another").input("wide")
    press(at, "Make the labels")
    assert "is no size of a label" in shown(at)
    at.text_input(key=f"{key}-another").input("")
    press(at, "Make the labels")
    assert bytes(at.session_state[f"{key}-pdf"]).startswith(b"%PDF")


def test_move_is_confirmed_by_the_code_on_the_door(morning: Morning, open_page: Opener) -> None:
    """The code names the unit; a wrong one is refused beside its field, and nothing is recorded."""
    with morning.store.read() as session:
        code = door_code(session, unit_named(session, "Walk-in 1"))
    at = open_page("batches", batch=str(morning.slow))
    at.text_input(key=f"b{morning.slow}-moved-door").input("00000")
    press(at, "It has been moved")
    assert "stands on no door" in shown(at)
    at.text_input(key=f"b{morning.slow}-moved-door").input(code)
    press(at, "It has been moved")
    assert "moved: Walk-in 1, confirmed at the door" in shown(at)
    with morning.store.read() as session:
        (moved,) = events(session, batch_id=morning.slow, kinds=[EventKind.MOVED])
    assert moved.facts == {"confirmed": True}


def test_scanned_door_asks_what_was_put_in(morning: Morning, open_page: Opener) -> None:
    """Every batch that is touched is recorded there."""
    with morning.store.read() as session:
        code = door_code(session, unit_named(session, "Walk-in 1"))
    at = open_page("batches", door=code)
    at.button_group(key="door-lots").set_value(["Custard B-0412", "Pastry cream L-0412"])
    press(at, "They stand in Walk-in 1")
    with morning.store.read() as session:
        moved = events(session, kinds=[EventKind.MOVED])
    assert {event.batch_id for event in moved} == {morning.slow, morning.well}


def test_handover_is_recorded_with_its_reading(morning: Morning, open_page: Opener) -> None:
    """To whom, and what the thermometer showed."""
    at = open_page("batches", batch=str(morning.slow))
    press(at, "It is handed over")
    assert "Say to whom" in shown(at)
    at.text_input(key=f"b{morning.slow}-over-to").input("Blue Spruce Hotel")
    at.text_input(key=f"b{morning.slow}-over-temperature").input("39")
    press(at, "It is handed over")
    with morning.store.read() as session:
        (over,) = events(session, batch_id=morning.slow, kinds=[EventKind.HANDED_OVER])
        (reading,) = events(session, batch_id=morning.slow, kinds=[EventKind.READING])
    assert (over.text, over.by) == ("to Blue Spruce Hotel", reading.by)
    assert reading.celsius == pytest.approx(3.889, abs=1e-3)
