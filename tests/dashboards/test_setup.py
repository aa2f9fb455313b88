"""The Set-up page: who inspects, the limits in words, the confirmation, two questions."""

from pathlib import Path

from streamlit.testing.v1 import AppTest

from holdwatch.people.pins import hash_pin
from holdwatch.storage.engine import Store
from holdwatch.storage.inforce import confirmations
from holdwatch.storage.people import add_person, keep_pin
from holdwatch.storage.register import events, set_site, site_at
from holdwatch.storage.signing import signatures
from holdwatch.storage.tables import EventKind
from tests.dashboards.conftest import Opener, press, shown
from tests.views.conftest import BY, NOW


def _open(store: Store, open_page: Opener) -> AppTest:
    """Open the page in a kitchen where somebody has recorded something before: the name is offered."""
    with store.write() as session:
        set_site(session, unit="F", from_ms=NOW - 1, now_ms=NOW, by=BY)
    return open_page("setup")


def _set_up(store: Store, open_page: Opener) -> None:
    at = _open(store, open_page)
    at.text_input(key="inspects-authority").set_value("King County, Washington").run()
    likely = at.selectbox[0]
    assert likely.value == "us-food-code-2022"
    assert likely.options[1] == "FDA Food Code 2022 (model-code) – of this place"
    likely.set_value("us-food-code-2013").run()
    at.radio(key="inspects-egg").set_value("no")
    at.radio(key="inspects-susceptible").set_value("yes")
    at.selectbox(key="inspects-who").set_value(BY)
    press(at, "Take into force from now on")
    with store.read() as session:
        site = site_at(session, None)
    assert (site.limits, site.authority) == ("us-food-code-2013", "King County, Washington")
    assert (site.raw_egg, site.susceptible) == ("no", "yes")


def test_setup_reads_the_limits_aloud_and_asks(empty: Store, open_page: Opener) -> None:
    """A fresh kitchen is told what nobody answered, and every limit with its clause and how it was read."""
    assert empty
    text = shown(open_page("setup"))
    for words in (
        "nobody said",
        "Not confirmed with your authority",
        "Not answered at set-up: is raw or undercooked egg served, and are highly susceptible people served?",
        "3-501.14(A)(1)",
        "3-801.11(B)",
        "NOT SEEN in its own text",
        "the code gives no temperature for it",
        "Say first who inspects you.",
    ):
        assert words in text, words


def test_setup_takes_limits_into_force_and_records_the_confirmation(empty: Store, open_page: Opener) -> None:
    """The authority is named, its code chosen, both questions answered; then a manager records what it said."""
    _set_up(empty, open_page)
    at = _open(empty, open_page)
    assert "time is not used in place of temperature for raw eggs" in shown(at).replace("Time", "time")
    press(at, "Record the confirmation")
    assert "Say who said so at the authority" in shown(at)
    at.text_input(key="confirms-person").set_value("J. Ortiz")
    at.text_input(key="confirms-how").set_value("letter")
    at.selectbox(key="confirms-who").set_value(BY)
    press(at, "Record the confirmation")
    text = shown(at)
    assert "Confirmed with King County, Washington by J. Ortiz on" in text
    assert "not confirmed with your authority" not in text
    with empty.read() as session:
        assert [(each.person, each.by, each.how) for each in confirmations(session)] == [("J. Ortiz", BY, "letter")]
    bench = shown(open_page())
    assert "confirmed with King County, Washington by J. Ortiz" in bench
    assert "not confirmed" not in bench


def test_setup_with_people_needs_the_pin_of_a_manager(empty: Store, open_page: Opener) -> None:
    """Where people have been entered, a cook's PIN is refused, and a manager's signs the entry."""
    _set_up(empty, open_page)
    kept = hash_pin("4711")
    with empty.write() as session:
        for name, initials, role in (("Ines Okafor", "IO", "manager"), ("Tom Reyes", "TR", "cook")):
            keep_pin(session, add_person(session, name, initials, role, now_ms=NOW, by=BY), kept, now_ms=NOW, by=BY)
    for name, pin, words in (("Tom Reyes", "4711", ""), ("Ines Okafor", "1", ""), ("Ines Okafor", "4711", "Recorded")):
        at = open_page("setup")
        at.text_input(key="confirms-person").set_value("J. Ortiz")
        at.selectbox(key="confirms-who").set_value(name)
        at.text_input(key="confirms-pin").set_value(pin)
        press(at, "Record the confirmation")
        assert words in shown(at)
        assert bool(at.error) is not bool(words)
    with empty.read() as session:
        (event,) = events(session, kinds=[EventKind.LIMITS_CONFIRMED])
        assert [each.initials for each in signatures(session, [event.id or 0]).values()] == ["IO"]


def test_setup_names_what_is_wrong_with_a_file_of_our_own(empty: Store, open_page: Opener, tmp_path: Path) -> None:
    """A plan that is laxer and says not why is refused in words; once somebody answers for it, every page says so."""
    plan = tmp_path / "plan.toml"
    text = (
        'id = "house"\ntitle = "House plan"\nauthority = "us"\nedition = "1"\ncaution = "Ours."\n'
        'base = "us-food-code-2022"\n[cold-holding]\nclause = "P1"\nsource = "Plan, P1"\nrequires = "held at 45 °F or less"\n'
        'level = "45 °F"\nconfidence = "seen"\nread_on = 2026-11-25\nread_at = ["the wall"]\n'
    )
    answers = (
        '[laxer]\nauthor = "R. Linden"\ndate = 2026-05-01\nreason = "emptied by noon"\n'
        'approved_by = "J. Ortiz"\napproved_on = 2026-05-10\n'
    )
    for written, refused in ((text, True), (text + answers, False)):
        plan.write_text(written, encoding="utf-8")
        at = _open(empty, open_page)
        at.text_input(key="inspects-authority").set_value("Denver, Colorado").run()
        at.selectbox[0].set_value("a file of our own").run()
        at.text_input(key="inspects-path").set_value(str(plan)).run()
        at.selectbox(key="inspects-who").set_value(BY)
        press(at, "Take into force from now on")
        assert ("is laxer than us-food-code-2022: add [laxer]" in shown(at)) is refused
    for page in ("bench", "batches", "units", "findings", "setup"):
        told = shown(open_page(page))
        assert "This plan is LAXER than FDA Food Code 2022 in cold-holding: by R. Linden on 1 May 2026" in told
        assert "approved by J. Ortiz on 10 May 2026" in told
    assert empty


def test_the_altitude_is_kept_with_the_site(empty: Store, open_page: Opener) -> None:
    """Written once under Set-up, it stands in the calculators, and in those of every other browser."""
    at = _open(empty, open_page)
    at.text_input(key="inspects-authority").set_value("Denver, Colorado").run()
    at.text_input(key="inspects-altitude").set_value("5280ft")
    at.selectbox(key="inspects-who").set_value(BY)
    press(at, "Take into force from now on")
    assert "In force from now on" in shown(at)
    at = open_page("calculators")
    assert at.text_input(key="room-altitude").value == "5280ft"
