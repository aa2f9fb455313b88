"""Access for everybody: axe-core looks at every page in a real browser, whose console stays empty; and the tablet at night.

axe-core tests what a program can test of WCAG 2.2 A and AA. What Streamlit itself draws and we cannot change is named in
`EXCEPTIONS`, each with its reason; anything else fails.
"""

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page

from dashboards.parts.dark import COOKIE
from tests.support.commands import succeed
from tests.support.screens import browser, served

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(290), pytest.mark.long]

PAGES = [
    "/",
    "/batches",
    "/batches?batch=1",
    "/units",
    "/units?unit=1",
    "/findings",
    "/round",
    "/round?part=opening",
    "/round?part=deliveries",
    "/round?part=breakdown",
    "/round?part=out-of-use",
    "/round?part=visits",
    "/records",
    "/records?part=days",
    "/records?part=probes",
    "/shift",
    "/calculators",
    "/setup",
]
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
EXCEPTIONS: dict[str, str] = {}
"""Rule of axe-core → why it cannot be kept here."""


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the screens of a kitchen with a unit, a probe and a batch."""
    with served(tmp_path_factory.mktemp("kitchen")) as (data, port):
        succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
        succeed("probe", "add", "p1", "--medium", "food", "--data", data)
        succeed("batch", "start", "--product", "Lemon curd", "--lot", "C1", "--probe", "p1", "--data", data)
        yield f"http://127.0.0.1:{port}"


def _opened(browser: Browser, address: str, width: int = 1280, said: list[str] | None = None) -> Page:
    """Open a page, and wait until it is drawn; errors in its console are added to `said`."""
    page = browser.new_page(viewport={"width": width, "height": 900})
    if said is not None:
        page.on("console", lambda each: said.append(each.text) if each.type == "error" else None)
        page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(address)
    _drawn(page)
    page.wait_for_timeout(1_500)
    return page


def _drawn(page: Page) -> None:
    page.get_by_text("your local code and inspector decide").first.wait_for(timeout=60_000)


@pytest.mark.parametrize("path", PAGES)
def test_axe_finds_nothing_and_the_console_stays_empty(browser: Browser, kitchen: str, path: str) -> None:
    """On any page, opened directly; an exception is named with its reason. On a phone nothing is said either."""
    said: list[str] = []
    page = _opened(browser, f"{kitchen}{path}", said=said)
    for folded in page.get_by_text("The figures of this chart").all():
        folded.click()
        page.locator("details table").first.wait_for()
    answer = Axe().run(page, options=RULES).response
    page.set_viewport_size({"width": 390, "height": 844})
    page.reload()
    _drawn(page)
    page.wait_for_timeout(500)
    page.close()
    assert said == []
    assert len(answer["passes"]) > 5, "it has looked"
    found = answer["violations"]
    wrong = {
        each["id"]: [(node["html"][:160], node["failureSummary"][:200]) for node in each["nodes"][:3]]
        for each in found
        if each["id"] not in EXCEPTIONS
    }
    assert wrong == {}


def test_what_was_unfolded_stays_so_while_the_page_draws_itself(browser: Browser, kitchen: str) -> None:
    """On a phone, and over a refresh."""
    page = _opened(browser, f"{kitchen}/batches?batch=1", width=390)
    name, figures = page.get_by_text("The figures of this chart"), page.locator("details table")
    assert figures.count() == 0
    name.click()
    figures.wait_for()
    page.wait_for_timeout(6_000)  # the page draws itself every five seconds
    assert figures.is_visible()
    name.click()
    figures.wait_for(state="hidden")
    page.close()


def test_no_way_to_a_page_covers_another_on_a_phone(browser: Browser, kitchen: str) -> None:
    """Each is 44 px high, and none reaches into the next row."""
    page = _opened(browser, kitchen, width=390)
    boxes = [box for link in page.locator(".st-key-ways a").all() if (box := link.bounding_box()) is not None]
    page.close()
    assert len(boxes) > 5
    assert min(box["height"] for box in boxes) >= 44
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            beside = one["x"] + one["width"] <= other["x"] + 1 or other["x"] + other["width"] <= one["x"] + 1
            above = one["y"] + one["height"] <= other["y"] + 1 or other["y"] + other["height"] <= one["y"] + 1
            assert beside or above, (one, other)


def _brightness(page: Page) -> tuple[float, int, int]:
    """Return the mean, the darkest and the brightest of the page's grey. [0 to 255]."""
    grey = Image.open(io.BytesIO(page.screenshot())).convert("L")
    low, high = grey.getextrema()
    pixels = list(grey.get_flattened_data())
    return sum(pixels) / len(pixels), int(low), int(high)


def test_the_bench_is_dark_at_night_and_stays_so(browser: Browser, kitchen: str, tmp_path: Path) -> None:
    """Light ink on dark paper; the tablet keeps it over a reload."""
    assert tmp_path
    page = _opened(browser, kitchen)
    assert _brightness(page)[0] > 200
    page.get_by_text("Dark, for the night").click()
    page.wait_for_timeout(2_000)
    mean, _, high = _brightness(page)
    assert mean < 60
    assert high > 180
    assert any(each["name"] == COOKIE and each["value"] == "on" for each in page.context.cookies())
    page.reload()
    page.get_by_text("Dark, for the night").wait_for(timeout=60_000)
    page.wait_for_timeout(2_000)
    assert _brightness(page)[0] < 60
    page.close()
