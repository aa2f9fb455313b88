"""Every page says what the store holds, and teaches where it holds nothing."""

import pytest

from holdwatch.storage.engine import Store
from holdwatch.storage.register import batch_named, events, start_batch
from holdwatch.storage.tables import EventKind
from tests.dashboards.conftest import Opener, shown
from tests.views.conftest import BY, NOW, Morning

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
    assert 'alt="Walk-in 1 w1, the last 24 hours"' in text


def test_bench_of_an_empty_kitchen_teaches(empty: Store, open_page: Opener) -> None:
    """With nothing running and no unit, the Bench says how to begin."""
    assert empty
    text = shown(open_page())

    assert "Nothing is running" in text
    assert "holdwatch unit add" in text


@pytest.mark.parametrize(
    ("page", "words"), [("batches", "No batch yet"), ("units", "No unit yet"), ("findings", "Nothing is open")]
)
def test_empty_page_teaches(empty: Store, open_page: Opener, page: str, words: str) -> None:
    """An empty page says what will appear on it, or how to make it."""
    assert empty
    assert words in shown(open_page(page))


def test_batch_page_shows_every_clause_and_the_chart(morning: Morning, open_page: Opener) -> None:
    """A batch's page names each clause with its word, draws the staircase, and lists what was recorded by whom."""
    at = open_page("batches", batch=str(morning.well))
    text = shown(at)

    for clause in ("3-501.14(A)(1)", "3-501.14(A)(2)", "3-501.16(A)(2)"):
        assert clause in text
    assert "left the heat" in text
    assert BY in text
    assert len(at.get("vega_lite_chart")) >= 1


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


def test_text_from_the_store_never_becomes_markup(empty: Store, open_page: Opener) -> None:
    """A product called like a script is shown as its letters."""
    with empty.write() as session:
        start_batch(session, product="<script>alert(1)</script>", lot="X-1", at_ms=NOW, now_ms=NOW, by="<b>me</b>")

    text = shown(open_page())

    assert "<script>" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text


def test_start_form_starts_a_batch_with_its_probe(morning: Morning, open_page: Opener) -> None:
    """Product, probe and lot are enough; the batch runs and the probe watches it."""
    at = open_page("batches")
    at.selectbox[0].select("Pastry cream")
    at.selectbox[1].select("w1")
    at.text_input[0].input("N-1")
    at.button[0].click().run()

    assert not at.exception
    with morning.store.read() as session:
        made = batch_named(session, "N-1")
        kinds = [e.kind for e in events(session, batch_id=made.id)]
    assert (made.product, made.vessels, made.ended_ms) == ("Pastry cream", 1, None)
    assert EventKind.PROBE_PLACED in kinds


def test_start_form_refuses_a_lot_that_exists_in_words(morning: Morning, open_page: Opener) -> None:
    """A lot given twice is refused where it was typed, without a traceback."""
    at = open_page("batches")
    at.selectbox[0].select("Pastry cream")
    at.text_input[0].input("L-0412")
    at.button[0].click().run()

    assert morning.well
    assert not at.exception
    assert any("L-0412" in e.value for e in at.error)


def test_reading_by_hand_is_recorded_in_the_unit_it_was_typed_in(morning: Morning, open_page: Opener) -> None:
    """A hand reading of 100 typed on a site that reads °F is kept as 37.8 °C."""
    at = open_page("batches", batch=str(morning.slow))
    key = f"b{morning.slow}-hand"
    at.text_input(key=f"{key}-temperature").input("100")
    at.text_input(key=f"{key}-who").input("Noor")
    next(b for b in at.button if b.label == "Record the reading").click().run()

    assert not at.exception
    with morning.store.read() as session:
        kept = events(session, batch_id=morning.slow, kinds=[EventKind.READING])
    assert [(e.by, e.at_ms) for e in kept] == [("Noor", NOW)]
    assert kept[0].celsius == pytest.approx(37.7778, abs=1e-3)


def test_ending_a_batch_asks_first(morning: Morning, open_page: Opener) -> None:
    """Without saying what became of it and that it is meant, the batch goes on."""
    at = open_page("batches", batch=str(morning.slow))
    next(b for b in at.button if b.label == "End the batch").click().run()

    assert any("mean it" in e.value for e in at.error)
    with morning.store.read() as session:
        assert batch_named(session, "B-0412").ended_ms is None
