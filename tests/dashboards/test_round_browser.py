"""Opening and closing in a real browser, on a laptop and on a phone."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.support.commands import succeed
from tests.support.screens import browser, served

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280), pytest.mark.long]

SIZES = pytest.mark.parametrize("size", [(1280, 900), (390, 844)], ids=["laptop", "phone"])


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """The data and the address of the screens of a kitchen with one batch that nobody measures."""
    with served(tmp_path_factory.mktemp("kitchen")) as (data, port):
        for name in ("Walk-in 1", "Walk-in 2"):
            succeed("unit", "add", name, "--kind", "walk-in", "--by", "Ines Okafor", "--data", data)
        succeed("batch", "start", "--product", "Lemon curd", "--lot", "C1", "--by", "Ines Okafor", "--data", data)
        succeed("batch", "note", "C1", "moved", "--unit", "Walk-in 1", "--by", "Ines Okafor", "--data", data)
        yield data, f"http://127.0.0.1:{port}"


def _sideways(page: Page) -> int:
    """Return by how many pixels the page is wider than the screen."""
    main = page.locator("[data-testid=stMain]").evaluate("main => main.scrollWidth - main.clientWidth")
    return max(int(page.evaluate("document.documentElement.scrollWidth - window.innerWidth")), int(main))


def _who(page: Page) -> None:
    field = page.get_by_role("combobox", name="Who").first
    field.click()
    field.fill("Ines Okafor")
    field.press("Enter")


@SIZES
def test_a_closing_is_gone_through(browser: Browser, kitchen: tuple[Path, str], size: tuple[int, int]) -> None:
    """The curd that nobody measures stands on it; nothing is wider than the screen, no button too small to touch."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(f"{kitchen[1]}/round")
    page.get_by_text("Nobody measures it: 1").wait_for(timeout=60_000)
    page.get_by_text("Lemon curd C1").first.wait_for()
    button = page.get_by_role("button", name="Record the closing as gone through")
    box = button.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    assert _sideways(page) <= 0
    _who(page)
    button.click()
    page.get_by_text("closing gone through by Ines Okafor").first.wait_for(timeout=30_000)
    page.get_by_text("Opening", exact=True).first.click()
    page.get_by_text("Since the closing that Ines Okafor went through").first.wait_for(timeout=30_000)
    assert _sideways(page) <= 0
    page.close()


@SIZES
@pytest.mark.parametrize(
    ("part", "button"),
    [
        ("opening", "Record the opening as gone through"),
        ("deliveries", "Take it"),
        ("out-of-use", "Declare it out of use"),
        ("visits", "Record the visit"),
    ],
)
def test_every_part_fits_its_screen(
    browser: Browser, kitchen: tuple[Path, str], size: tuple[int, int], part: str, button: str
) -> None:
    """Nothing is wider than the screen, and no button is too small to touch."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(f"{kitchen[1]}/round?part={part}")
    found = page.get_by_role("button", name=button)
    found.wait_for(timeout=60_000)
    page.get_by_text("your local code and inspector decide").first.wait_for(timeout=60_000)  # the page is drawn whole
    page.wait_for_timeout(1_000)
    box = found.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    assert _sideways(page) <= 0
    page.close()


@SIZES
def test_a_breakdown_sheet_is_filled_in(browser: Browser, kitchen: tuple[Path, str], size: tuple[int, int]) -> None:
    """A touch for what becomes of the curd; set apart it stays on the sheet."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(f"{kitchen[1]}/round?part=breakdown")
    unit = page.get_by_role("combobox", name="Which unit broke down?")
    unit.click(timeout=60_000)
    unit.fill("Walk-in 1")
    unit.press("Enter")
    page.get_by_text("Lemon curd C1").first.wait_for(timeout=30_000)
    assert _sideways(page) <= 0
    page.get_by_role("radio", name="Hold").first.click()
    _who(page)
    page.get_by_role("button", name="Record the sheet").click()
    page.get_by_text("1 batch: 1 hold").first.wait_for(timeout=30_000)
    page.close()
