"""Every page says what the store holds, and teaches where it holds nothing."""

import re
from datetime import date, timedelta

import pytest
from sqlmodel import col, delete

from dashboards.parts.sheet import batch_row
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import close_finding, findings, open_finding
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import write_history
from holdwatch.storage.register import add_probe, batch_named, events, place, placements, probe_named, start_batch
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import ClauseState, EventKind, FindingKind
from holdwatch.views.batches import batch_view
from holdwatch.views.site import site_view
from holdwatch.watch.rounds import go_round
from tests.charts.kitchen import cooling
from tests.dashboards.conftest import APP, Opener, press, shown, unfold
from tests.views.conftest import BATCH_START, BY, NOW, Morning

CAUTION = "Shows what the record shows; your local code and inspector decide."


def test_bench_carries_the_caution(morning: Morning, open_page: Opener) -> None:
    """The screen says who decides."""
    assert morning.well
    assert CAUTION in shown(open_page())


def test_bench_shows_the_running_batches_and_the_units(morning: Morning, open_page: Opener) -> None:
    """The most pressing batch stands first, with its word and what is due; the walk-in stands below."""
    assert morning.slow
    text = shown(open_page())

    assert text.index("Pastry cream L-0412") < text.index("Walk-in 1")
    assert "Custard B-0412" in text
    assert "At this rate it will miss" in text
    assert ">soon</span>" in text
    assert "Linden Street Patisserie" in text
    assert "<svg" not in text  # a page takes no SVG inside its HTML: pictures must be images
    assert 'alt="Walk-in 1, food probe w1, the last 24 hours"' in text


def test_a_row_of_what_went_wrong_says_what_to_do_in_its_largest_type(morning: Morning, open_page: Opener) -> None:
    """Not the time left to a next stage; and neither its name nor its word stands there twice."""
    late = NOW + 100 * MS_PER_MINUTE
    series = cooling(BATCH_START, 190, 0.42)
    with morning.store.write() as session:
        write_history(session, id_of(probe_named(session, "p2")), series.at_ms, series.celsius, late)
    for _ in range(3):
        go_round(morning.store, late)
    with morning.store.read() as session:
        batch, site = batch_view(session, morning.slow, late), site_view(session)
    assert batch is not None
    row = batch_row(batch, site, late, small=False)
    large = row[row.index('"hw-do"') : row.index("</a></div>", row.index('"hw-do"'))]
    assert large.endswith("Do not serve it.")
    assert "135\u202f°F to 70\u202f°F within 2 h" in row.replace("\u00a0", "\u202f").replace(" °", "\u202f°")
    assert (row.count("Custard B-0412"), row.count(">deviation<")) == (1, 1)
    assert ">left<" not in row
    assert open_page


def test_a_row_says_the_name_once(morning: Morning, open_page: Opener) -> None:
    """What is due stands there without the name that stands above it; a picture is named apart, for who cannot see it."""
    text = re.sub(r'alt="[^"]*"', "", shown(open_page()))
    assert (text.count("Custard B-0412"), text.count("Pastry cream L-0412")) == (1, 1)
    assert re.search(r">It has (\d+ h )?\d+ min to get to", text)
    assert morning.slow


def test_bench_of_an_empty_kitchen_teaches(empty: Store, open_page: Opener) -> None:
    """With nothing running and no unit, the Bench says how to begin."""
    assert empty
    text = shown(open_page())

    assert "Nothing is running" in text
    assert "holdwatch unit add" in text


@pytest.mark.parametrize(
    ("page", "part", "words"),
    [
        ("bench", "", '<a href="/setup" target="_self">Add the first one</a>'),
        ("batches", "", "No batch yet. Start the first one above."),
        ("units", "", '<a href="/setup" target="_self">Add the first one</a>'),
        ("findings", "", "Nothing is open. What the watch finds appears here by itself."),
        ("records", "probes", "There is no probe yet: add one under Set-up."),
        ("records", "print", '<a href="/batches" target="_self">start the first batch</a>'),
        ("records", "recall", "every batch that it may concern is listed here"),
        ("round", "closing", '<a href="/setup" target="_self">Add the first unit</a>'),
        ("round", "opening", "nothing is shown to be in order"),
        ("round", "breakdown", "There is no unit yet that could break down: add it under Set-up."),
        ("round", "deliveries", "Hold the thermometer between two packs"),
        ("shift", "", '<a href="/setup" target="_self">Enter the first manager</a>'),
        ("calculators", "", "Fill in what you know: the answer stands below."),
        ("setup", "", "within seconds it stands here by itself"),
    ],
)
def test_empty_page_teaches(empty: Store, open_page: Opener, page: str, part: str, words: str) -> None:
    """An empty page says what will appear on it, or how to make it."""
    assert empty
    assert words in shown(open_page(page, **({"part": part} if part else {})))


