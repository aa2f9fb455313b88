"""Who is told and how, on the Set-up page."""

import json

import pytest
from streamlit.testing.v1 import AppTest

from holdwatch.people.pins import hash_pin
from holdwatch.storage.contacts import contacts
from holdwatch.storage.engine import Store
from holdwatch.storage.people import add_person, keep_pin
from holdwatch.storage.register import add_unit, site_at
from holdwatch.views.contacts import contact_views, quiet_history
from tests.alerts.alert_receivers import http_receiver
from tests.dashboards.conftest import Opener, empty, press, shown
from tests.views.conftest import BY, NOW

__all__ = ["empty"]

WHO, PIN = "Ines Okafor", "8046"


@pytest.fixture
def kitchen(empty: Store) -> Store:
    """A kitchen with a manager, a cook and a unit, in which nobody is told yet."""
    with empty.write() as session:
        add_unit(session, "Walk-in 1", "walk-in", now_ms=NOW, by=BY)
        for name, initials, role, pin in ((WHO, "IO", "manager", PIN), ("Tomas Ek", "TE", "cook", "2739")):
            person = add_person(session, name, initials, role, now_ms=NOW, by=BY)
            keep_pin(session, person, hash_pin(pin), now_ms=NOW, by=BY)
    return empty


def _sign(at: AppTest, key: str, who: str = WHO, pin: str = PIN) -> None:
    at.selectbox(key=f"{key}-who").set_value(who)
    at.text_input(key=f"{key}-pin").input(pin)


def test_somebody_is_added_tried_routed_and_ended(kitchen: Store, open_page: Opener) -> None:
    """Only by a manager; the trial really goes out, and no secret of a channel is shown."""
    at = open_page("setup")
    assert "Nobody is told yet" in shown(at)
    with http_receiver() as hook:
        at.text_input(key="contact-name").input("mgr")
        at.text_input(key="contact-url").input("nosuch://x")
        _sign(at, "contact")
        press(at, "Add the contact")
        assert "no alert channel understands" in shown(at)
        at.text_input(key="contact-url").input(hook.url)
        _sign(at, "contact", "Tomas Ek", "2739")
        press(at, "Add the contact")
        assert "may not do this" in shown(at)
        _sign(at, "contact")
        press(at, "Add the contact")
        assert "everything, at once" in shown(at)
        at.pills(key="trial-who").set_value(WHO)
        press(at, "Send it now")
        assert "took the trial message for mgr" in shown(at)
        assert json.loads(hook.got[0])["title"].endswith("can reach mgr")
    at.selectbox(key="route-name").set_value("mgr")
    at.multiselect(key="route-kinds").set_value(["deviation"])
    at.multiselect(key="route-units").set_value(["Walk-in 1"])
    at.multiselect(key="route-days").set_value(["fri", "sat"])
    at.text_input(key="route-hours").input("22-")
    at.number_input(key="route-after").set_value(15)
    _sign(at, "route")
    press(at, "Add this route")
    assert "are no hours" in shown(at)
    at.text_input(key="route-hours").input("22-5")
    _sign(at, "route")
    press(at, "Add this route")
    with kitchen.read() as session:
        (told,) = contact_views(session)
    assert told.told_of == ("deviation, of Walk-in 1, on fri, sat, 22:00–05:00, if nobody has seen it for 15 min",)
    assert told.told_of[0] in shown(at)
    at.selectbox(key="contact-end-name").set_value("mgr")
    _sign(at, "contact-end")
    press(at, "Tell them no more")
    with kitchen.read() as session:
        assert contacts(session) == []


def test_quiet_hours_are_set_with_their_history(kitchen: Store, open_page: Opener) -> None:
    """By a manager; what is none is refused beside the field, and nothing typed is lost."""
    at = open_page("setup")
    at.text_input(key="quiet-hours").input("22")
    _sign(at, "quiet")
    press(at, "Set the quiet hours")
    assert "are no hours" in shown(at)
    assert at.text_input(key="quiet-hours").value == "22"
    at.text_input(key="quiet-hours").input("22-5")
    _sign(at, "quiet")
    press(at, "Set the quiet hours")
    assert "Quiet hours: 22:00-05:00." in shown(at)
    with kitchen.read() as session:
        assert site_at(session, NOW).quiet == "22:00-05:00"
        assert [(each.quiet, each.by) for each in quiet_history(session)] == [("22:00-05:00", WHO)]
