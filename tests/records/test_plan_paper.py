"""The written plan on paper, read back."""

import subprocess
from pathlib import Path

import pytest

from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.plan.answering import answered
from holdwatch.plan.changing import taken, with_step
from holdwatch.plan.model import Asked
from holdwatch.plan.starters import known_starters
from holdwatch.records.plan_paper import Wanted, plan_pdf, print_plan
from holdwatch.storage.engine import Store
from holdwatch.storage.products import set_product
from holdwatch.storage.register import add_unit
from tests.records.kitchen import HOUR, NOW

pytestmark = pytest.mark.pdf


def _words(pdf: Path, *options: str) -> str:
    """Read a PDF as one line, so that a sentence may be looked for wherever it breaks."""
    done = subprocess.run(["pdftotext", *options, pdf, "-"], check=True, capture_output=True, text=True)
    return " ".join(done.stdout.replace("\u202f", " ").replace("\u200b", "").split())


@pytest.fixture
def planned(store: Store) -> Store:
    """The kitchen with pastry cream and a sponge in its plan, the cream stored in a unit since now."""
    cream = answered(taken("pastry-cream"), Asked.EGG, "raw", by="Ines Okafor", at_ms=NOW - HOUR)
    sponge = answered(taken("sponge"), Asked.PLAIN, "yes", by="Ines Okafor", at_ms=NOW - HOUR)
    with store.write() as session:
        add_unit(session, "Cream fridge", "reach-in", now_ms=NOW, by="Ana")
        for product in (cream, sponge):
            set_product(session, product, from_ms=NOW - HOUR, now_ms=NOW, by="Ines Okafor", why="first plan")
        later = with_step(cream, 3, {"place": "Cream fridge"})
        set_product(session, later, from_ms=NOW, now_ms=NOW, by="Tomas Ek", why="a fridge of its own")
    return store


def test_the_plan_prints_every_product_with_its_principles_and_the_limits_in_force(
    planned: Store, tmp_path: Path
) -> None:
    """FDA Food Code 2022, 3-501.14(A) and 3-501.16(A)(2); what is open says so."""
    print_plan(planned, tmp_path / "plan.pdf", Wanted(by="Ana"), now_ms=NOW)
    text = _words(tmp_path / "plan.pdf", "-layout")
    for said in (
        "The written plan Linden Street Patisserie",
        "Codex CXC 1-1969",
        "135 °F to 70 °F within 2 h (3-501.14(A)(1)); 135 °F to 41 °F or less within a total of 6 h (3-501.14(A)(2))",
        "held at 41 °F or less (3-501.16(A)(2))",
        "store, usually in Cream fridge",
        "version 2, by Tomas Ek (a fridge of its own)",
        "wheat, egg, milk (not confirmed)",
        "Confirm this with your authority.",
        "not confirmed with your authority",
        "Signature",
    ):
        assert said in text, said
    for row in ("Hazard", "Critical control point", "Critical limit", "Monitoring", "Corrective action"):
        assert text.count(row) >= 7, row  # four steps of the cream, three of the sponge
    assert "raw Ines Okafor" in text
    assert "to be checked" in text


def test_the_plan_of_an_instant_is_printed_as_it_was(planned: Store, tmp_path: Path) -> None:
    """What was changed later is not on it."""
    print_plan(planned, tmp_path / "plan.pdf", Wanted(), at_ms=NOW - 1, now_ms=NOW)
    text = _words(tmp_path / "plan.pdf")
    assert "Cream fridge" not in text
    assert "the first version, by Ines Okafor (first plan)" in text


def test_the_procedure_says_what_3_501_19_asks_for(planned: Store, tmp_path: Path) -> None:
    """In advance and on site; the start, the mark, the end, and how it was cooled before; raw egg and the susceptible."""
    print_plan(planned, tmp_path / "plan.pdf", Wanted(only_procedures=True, paper="a4"), now_ms=NOW)
    text = _words(tmp_path / "plan.pdf")
    for said in (
        "Prepared in advance and kept on site, to be shown on request, as FDA Food Code 3-501.19(A) asks",
        "Pastry cream: time control, 4 h",
        "It is 41 °F or less, or 135 °F or above".lower(),
        "bears the time that is 4 h after it was taken out",
        "or it is discarded. What bears no mark is discarded.",
        "(cooling): 135 °F to 70 °F within 2 h (3-501.14(A)(1))",
        "It does not go back into temperature control to begin again",
        "time is not used for raw egg",
    ):
        assert said in text or said in text.lower(), said
    assert "Sponge" not in text
    assert "Hazard" not in text


def test_the_same_plan_at_the_same_instant_is_the_same_file(planned: Store) -> None:
    """On either paper."""
    for paper in ("a4", "letter"):
        first, second = (plan_pdf(planned, Wanted(paper=paper), now_ms=NOW) for _ in range(2))
        assert first == second
    assert plan_pdf(planned, Wanted(paper="a4"), now_ms=NOW) != plan_pdf(planned, Wanted(), now_ms=NOW)


def test_an_empty_plan_and_one_product_are_printed(store: Store, planned: Store, tmp_path: Path) -> None:
    """A product that the plan has not is refused, and so is a paper."""
    print_plan(planned, tmp_path / "one.pdf", Wanted(product="sponge"), now_ms=NOW)
    text = _words(tmp_path / "one.pdf")
    assert "Sponge" in text
    assert "Pastry cream" not in text
    print_plan(store, tmp_path / "none.pdf", Wanted(), at_ms=NOW - 2 * HOUR, now_ms=NOW)
    assert "The plan has no product yet." in _words(tmp_path / "none.pdf")
    print_plan(store, tmp_path / "none.pdf", Wanted(only_procedures=True), at_ms=NOW - 2 * HOUR, now_ms=NOW)
    assert "No product of the plan uses time in place of temperature." in _words(tmp_path / "none.pdf")
    with pytest.raises(UnknownNameError):
        print_plan(store, tmp_path / "x.pdf", Wanted(product="Tart"), now_ms=NOW)
    with pytest.raises(ConfigError, match="use a4 or letter"):
        print_plan(store, tmp_path / "x.pdf", Wanted(paper="a5"), now_ms=NOW)
    assert not (tmp_path / "x.pdf").exists()


def test_every_starter_prints(store: Store, tmp_path: Path) -> None:
    """All of them in one plan, every step on one page."""
    with store.write() as session:
        for word in known_starters():
            set_product(session, taken(word), from_ms=NOW, now_ms=NOW, by="Ana", why="all of them")
    print_plan(store, tmp_path / "all.pdf", Wanted(), now_ms=NOW)
    text = _words(tmp_path / "all.pdf")
    for word in known_starters():
        assert all(step.name in text for step in taken(word).steps), word