def test_batch_page_shows_every_clause_and_the_chart(morning: Morning, open_page: Opener) -> None:
    """A batch's page names each clause with its word, draws the staircase, and lists what was recorded by whom."""
    at = open_page("batches", batch=str(morning.well))
    text = shown(at)

    for clause in ("3-501.14(A)(1)", "3-501.14(A)(2)", "3-501.16(A)(2)"):
        assert clause in text
    assert "left the heat" in text
    assert BY in text
    assert len(at.get("vega_lite_chart")) >= 1


def test_figures_of_a_chart_are_made_once_they_are_unfolded(morning: Morning, open_page: Opener) -> None:
    """For whoever does not see the chart; and they are still there when the page has drawn itself again."""
    at = open_page("batches", batch=str(morning.well))
    started = "the clock started, 3-501.14(A)(1)"
    assert started not in shown(at)
    unfold(at, "The figures of this chart")
    assert started in shown(at)
    at.run()
    assert started in shown(at)


def test_each_chart_has_figures_of_its_own(morning: Morning, open_page: Opener) -> None:
    """Unfolding those of one vessel leaves the other's folded."""
    with morning.store.write() as session:
        batch, probe = batch_named(session, "L-0412"), add_probe(session, "p3", medium="food", now_ms=NOW, by=BY)
        place(session, probe, batch=batch, vessel=2, at_ms=NOW - MS_PER_MINUTE, now_ms=NOW, by=BY)
    at = open_page("batches", batch=str(morning.well))
    keys = [each.proto.id for each in at.expander if each.label == "The figures of this chart"]
    assert len(set(keys)) == 2
    assert all(f"stairs-{morning.well}-{n}-figures" in key for n, key in zip((1, 2), keys, strict=True))


def test_earlier_batches_are_asked_for_once_they_are_unfolded(morning: Morning, open_page: Opener) -> None:
    """The page of a kitchen with years of batches asks for those that it shows."""
    with morning.store.write() as session:
        for n in range(20):
            start_batch(session, product="Tart", lot=f"T{n:02}", at_ms=NOW - n, now_ms=NOW, by=BY)
    at = open_page("batches")
    assert "T11" in shown(at)
    assert "T12" not in shown(at)
    unfold(at, "Earlier batches")
    assert "T19" in shown(at)
    assert "Pastry cream L-0412" in shown(at)


def test_no_day_of_a_year_is_out_of_sight_unsaid(morning: Morning, open_page: Opener) -> None:
    """Each day before the latest month is counted by its worst; what is not in order stands there, the worst first."""
    before = date(2026, 10, 14) - timedelta(days=40)
    not_shown, missed = before - timedelta(days=1), before - timedelta(days=9)
    with morning.store.write() as session:
        kept = clause_states(session, unit_id=morning.walk_in)[0]
        session.exec(delete(ClauseState).where(col(ClauseState.unit_id) == morning.walk_in))
        for ago in range(60):
            day = date(2026, 10, 14) - timedelta(days=ago)
            verdict = {not_shown: "unproven", missed: "missed"}.get(day, "met")
            facts = {**kept.facts, "reason": f"reason of {day}", "spells": []}
            row = kept.model_dump(exclude={"id"}) | {"day": day.isoformat(), "verdict": verdict, "facts": facts}
            session.add(ClauseState(**row))
    at = open_page("units", unit=str(morning.walk_in), span="year")
    text = shown(at)
    assert "deviation: 1 · not shown: 1 · kept: 27" in text
    assert text.index(f"reason of {missed}") < text.index(f"reason of {not_shown}")
    assert text.count("reason of") == 31 + 2
    unfold(at, "Each of the days before")
    assert shown(at).count("reason of") == 60 + 2


