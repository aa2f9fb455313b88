"""What a printed log says of its limits: confirmed or not, which text, laxer, not seen, on the first page and at each foot."""

import re
import subprocess
from datetime import date
from pathlib import Path

import pytest

from holdwatch.limits import load_limits
from holdwatch.records.front import not_covered
from holdwatch.records.log import print_log
from holdwatch.storage.engine import Store
from holdwatch.storage.inforce import confirm_limits
from holdwatch.storage.register import add_unit, set_site
from holdwatch.storage.states import save_clause
from tests.records.kitchen import HOUR, T0

pytestmark = pytest.mark.pdf
PLAN = """
id = "house"
title = "House plan"
authority = "us"
edition = "1"
caution = "Ours."
base = "us-food-code-2022"

[cold-holding]
clause = "P1"
source = "House plan, P1"
requires = "held at 45 °F or less"
level = "45 °F"
confidence = "memory"
read_on = 2026-11-25
read_at = ["nowhere"]

[laxer]
author = "R. Linden"
date = 2026-05-01
reason = "the case is emptied by noon"
approved_by = "J. Ortiz, letter 77"
approved_on = 2026-05-10
"""


def _pages(store: Store, out: Path) -> list[str]:
    """Print a log, and return the words of each page."""
    print_log(store, T0, T0 + HOUR, out, now_ms=T0 + HOUR)
    done = subprocess.run(["pdftotext", out, "-"], check=True, capture_output=True, text=True)
    return [" ".join(page.replace("\u202f", " ").split()) for page in done.stdout.split("\f") if page.strip()]


def _confirm(store: Store, at_ms: int) -> None:
    with store.write() as session:
        site = set_site(
            session, from_ms=at_ms, now_ms=at_ms, by="ana", authority="Denver, Colorado", raw_egg="no", susceptible="no"
        )
        day = date(2026, 10, 20)
        confirm_limits(session, site, person="J. Ortiz", on=day, how="letter", today=day, now_ms=at_ms, by="Ana Ruiz")


def test_log_says_on_every_page_that_nobody_confirmed_the_limits(store: Store, tmp_path: Path) -> None:
    """The first page says it in full with the text's digest and the open questions; each foot says it in short."""
    with store.write() as session:
        for number in range(40):
            add_unit(session, f"Walk-in {number}", "walk-in", now_ms=T0, by="ana")
    pages = _pages(store, tmp_path / "log.pdf")
    assert len(pages) > 2
    assert all("Limits not confirmed with your authority." in page for page in pages)
    assert load_limits("us-food-code-2022").digest[:12] in pages[0]
    assert "Not confirmed with your authority." in pages[0]
    assert "Nobody said who inspects." in pages[0]
    assert "is raw or undercooked egg served, and are highly susceptible people served?" in pages[0]


def test_log_names_who_confirmed_the_limits(store: Store, tmp_path: Path) -> None:
    """Authority, person, day, and the manager who recorded it; nothing says that they are not confirmed."""
    _confirm(store, T0 - HOUR)
    words = " ".join(_pages(store, tmp_path / "log.pdf"))
    assert "Confirmed with Denver, Colorado by J. Ortiz on 20 Oct 2026 (letter), recorded by Ana Ruiz." in words
    assert "Inspected by Denver, Colorado. Raw or undercooked egg is not served, as answered at set-up." in words
    assert "Highly susceptible people are not served, as answered at set-up." in words
    assert "ot confirmed with your authority" not in words
    assert "Not answered" not in words


def test_log_under_a_laxer_plan_says_so_on_every_page(store: Store, tmp_path: Path) -> None:
    """Who is laxer than what, why, and who approved it; a figure that was not seen says so beside it."""
    path = tmp_path / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    with store.write() as session:
        set_site(session, from_ms=T0 - HOUR, now_ms=T0 - HOUR, by="ana", limits=str(path))
    pages = _pages(store, tmp_path / "log.pdf")
    assert all("Held to a plan that is laxer than its code." in page for page in pages)
    words = " ".join(pages)
    assert "This plan is LAXER than FDA Food Code 2022 in cold-holding: by R. Linden on 1 May 2026" in words
    assert "approved by J. Ortiz, letter 77 on 10 May 2026" in words
    assert "P1 (memory)" in words
    assert re.search(r"P1 held at 45 °F or less .*?not seen in print", words)


def test_log_prints_the_limits_of_what_was_judged(store: Store, tmp_path: Path) -> None:
    """A log in which reheating was judged prints its limit, and no longer says that reheating is left out."""
    before = " ".join(_pages(store, tmp_path / "before.pdf"))
    assert "3-403.11(A)" not in before
    assert "reheating" in before
    with store.write() as session:
        save_clause(
            session,
            subject="batch:1:1",
            clause="3-403.11(A)",
            verdict="met",
            facts={},
            judged_ms=T0,
            process="reheating",
            limits="us-food-code-2022",
        )
    after = " ".join(_pages(store, tmp_path / "after.pdf"))
    assert "165 °F for 15 s" in after
    assert "reheating" not in not_covered({"cooling", "reheating"})
    assert not_covered({"cooling"}).startswith(
        "Hands and sickness of staff, cleaning, vacuum-packed or sous-vide food,"
    )
