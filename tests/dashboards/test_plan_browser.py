"""The written plan in a real browser: a starter taken, a question answered, a step read, on a laptop and on a phone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.support.screens import browser, served

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280)]

SIZES = pytest.mark.parametrize("size", [(1280, 900), (390, 844)], ids=["laptop", "phone"])


@pytest.fixture
def screens(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the screens of an empty kitchen."""
    with served(tmp_path_factory.mktemp("kitchen")) as (_, port):
        yield f"http://127.0.0.1:{port}"


def _sideways(page: Page) -> int:
    """Return by how many pixels the page is wider than the screen."""
    main = page.locator("[data-testid=stMain]").evaluate("main => main.scrollWidth - main.clientWidth")
    return max(int(page.evaluate("document.documentElement.scrollWidth - window.innerWidth")), int(main))


def _choose(page: Page, label: str, option: str) -> None:
    """Take an option of a field by writing it."""
    field = page.get_by_role("combobox", name=label).last
    field.click()
    field.fill(option)
    page.get_by_role("option", name=option).first.wait_for(timeout=30_000)  # before it is there, Enter takes nothing
    field.press("Enter")


@SIZES
def test_a_starter_becomes_a_product_of_the_plan(browser: Browser, screens: str, size: tuple[int, int]) -> None:
    """Nothing is wider than the screen, and what can be touched is large enough for a thumb."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(screens)
    page.get_by_role("link", name="Set-up").click(timeout=60_000)
    page.get_by_text("Products and their steps").wait_for(timeout=60_000)
    _choose(page, "Starter", "Sponge")
    form = page.get_by_test_id("stForm").filter(has_text="What it is called here")
    who = form.get_by_role("combobox", name="Who")
    who.click(timeout=30_000)
    who.fill("Ines Okafor")
    who.press("Enter")
    form.get_by_role("button", name="Take it into the plan").click()
    page.get_by_text("Sponge is in the plan.").first.wait_for(timeout=30_000)
    _choose(page, "Look at, or change", "Sponge")
    page.get_by_text("To be checked before it is used").wait_for(timeout=30_000)
    assert _sideways(page) <= 0
    form = page.get_by_test_id("stForm").filter(has_text="Is it plain")
    form.get_by_role("radiogroup").get_by_text("yes", exact=True).click()
    button = form.get_by_role("button", name="Record the answer")
    box = button.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    button.click()
    page.get_by_text("Sponge, plain or not: yes.").first.wait_for(timeout=30_000)
    page.get_by_text("Confirm this with your authority.").first.wait_for(timeout=30_000)
    page.get_by_text("Which step").first.wait_for(state="attached", timeout=30_000)
    assert _sideways(page) <= 0
    page.close()
