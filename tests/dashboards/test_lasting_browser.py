"""A page that stands open for weeks: loaded afresh when nobody uses it, and back by itself after its server was lost."""

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


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of screens that are loaded afresh every three seconds."""
    with served(tmp_path_factory.mktemp("kitchen"), HOLDWATCH_RELOAD_EVERY_MIN=str(EVERY_S / 60)) as (data, port):
        for number in range(12):
            succeed("batch", "start", "--product", "Lemon curd", "--lot", f"C{number}", "--data", data)
        succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
        yield f"http://127.0.0.1:{port}"


def _opened(browser: Browser, address: str) -> Page:
    page = browser.new_page(viewport={"width": 800, "height": 500})
    page.goto(address)
    page.get_by_text("your local code and inspector decide").first.wait_for(timeout=60_000)
    page.evaluate("window.before = true")
    return page


def test_an_idle_page_is_loaded_afresh_where_it_was(browser: Browser, kitchen: str) -> None:
    """The Bench, with what it shows scrolled to the same place; and the span of a unit, which stands in the address."""
    page = _opened(browser, kitchen)
    main = page.locator("[data-testid=stMain]")
    main.evaluate("main => main.scrollTo(0, 300)")
    page.wait_for_function("!window.before")
    page.wait_for_function("document.querySelector('[data-testid=stMain]')?.scrollTop === 300")
    page.close()
    page = _opened(browser, f"{kitchen}/units")
    page.get_by_role("radio", name="week").click()
    page.wait_for_function("location.search.includes('span=week')")
    page.wait_for_function("!window.before")
    page.locator("[role=radio][aria-checked=true]", has_text="week").wait_for()
    page.close()


def test_a_page_that_holds_text_is_left_alone(browser: Browser, kitchen: str) -> None:
    """Whatever the hour: until the field is empty again."""
    page = _opened(browser, f"{kitchen}/batches")
    page.get_by_label("Another product").fill("Half a na")
    page.wait_for_timeout((EVERY_S + 2) * 1_000)
    assert page.evaluate("window.before")
    assert page.get_by_label("Another product").input_value() == "Half a na"
    page.get_by_label("Another product").fill("")
    page.wait_for_function("!window.before")
    page.close()


def test_a_lost_server_is_told_and_comes_back_with_what_was_typed(browser: Browser, tmp_path: Path) -> None:
    """In our words, not over the fields; what was typed before is what is recorded afterwards."""
    data, port = init(tmp_path / "kitchen"), free_port()
    with serving(data, port) as process:
        page = _opened(browser, f"http://127.0.0.1:{port}/batches")
        page.get_by_label("Product", exact=True).fill("Lemon curd")
        page.get_by_label("Lot", exact=True).fill("TYPED-1")
        process.kill()
        page.get_by_text("The server of these screens is not heard since").wait_for(timeout=30_000)
        page.get_by_role("dialog").wait_for(state="detached")
    with serving(data, port):
        page.locator(".hw-lost").wait_for(state="detached", timeout=60_000)
        assert page.evaluate("window.before"), "it came back without being loaded again"
        page.get_by_role("button", name="Start the batch").click()
        page.get_by_text("Lemon curd TYPED-1 has started.").first.wait_for()
        page.close()
    assert [row["lot"] for row in printed("batch", "list", "--data", data)] == ["TYPED-1"]
