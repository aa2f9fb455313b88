"""The Set-up page in a real browser: who inspects, two answers and a confirmation, on a laptop and on a phone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.support.screens import browser, served
from tests.support.waiting import wait_for

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


def _who(page: Page, name: str) -> None:
    """Write a name into the first form's field for it, and take it; the screen remembers it for the next form."""
    field = page.get_by_role("combobox", name="Who").first
    field.click()
    field.fill(name)
    field.press("Enter")


@SIZES
def test_setup_is_answered_from_the_authority_to_its_confirmation(
    browser: Browser, screens: str, size: tuple[int, int]
) -> None:
    """Nothing is wider than the screen; what was recorded stands on the page, and at the foot of every other."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(screens)
    page.get_by_role("link", name="Set-up").click(timeout=60_000)
    page.get_by_text("nobody said", exact=True).first.wait_for(timeout=60_000)
    assert _sideways(page) <= 0
    field = page.get_by_label("The authority, with its state or country")
    field.fill("Denver Public Health, Colorado")
    field.press("Tab")
    limits = page.get_by_role("combobox").first
    wait_for(lambda: "of this place" in limits.input_value(), within_s=30, what="the code of the place")
    for question in page.get_by_role("radiogroup").filter(has=page.get_by_text("no", exact=True)).all():
        question.get_by_text("no", exact=True).click()
    _who(page, "Ines Okafor")
    page.get_by_role("button", name="Take into force from now on").click()
    page.get_by_text("In force from now on, set by Ines Okafor.").first.wait_for(timeout=30_000)
    page.get_by_label("Who said so at the authority").fill("J. Ortiz")
    page.get_by_role("button", name="Record the confirmation").click()
    page.get_by_text("Confirmed with Denver Public Health, Colorado by J. Ortiz").first.wait_for(timeout=30_000)
    assert _sideways(page) <= 0
    page.get_by_role("link", name="Bench").click()
    page.get_by_text("confirmed with Denver Public Health, Colorado by J. Ortiz").first.wait_for(timeout=30_000)
    page.close()
