"""The written plan on the Set-up page, and a batch that is started by it."""

from streamlit.testing.v1 import AppTest

from holdwatch.people.pins import hash_pin
from holdwatch.plan.changing import taken
from holdwatch.plan.model import Asked
from holdwatch.storage.engine import Store
from holdwatch.storage.people import add_person, keep_pin
from holdwatch.storage.products import product_history, product_named, products_in_force, set_product
from holdwatch.storage.register import add_unit, batches, events, set_site
from holdwatch.storage.signing import signatures
from holdwatch.storage.tables import EventKind
from tests.dashboards.conftest import Opener, press, shown
from tests.views.conftest import BY, NOW

CREAM = "Pastry cream"


def _with_cream(store: Store) -> None:
    """A kitchen where somebody has recorded something, with pastry cream in its plan."""
    with store.write() as session:
        set_site(session, unit="F", from_ms=NOW - 1, now_ms=NOW, by=BY)
        add_unit(session, "Cream fridge", "reach-in", now_ms=NOW, by=BY)
        set_product(session, taken("pastry-cream"), from_ms=NOW - 1, now_ms=NOW, by=BY, why="first plan")


def _look_at(open_page: Opener, name: str = CREAM) -> AppTest:
    at = open_page("setup")
    at.selectbox(key="plan-product").set_value(name).run()
    assert not at.exception
    return at


def test_a_starter_is_taken_into_the_plan(empty: Store, open_page: Opener) -> None:
    """Under a name of its own; it then stands in the list with what is to be checked."""
    with empty.write() as session:
        set_site(session, unit="F", from_ms=NOW - 1, now_ms=NOW, by=BY)
    at = open_page("setup")
    at.selectbox(key="plan-take-word").set_value("lemon-curd").run()
    at.text_input(key="plan-take-name-lemon-curd").set_value("Lime curd")
    at.selectbox(key="plan-take-who").set_value(BY)
    press(at, "Take it into the plan")
    text = shown(at)
    assert "Lime curd is in the plan." in text
    assert "4 to check" in text
    assert "not known yet, treated as TCS food" in text
    with empty.read() as session:
        assert [(each.name, each.starter) for each in products_in_force(session, NOW)] == [("Lime curd", "lemon-curd")]


def test_a_product_shows_the_seven_principles_with_the_limits_in_force(empty: Store, open_page: Opener) -> None:
    """FDA Food Code 2022, 3-501.14(A)(1): 135 °F to 70 °F within 2 h."""
    _with_cream(empty)
    text = shown(_look_at(open_page))
    for words in (
        "Hazard",
        "Critical control point",
        "135 °F to 70 °F within 2 h (3-501.14(A)(1))".replace(" °F", "\u00a0°F"),
        "Monitoring",
        "Corrective action",
        "Verification",
        "Record",
        "Reheating does not undo a toxin",
        "<b>to check</b>",
    ):
        assert words in text, words


def test_a_question_is_answered_and_opened_again(empty: Store, open_page: Opener) -> None:
    """Words that answer nothing are refused beside the form."""
    _with_cream(empty)
    at = _look_at(open_page)
    press(at, "Record the answer")
    assert "Answer the question." in shown(at)
    at.radio(key=f"plan-answer-{CREAM}-egg").set_value("pasteurised")
    at.selectbox(key=f"plan-answer-{CREAM}-who").set_value(BY)
    press(at, "Record the answer")
    with empty.read() as session:
        answer = product_named(session, CREAM, NOW).questions[0].answer
    assert answer is not None
    assert (answer.said, answer.by) == ("pasteurised", BY)
    at = _look_at(open_page)
    at.selectbox(key=f"plan-answer-{CREAM}-which").set_value(Asked.ALLERGENS).run()
    at.text_input(key=f"plan-answer-{CREAM}-allergens").set_value("cream")
    at.selectbox(key=f"plan-answer-{CREAM}-who").set_value(BY)
    press(at, "Record the answer")
    assert "'cream' is no allergen" in shown(at)
    at = _look_at(open_page)
    at.selectbox(key=f"plan-answer-{CREAM}-which").set_value(Asked.EGG).run()
    at.selectbox(key=f"plan-answer-{CREAM}-who").set_value(BY)
    press(at, "Nobody knows: open again")
    with empty.read() as session:
        assert product_named(session, CREAM, NOW).questions[0].answer is None
        assert len(product_history(session, CREAM)) == 3


