"""How long records are kept, on the Set-up page."""

from holdwatch.people.pins import hash_pin
from holdwatch.storage.keeping import keeping_history
from holdwatch.storage.people import add_person, keep_pin
from tests.dashboards.conftest import Opener, empty, morning, press, shown
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning"]


def test_how_long_is_shown_and_changed(morning: Morning, open_page: Opener) -> None:
    """With the laws; below the floor is refused beside the form, a shorter time is signed, and stands with its reason."""
    with morning.store.write() as session:
        person = add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by=BY)
        keep_pin(session, person, hash_pin("8046"), now_ms=NOW, by=BY)
    at = open_page("setup")
    assert "21 CFR 117.315" in shown(at)
    for period, pin, said in (
        ("1y", "8046", "for 2 years at least"),
        ("2y", "1111", "not the PIN of Ines Okafor"),
        ("2y", "8046", "readings are kept for 2y"),
    ):
        at.text_input(key="keeping-period").input(period)
        at.text_input(key="keeping-why").input("the disk is small")
        at.selectbox(key="keeping-who").set_value("Ines Okafor")
        at.text_input(key="keeping-pin").input(pin)
        press(at, "Keep them for so long")
        assert said in shown(at)
    assert "the disk is small" in shown(at)
    with morning.store.read() as session:
        assert [(each.days, each.by, each.signed) for each in keeping_history(session)] == [(731, "Ines Okafor", True)]