@pytest.mark.parametrize(("page", "name"), [("batches", "batch"), ("findings", "finding")])
def test_page_of_an_unknown_number_says_so(morning: Morning, open_page: Opener, page: str, name: str) -> None:
    """A number that is none is told in words."""
    assert morning.well
    assert f"There is no {name} number 999" in shown(open_page(page, **{name: "999"}))


def test_units_page_shows_the_days_and_the_spell(morning: Morning, open_page: Opener) -> None:
    """The walk-in's page shows the limit, the bad evening as a deviation, and the spell beyond the level."""
    text = shown(open_page("units", unit=str(morning.walk_in)))

    assert "Walk-in 1" in text
    assert "deviation" in text
    assert "3-501.16(A)(2)" in text
    assert "Spells beyond the level" in text


def test_findings_page_lists_open_ones_first(morning: Morning, open_page: Opener) -> None:
    """An open warning stands above what is closed, and leads to its page."""
    text = shown(open_page("findings"))

    assert "Custard B-0412" in text
    assert "/findings?finding=" in text
    assert morning.slow


def test_earlier_findings_are_asked_for_once_they_are_unfolded(morning: Morning, open_page: Opener) -> None:
    """Of those that passed by themselves the newest thirty stand there; one that nobody dealt with, however old it is."""
    with morning.store.write() as session:
        for n in range(50):
            kind = FindingKind.DEVIATION if n == 0 else FindingKind.SOON
            told = {"subject": f"unit:{n}", "title": f"found {n:02}", "reason": "warm", "since_ms": NOW - 99 + n}
            row = open_finding(session, key=f"k{n}", kind=kind, now_ms=NOW - 99 + n, **told)
            close_finding(session, row, reason="over", now_ms=NOW - 40)
    at = open_page("findings")
    text = shown(at)
    assert "nobody has said what was done: 1" in text
    assert [n for n in range(50) if f"found {n:02}" in text] == [0, *range(20, 50)]
    unfold(at, "Earlier findings")
    assert all(shown(at).count(f"found {n:02}") == 1 for n in range(50))


def test_text_from_the_store_never_becomes_markup(empty: Store, open_page: Opener) -> None:
    """A product called like a script is shown as its letters."""
    with empty.write() as session:
        start_batch(session, product="<script>alert(1)</script>", lot="X-1", at_ms=NOW, now_ms=NOW, by="<b>me</b>")

    at = open_page()
    text = shown(at)

    assert all("alert(1)" not in each.proto.body for each in at.get("html") if each.proto.unsafe_allow_javascript)
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text


def test_start_form_starts_a_batch_with_its_probe(morning: Morning, open_page: Opener) -> None:
    """Product, probe and lot are enough; the batch runs and the probe watches it."""
    at = open_page("batches")
    at.button_group(key="start-product").select("Pastry cream")
    at.button_group(key="start-probe").select("w1")
    at.text_input(key="start-lot").input("N-1")
    press(at, "Start the batch")

    assert not at.exception
    with morning.store.read() as session:
        made = batch_named(session, "N-1")
        kinds = [e.kind for e in events(session, batch_id=made.id)]
    assert (made.product, made.vessels, made.ended_ms) == ("Pastry cream", 1, None)
    assert EventKind.PROBE_PLACED in kinds


def test_a_lot_is_found_in_one_box(morning: Morning, open_page: Opener) -> None:
    """By a part of its lot or its product, in whatever case; what is nowhere is told."""
    assert morning.well
    at = open_page("batches")
    for typed, there, gone in (("b-04", "Custard B-0412", "Pastry cream L-0412"), ("PASTRY", "L-0412", "B-0412")):
        at.text_input(key="find-lot").set_value(typed).run()
        assert there in shown(at)
        assert gone not in shown(at)
    at.text_input(key="find-lot").set_value("<b>").run()
    assert "No lot and no product has “&lt;b&gt;” in its name" in shown(at)


