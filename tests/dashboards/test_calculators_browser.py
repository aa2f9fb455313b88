"""The Calculators page in a real browser: on a laptop and on a phone, with hands on the keyboard."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from dashboards.parts.calculators import PANELS
from tests.support.screens import browser, served

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280), pytest.mark.long]

LAPTOP, PHONE = (1280, 900), (390, 844)
BOTH = pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])


@pytest.fixture(scope="module")
def screens(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the screens of an empty kitchen."""
    with served(tmp_path_factory.mktemp("kitchen")) as (_, port):
        yield f"http://127.0.0.1:{port}"


def opened(browser: Browser, screens: str, name: str, size: tuple[int, int]) -> tuple[Page, list[str]]:
    """Open a calculator; return its page, and the list that errors of its scripts will be in."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(f"{screens}/calculators?calculator={name}")
    page.get_by_role("heading", name=PANELS[name], exact=True).wait_for(timeout=60_000)
    return page, errors


def write(page: Page, label: str, text: str) -> None:
    """Type into a field as a person does, and leave it by the keyboard."""
    field = page.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Tab")


def said(page: Page, words: str) -> None:
    """Wait until the page says it; each part of an answer arrives by itself."""
    page.get_by_text(words).wait_for(timeout=30_000)


def sideways(page: Page) -> int:
    """Return by how many pixels the page is wider than the screen."""
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    main = page.locator("[data-testid=stMain]").evaluate("main => main.scrollWidth - main.clientWidth")
    return max(int(wide), int(main))


@BOTH
def test_page_is_reached_from_the_bench(browser: Browser, screens: str, size: tuple[int, int]) -> None:
    """One touch from the first screen, on a phone too."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(screens)
    page.get_by_role("link", name="Calculators").click(timeout=60_000)
    page.get_by_role("heading", name="Calculators", exact=True).wait_for(timeout=30_000)
    page.close()


@BOTH
def test_boiling_check_is_told(browser: Browser, screens: str, size: tuple[int, int]) -> None:
    """Altitude and what the probe shows, typed; the answer, its source and its caution, shown."""
    page, errors = opened(browser, screens, "boiling", size)
    write(page, "Or barometer in the room", "834hPa")
    write(page, "In boiling water it shows (°F)", "203")
    said(page, "Water boils at 202.3")
    said(page, "within it")
    said(page, "IAPWS R7-97(2012)")
    page.get_by_role("note").wait_for(timeout=30_000)
    assert sideways(page) <= 0
    assert errors == []
    page.close()


@BOTH
def test_sugar_is_told_and_the_room_is_remembered(browser: Browser, screens: str, size: tuple[int, int]) -> None:
    """What was typed of the room on one calculator stands on the next."""
    page, errors = opened(browser, screens, "boiling", size)
    write(page, "Altitude of the kitchen", "5280ft")
    said(page, "Water boils at")
    page.get_by_role("radio", name=PANELS["sugar"]).or_(page.get_by_role("button", name=PANELS["sugar"])).click()
    said(page, "hard crack ends")
    assert page.get_by_label("Altitude of the kitchen", exact=True).input_value() == "5280ft"
    said(page, "Burnt skin")
    assert "calculator=sugar" in page.url
    assert sideways(page) <= 0
    assert errors == []
    page.close()


@BOTH
def test_recipe_is_told(browser: Browser, screens: str, size: tuple[int, int]) -> None:
    """Three lines of a recipe, and a mistake in one of them told beside it."""
    page, errors = opened(browser, screens, "recipe", size)
    write(page, "Recipe, one ingredient a line", "powdered sugar = 454 g\nbuter = 227 g")
    said(page, "did you mean 'butter'")
    write(page, "Recipe, one ingredient a line", "powdered sugar = 454 g\nbutter = 227 g\nheavy cream = 30 g")
    said(page, "Water activity about 0.85")
    said(page, "An estimate clears no food")
    assert sideways(page) <= 0
    assert errors == []
    page.close()


@pytest.mark.parametrize("name", PANELS)
def test_every_calculator_fits_a_phone_and_a_thumb(browser: Browser, screens: str, name: str) -> None:
    """At 390 px nothing scrolls sideways, every field has a label, and nothing to touch is lower than 44 px."""
    page, errors = opened(browser, screens, name, PHONE)
    page.locator(".hw-quiet").last.wait_for(timeout=30_000)
    assert sideways(page) <= 0
    for touched in page.locator(
        "[data-testid=stMain] button:visible, [data-testid=stMain] input[type=text]:visible"
    ).all():
        box = touched.bounding_box()
        assert box is not None
        assert box["height"] >= 44, touched.inner_text() or touched.get_attribute("aria-label")
    for field in page.locator("input[type=text], textarea").all():
        assert field.get_attribute("aria-label")
    assert errors == []
    page.close()