def test_a_step_is_changed_added_and_left_out(empty: Store, open_page: Opener) -> None:
    """Each with its reason, which stands in the history."""
    _with_cream(empty)
    at = _look_at(open_page)
    key = f"plan-step-{CREAM}"
    at.selectbox(key=f"{key}-which").set_value("3. Store cold, covered and dated").run()
    at.selectbox(key=f"{key}-3-place").set_value("Cream fridge")
    at.text_area(key=f"{key}-3-action").set_value("Into the other fridge, and call the manager.")
    at.text_input(key=f"{key}-why").set_value("the new fridge")
    at.selectbox(key=f"{key}-who").set_value(BY)
    press(at, "Change the step")
    with empty.read() as session:
        step = product_named(session, CREAM, NOW).steps[2]
    assert (step.place, step.action) == ("Cream fridge", "Into the other fridge, and call the manager.")
    at = _look_at(open_page)
    assert "step 3 place: nothing → Cream fridge" in shown(at)
    at.selectbox(key=f"{key}-which").set_value("one more step").run()
    at.text_input(key=f"{key}-why").set_value("served from the case")
    at.selectbox(key=f"{key}-who").set_value(BY)
    press(at, "Add the step")
    assert "name: is missing" in shown(at)
    at.selectbox(key=f"{key}-new-step").set_value("display")
    at.text_input(key=f"{key}-new-name").set_value("Show in the case")
    for field in ("hazard", "why_critical", "watched", "how_often", "action", "verified_by", "record"):
        at.text_area(key=f"{key}-new-{field}").set_value("As written on the wall.")
    press(at, "Add the step")
    with empty.read() as session:
        assert [each.name for each in product_named(session, CREAM, NOW).steps][-1] == "Show in the case"
    at = _look_at(open_page)
    at.selectbox(key=f"{key}-which").set_value("1. Cook until it boils").run()
    at.text_input(key=f"{key}-why").set_value("bought in")
    at.selectbox(key=f"{key}-who").set_value(BY)
    press(at, "Leave the step out")
    with empty.read() as session:
        assert len(product_named(session, CREAM, NOW).steps) == 4


def test_own_times_are_set(empty: Store, open_page: Opener) -> None:
    """Shelf life, time in use, and what is thrown away besides; what is no time is refused."""
    _with_cream(empty)
    at = _look_at(open_page)
    at.number_input(key=f"plan-shelf-{CREAM}-days").set_value(3)
    at.text_area(key=f"plan-shelf-{CREAM}-discard").set_value("Bags at closing.")
    at.text_input(key=f"plan-shelf-{CREAM}-in-use").set_value("a while")
    at.selectbox(key=f"plan-shelf-{CREAM}-who").set_value(BY)
    press(at, "Set these times")
    assert "is no time in use" in shown(at)
    at.text_input(key=f"plan-shelf-{CREAM}-in-use").set_value("4 h")
    press(at, "Set these times")
    with empty.read() as session:
        product = product_named(session, CREAM, NOW)
    assert (product.shelf_days, product.in_use, product.discard) == (3, "4 h", "Bags at closing.")
    told = shown(_look_at(open_page))
    assert "3 d" in told
    assert "4 h at most" in told


def test_the_plan_is_changed_by_a_manager_with_a_pin(empty: Store, open_page: Opener) -> None:
    """A cook's PIN is refused, nothing is changed; a manager's signs the entry."""
    _with_cream(empty)
    kept = hash_pin("4711")
    with empty.write() as session:
        for name, initials, role in (("Ines Okafor", "IO", "manager"), ("Tom Reyes", "TR", "cook")):
            keep_pin(session, add_person(session, name, initials, role, now_ms=NOW, by=BY), kept, now_ms=NOW, by=BY)
    for name, refused in (("Tom Reyes", True), ("Ines Okafor", False)):
        at = _look_at(open_page)
        at.text_input(key=f"plan-retire-{CREAM}-why").set_value("bought in now")
        at.selectbox(key=f"plan-retire-{CREAM}-who").set_value(name)
        at.text_input(key=f"plan-retire-{CREAM}-pin").set_value("4711")
        press(at, "Take it out")
        with empty.read() as session:
            assert bool(products_in_force(session, NOW)) is refused
    with empty.read() as session:
        (event,) = events(session, kinds=[EventKind.PRODUCT_RETIRED])
        assert [each.initials for each in signatures(session, [event.id or 0]).values()] == ["IO"]


def test_a_batch_is_started_from_the_products_of_the_plan(empty: Store, open_page: Opener) -> None:
    """The plan's products are offered first; the batch's page says what is still to be checked."""
    _with_cream(empty)
    at = open_page("batches")
    at.button_group(key="start-product").set_value(CREAM)
    at.text_input(key="start-lot").set_value("L1")
    press(at, "Start the batch")
    with empty.read() as session:
        (batch,) = batches(session)
        (event,) = events(session, kinds=[EventKind.BATCH_STARTED])
    assert (batch.product, batch.step) == (CREAM, "cook")
    assert event.facts["food"] == ["raw-egg", "several-eggs", "susceptible"]
    text = shown(open_page("batches", batch=str(batch.id)))
    assert "To check: Is the egg in it pasteurised?" in text
    assert "its egg is taken as raw" in text


def test_the_plan_is_printed_from_the_page(empty: Store, open_page: Opener) -> None:
    """The pages are set when they are asked for; another choice takes the file away."""
    _with_cream(empty)
    at = open_page("setup")
    assert not at.get("download_button")
    press(at, "Print")
    (button,) = at.get("download_button")
    assert button.proto.label == "Take plan.pdf"
    at.radio(key="plan-paper-what").set_value("Only the procedure for time as a public health control").run()
    assert not at.get("download_button")
