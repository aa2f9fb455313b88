"""A page that stands open for weeks: it changes only where something changed, and is back after its server was lost."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.support.commands import init, printed, succeed
from tests.support.mosquitto import free_port
from tests.support.screens import browser, served, serving

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(200)]
EVERY_S = 3.0
_REFRESHED_MS = 2_000
_COMPARED = """() => { // a minute may pass meanwhile: then a picture says so, and its row is a new one by right
  const same = [...document.querySelectorAll(".hw-row, .hw-unit")].filter(row => known.has(row.outerHTML));
  const names = (rows) => rows.map(row => row.querySelector(".hw-name").textContent);
  return [names(same), names(same.filter(row => row.place === undefined))];
}"""
_SCROLLED = "Math.abs((document.querySelector('[data-testid=stMain]')?.scrollTop ?? 0) - 300) < 50"  # within half a row
_SCROLL = """() => { // at one stroke: whatever page this is, it is the one to be loaded afresh
  document.querySelector("[data-testid=stMain]")?.scrollTo(0, 300);
  return window.before = %s;
}"""
_SHOWN_AT = "document.querySelectorAll('.hw-row')[2].getBoundingClientRect().top"
_TWO_TOUCHES = """() => { // the second before the server has answered the first
  const ways = [...document.querySelectorAll(".st-key-ways a")];
  for (const name of ["Bench", "Batches"]) ways.find(way => way.textContent.trim() === name).click();
}"""
_WATCH = """() => {
  window.known = new Set();
  document.querySelectorAll(".hw-row, .hw-unit").forEach((row, place) => { row.place = place; known.add(row.outerHTML); });
  document.querySelector("[data-testid=stMain]").scrollTo(0, 200);
  window.dimmed = [];
  window.scrolled = new Set(); // a browser scrolls after what it shows where something above it comes or goes
  const look = () => { // at every frame that is shown
    for (const row of document.querySelectorAll(".hw-row, .hw-unit, .hw-top")) {
      for (let at = row; at; at = at.parentElement) if (getComputedStyle(at).opacity !== "1") dimmed.push(at.className);
    }
    scrolled.add(document.querySelector("[data-testid=stMain]").scrollTop);
    requestAnimationFrame(look);
  };
  look();
}"""


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """The data and the address of screens that are loaded afresh every three seconds."""
    with served(tmp_path_factory.mktemp("kitchen"), HOLDWATCH_RELOAD_EVERY_MIN=str(EVERY_S / 60)) as (data, port):
        for number in range(12):
            succeed("batch", "start", "--product", "Lemon curd", "--lot", f"C{number}", "--data", data)
        succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
        yield data, f"http://127.0.0.1:{port}"


def _opened(browser: Browser, address: str) -> Page:
    page = browser.new_page(viewport={"width": 800, "height": 500})
    page.goto(address)
    page.get_by_text("your local code and inspector decide").first.wait_for(timeout=60_000)
    page.evaluate("window.before = true")
    return page


def test_an_idle_page_is_loaded_afresh_where_it_was(browser: Browser, kitchen: tuple[Path, str]) -> None:
    """The Bench, with what it shows scrolled to the same place; and the span of a unit, which stands in the address."""
    page = _opened(browser, kitchen[1])
    page.wait_for_function(_SCROLL % _SCROLLED)
    for _ in range(2):
        page.wait_for_function("!window.before")
        page.wait_for_function(f"window.before = {_SCROLLED}")
    page.close()
    page = _opened(browser, f"{kitchen[1]}/units")
    page.get_by_role("radio", name="week").click()
    page.wait_for_function("location.search.includes('span=week')")
    page.wait_for_function("!window.before")
    page.locator("[role=radio][aria-checked=true]", has_text="week").wait_for()
    page.close()


def test_a_refresh_changes_only_what_has_changed(browser: Browser, kitchen: tuple[Path, str]) -> None:
    """Rows stay the very ones they were, where they were, and nothing is dimmed meanwhile; one that changed is new."""
    page = browser.new_page(viewport={"width": 800, "height": 500})
    page.add_init_script("window.holdwatchLasting = {}")  # not loaded afresh: this is about what happens without
    page.goto(kitchen[1])
    page.get_by_text("your local code and inspector decide").first.wait_for(timeout=60_000)
    page.wait_for_timeout(1_500)
    page.evaluate(_WATCH)
    before = page.evaluate(_SHOWN_AT)
    page.wait_for_timeout(4 * _REFRESHED_MS)
    unchanged, anew = page.evaluate(_COMPARED)
    assert len(unchanged) >= 8
    assert anew == []
    assert abs(page.evaluate(_SHOWN_AT) - before) <= 1, "what is being read stays where it is read"
    assert page.evaluate("[...window.scrolled]") == [200], "and nothing above it came and went"
    succeed("batch", "note", "C2", "reading", "68F", "--data", kitchen[0])
    page.locator(".hw-row", has_text="Lemon curd C2").get_by_text("68.0").wait_for(timeout=30_000)
    unchanged, anew = page.evaluate(_COMPARED)
    assert len(unchanged) >= 8
    assert anew == []
    assert page.locator(".hw-row", has_text="Lemon curd C2").evaluate("row => row.place === undefined")
    assert page.evaluate("window.dimmed") == []
    page.close()


def test_a_page_that_holds_text_is_left_alone(browser: Browser, kitchen: tuple[Path, str]) -> None:
    """Whatever the hour: until the field is empty again."""
    page = _opened(browser, f"{kitchen[1]}/batches")
    page.get_by_label("Another product").fill("Half a na")
    page.evaluate("window.before = true")
    page.wait_for_timeout((EVERY_S + 2) * 1_000)
    assert page.evaluate("window.before")
    assert page.get_by_label("Another product").input_value() == "Half a na"
    page.get_by_label("Another product").fill("")
    page.wait_for_function("!window.before")
    page.close()


def test_a_lost_server_is_told_and_comes_back_with_what_was_typed(browser: Browser, tmp_path: Path) -> None:
    """In our words, not over the fields; what was typed before is what is recorded afterwards, in a form used before too."""
    data, port = init(tmp_path / "kitchen"), free_port()
    with serving(data, port) as process:
        page = _opened(browser, f"http://127.0.0.1:{port}/batches")
        _type(page, "Product", "TYPED-1")
        page.get_by_role("button", name="Start the batch").click()
        page.get_by_text("Lemon curd TYPED-1 has started.").first.wait_for()
        page.locator("[data-test-script-state=notRunning]").wait_for()
        page.evaluate(_TWO_TOUCHES)  # in the same session, which a link to the form would not be
        page.wait_for_url("**/batches")  # and not of the batch that was there before
        _type(page, "Another product", "TYPED-2")
        process.kill()
        page.get_by_text("The server of these screens is not heard since").wait_for(timeout=30_000)
        page.get_by_role("dialog").wait_for(state="detached")
    with serving(data, port):
        page.locator(".hw-lost").wait_for(state="detached", timeout=60_000)
        assert page.evaluate("window.before"), "it came back without being loaded again"
        page.get_by_role("button", name="Start the batch").click()
        page.get_by_text("Lemon curd TYPED-2 has started.").first.wait_for()
        page.close()
    assert {row["lot"] for row in printed("batch", "list", "--data", data)} == {"TYPED-1", "TYPED-2"}


def _type(page: Page, product: str, lot: str) -> None:
    page.get_by_label(product, exact=True).fill("Lemon curd")
    page.get_by_label("Lot", exact=True).fill(lot)