def test_a_probe_is_moved_by_one_touch_of_its_own(morning: Morning, open_page: Opener) -> None:
    """Out of the walk-in into the first vessel that has none; the way back is told."""
    at = open_page("batches", batch=str(morning.well))
    at.selectbox(key=f"b{morning.well}-place-who").select(BY)
    press(at, "w1, out of Walk-in 1")
    assert "Probe w1 is placed in vessel 2, Wed 14 Oct 11:42 MDT. It was in Walk-in 1" in shown(at)
    with morning.store.read() as session:
        found = [p for p in placements(session, open_only=True) if p.batch_id == morning.well]
    assert [placed.vessel for placed in found] == [1, 2]
    at.selectbox(key=f"b{morning.well}-place-1-who").select(BY)
    press(at, "Take w1 out")
    assert "Probe w1 is taken out, Wed 14 Oct 11:42 MDT" in shown(at)
    with morning.store.read() as session:
        assert placements(session, probe_id=probe_named(session, "w1").id, open_only=True) == []


def test_start_form_refuses_a_lot_that_exists_in_words(morning: Morning, open_page: Opener) -> None:
    """A lot given twice is refused where it was typed, without a traceback."""
    at = open_page("batches")
    at.text_input(key="start-another").input("Pastry cream")
    at.text_input(key="start-lot").input("L-0412")
    press(at, "Start the batch")

    assert morning.well
    assert not at.exception
    assert any("L-0412" in e.value for e in at.error)


def test_reading_by_hand_is_recorded_in_the_unit_it_was_typed_in(morning: Morning, open_page: Opener) -> None:
    """A hand reading of 100 typed on a site that reads °F is kept as 37.8 °C."""
    at = open_page("batches", batch=str(morning.slow))
    key = f"b{morning.slow}-hand"
    at.text_input(key=f"{key}-temperature").input("100")
    at.text_input(key=f"{key}-thermometer").input("T2")
    at.selectbox(key=f"{key}-who").select(BY)
    press(at, "Record the reading")

    assert not at.exception
    with morning.store.read() as session:
        kept = events(session, batch_id=morning.slow, kinds=[EventKind.READING])
    assert [(e.by, e.at_ms, e.text) for e in kept] == [(BY, NOW, "thermometer T2")]
    assert kept[0].celsius == pytest.approx(37.7778, abs=1e-3)
    assert at.text_input(key=f"{key}-thermometer").value == "T2"  # the next reading is taken with the same one


def test_ending_a_batch_asks_first(morning: Morning, open_page: Opener) -> None:
    """Without saying what became of it and that it is meant, the batch goes on."""
    at = open_page("batches", batch=str(morning.slow))
    press(at, "End the batch")

    assert "mean it" in shown(at)
    with morning.store.read() as session:
        assert batch_named(session, "B-0412").ended_ms is None


def test_scripts_of_pages_are_not_served_by_themselves() -> None:
    """Beside the app there is no directory `pages`: Streamlit would serve its scripts without style, caution or way back."""
    assert not APP.with_name("pages").exists()


def test_every_page_names_the_limits_and_that_nobody_confirmed_them(morning: Morning, open_page: Opener) -> None:
    """The code and its edition stand on each page, with the word that the authority has not confirmed them."""
    assert morning.well
    for page in ("bench", "batches", "units", "findings", "round", "records", "calculators", "setup"):
        text = shown(open_page(page))
        assert "FDA Food Code 2022 (2022, 10th edition)" in text
        assert "not confirmed with your authority" in text


def test_bench_names_the_clause_beside_its_word(morning: Morning, open_page: Opener) -> None:
    """What is due next is told with its clause."""
    assert morning.slow
    text = shown(open_page())

    row = text[text.index("Custard B-0412") : text.index("At this rate it will miss")]
    assert "3-501.14(A)(1)" in row


def test_start_form_keeps_what_was_typed_when_something_is_missing(morning: Morning, open_page: Opener) -> None:
    """Without a product the lot that was typed stays, and what is missing is told."""
    at = open_page("batches")
    at.text_input(key="start-lot").input("L-4AM")
    press(at, "Start the batch")

    assert morning.well
    assert at.text_input(key="start-lot").value == "L-4AM"
    assert "Choose the product" in shown(at)


def test_start_form_does_not_declare_the_slowest_vessel_by_itself(morning: Morning, open_page: Opener) -> None:
    """One probe in one of six vessels speaks for all only where somebody says so."""
    at = open_page("batches")
    at.text_input(key="start-another").input("Pastry cream")
    at.button_group(key="start-probe").select("w1")
    at.text_input(key="start-lot").input("N-6")
    at.number_input(key="start-vessels").set_value(6)
    press(at, "Start the batch")

    with morning.store.read() as session:
        made = batch_named(session, "N-6")
        assert [p.slowest for p in placements(session, batch_id=made.id)] == [False]


