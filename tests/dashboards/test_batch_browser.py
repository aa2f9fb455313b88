"""A batch's page in a real browser, on a phone: taken into use, declared, labelled, handed over, its logger read back."""

import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

import dashboards
from holdwatch.clock import now_ms, to_iso
from tests.support.commands import printed, succeed
from tests.support.screens import browser, served

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280)]
SOON_MS = 30_000
SERVER = tomllib.loads((Path(dashboards.__file__ or "").parent / ".streamlit" / "config.toml").read_text())["server"]
LIMIT_BYTES = SERVER["maxUploadSize"] * 1024**2


def _sideways(page: Page) -> int:
    """Return by how many pixels the page is wider than the screen."""
    main = page.locator("[data-testid=stMain]").evaluate("main => main.scrollWidth - main.clientWidth")
    return max(int(page.evaluate("document.documentElement.scrollWidth - window.innerWidth")), int(main))


def _open(page: Page, tab: str) -> None:
    page.get_by_role("tab", name=tab, exact=True).click()


def test_batch_is_kept_from_use_to_the_logger_on_a_phone(browser: Browser, tmp_path: Path) -> None:
    """Every new form on one small screen: what was recorded stands on the page, and nothing is wider than it."""
    with served(tmp_path / "kitchen") as (data, port):
        start = ("--product", "Wedding cake", "--lot", "K1", "--process", "cold-holding")
        succeed("batch", "start", *start, "--data", data)
        file = tmp_path / "logger-7.csv"
        file.write_text(f"time,temperature_c\n{to_iso(now_ms())},3.5\n", encoding="utf-8")
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(f"http://127.0.0.1:{port}/batches?batch=1")
        page.get_by_text("not declared of Wedding cake K1").first.wait_for(timeout=60_000)
        assert _sideways(page) <= 0

        _open(page, "In use")
        page.get_by_label("In use for (hours").fill("4")
        page.get_by_role("button", name="It is taken into use").click()
        page.get_by_text("Recorded: in use, until").first.wait_for(timeout=SOON_MS)
        page.get_by_text("4 h in use").first.wait_for(timeout=SOON_MS)

        _open(page, "Allergens")
        page.get_by_label("In it").fill("eggs, milk, gluten (wheat)")
        page.get_by_role("button", name="Declare the allergens").click()
        page.get_by_text("contains wheat, egg, milk").first.wait_for(timeout=SOON_MS)

        _open(page, "Labels")
        page.get_by_role("button", name="Make the labels").click()
        with page.expect_download() as taken:
            page.get_by_role("button", name="Take labels-K1.pdf").click(timeout=SOON_MS)
        assert taken.value.path().read_bytes().startswith(b"%PDF")
        assert _sideways(page) <= 0

        _open(page, "Away")
        page.get_by_label("Handed over to, or set down where").fill("Blue Spruce Hotel")
        page.get_by_role("button", name="It is handed over").click()
        page.get_by_text("Recorded: handed over to Blue Spruce Hotel").first.wait_for(timeout=SOON_MS)
        _open(page, "Away")
        large = tmp_path / "logger-of-a-year.csv"
        large.write_bytes(b"0" * (LIMIT_BYTES + 1))
        page.locator("input[type=file]").set_input_files(large)
        page.get_by_test_id("stFileChipIconError").first.wait_for(timeout=SOON_MS)
        page.get_by_role("button", name="Read it back").click()
        page.get_by_text("Choose the file, of 5 MB at most").first.wait_for(timeout=SOON_MS)
        page.get_by_test_id("stFileChipDeleteBtn").first.click()
        page.locator("input[type=file]").set_input_files(file)
        page.get_by_text("logger-7.csv").first.wait_for(timeout=SOON_MS)
        page.wait_for_timeout(1_000)  # its name stands there a moment before all of it has arrived
        page.get_by_label("What the logger is called").fill("logger-7")
        page.get_by_role("button", name="Read it back").click()
        page.get_by_text("1 readings of logger-7.csv are kept").first.wait_for(timeout=SOON_MS)
        assert _sideways(page) <= 0
        page.close()
        kinds = [note["kind"] for note in printed("batch", "notes", "K1", "--json", "--data", data)]
    assert {"in-use", "allergens", "handed-over", "read-back"} <= set(kinds)