@pytest.mark.parametrize("typed", ["13x", "hot", "--5", "1e"])
def test_reading_by_hand_that_is_no_temperature_is_refused_beside_its_field(
    morning: Morning, open_page: Opener, typed: str
) -> None:
    """What is no temperature is told in words and stays in the field; nothing is recorded."""
    at = open_page("batches", batch=str(morning.slow))
    key = f"b{morning.slow}-hand"
    at.text_input(key=f"{key}-temperature").input(typed)
    press(at, "Record the reading")

    assert "is not a temperature" in shown(at)
    assert at.text_input(key=f"{key}-temperature").value == typed
    with morning.store.read() as session:
        assert events(session, batch_id=morning.slow, kinds=[EventKind.READING]) == []


def test_what_was_recorded_is_confirmed_and_the_form_emptied(morning: Morning, open_page: Opener) -> None:
    """After a record the page says so once, and the field is ready for the next reading."""
    at = open_page("batches", batch=str(morning.slow))
    key = f"b{morning.slow}-hand"
    at.text_input(key=f"{key}-temperature").input("100")
    press(at, "Record the reading")

    assert "Recorded: reading by hand" in shown(at)
    assert at.text_input(key=f"{key}-1-temperature").value == ""


def test_question_on_the_bench_is_answered_for_its_own_vessel(morning: Morning, open_page: Opener) -> None:
    """An answer is recorded of the vessel that was in doubt, and of no other."""
    with morning.store.write() as session:
        state = clause_states(session, batch_id=morning.slow)[0]
        state.facts = {**state.facts, "asks": ["Is the probe still in the food?"]}
        session.add(state)
    at = open_page()
    assert "Is the probe still in the food?" in shown(at)
    press(at, "It is in the food")

    with morning.store.read() as session:
        noted = events(session, batch_id=morning.slow, kinds=[EventKind.PROBE_IN_FOOD])
    assert [event.vessel for event in noted] == [state.vessel]


def test_question_leads_to_the_reading_by_hand_that_settles_it(morning: Morning, open_page: Opener) -> None:
    """From the Bench to the batch's page, and there to the form; what is noted there is the vessel's."""
    with morning.store.write() as session:
        state = clause_states(session, batch_id=morning.slow)[0]
        state.facts = {**state.facts, "asks": ["Is the probe still in the food?"]}
        session.add(state)
    assert f'<a href="/batches?batch={morning.slow}" target="_self">note what it reads by hand</a>' in shown(
        open_page()
    )

    at = open_page("batches", batch=str(morning.slow))
    assert "under “Reading by hand”: that settles it either way" in shown(at)
    at.text_input(key=f"b{morning.slow}-hand-temperature").input("100")
    press(at, "Record the reading")
    with morning.store.read() as session:
        (noted,) = events(session, batch_id=morning.slow, kinds=[EventKind.READING])
    assert noted.celsius == pytest.approx((100 - 32) / 1.8)


def test_reading_by_hand_is_told_once_among_what_was_recorded(morning: Morning, open_page: Opener) -> None:
    """The temperature of a hand reading stands in its line one time."""
    at = open_page("batches", batch=str(morning.slow))
    at.text_input(key=f"b{morning.slow}-hand-temperature").input("100")
    press(at, "Record the reading")

    assert "reading by hand 100.0\u202f°F</td>" in shown(at)


@pytest.mark.parametrize("page", ["bench", "batches", "units", "findings", "calculators"])
def test_no_page_says_that_food_is_safe(morning: Morning, open_page: Opener, page: str) -> None:
    """The record shows what it shows: no page uses the word."""
    assert morning.well
    assert "safe" not in shown(open_page(page)).lower()


def test_finding_page_says_what_to_do_and_how_long_is_left(morning: Morning, open_page: Opener) -> None:
    """Whoever follows an alert's link reads at once what to do, by when, and under which clause."""
    with morning.store.read() as session:
        soon = next(f for f in findings(session, open_only=True) if f.batch_id == morning.slow)
        finding_id = str(soon.id)
    text = shown(open_page("findings", finding=finding_id))

    assert ">Do</span>" in text
    assert "shallow pans" in text
    assert "FDA Food Code 2022, 3-501.14(A)(1)" in text
