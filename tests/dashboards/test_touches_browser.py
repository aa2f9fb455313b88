"""What a shift does most takes few touches, counted in a real browser; and who needs no motion, more size or no mouse.

The PIN is not counted. Printing yesterday in two is held by `test_records`, beginning a shift and recording from the link
of an alert by `test_door`.
"""

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page

from holdwatch.clock import now_ms
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.findings import open_finding
from holdwatch.storage.tables import FindingKind
from tests.support.commands import printed, succeed
from tests.support.screens import browser, served

__all__ = ["browser"]

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280)]
SOON_MS = 30_000


@dataclass
class Thumb:
    """Touches what it is told to, and counts."""

    touches: int = 0
    said: list[str] = field(default_factory=list)

    def on(self, what: Locator) -> None:
        """Touch once."""
        what.click(timeout=SOON_MS)
        self.touches += 1


@dataclass(frozen=True)
class Kitchen:
    """A cook's own browser, signed in."""

    url: str
    data: str
    context: BrowserContext


@pytest.fixture(scope="module")
def kitchen(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    """A kitchen with a walk-in, two food probes, a batch, a finding, and a cook who has signed in."""
    with served(tmp_path_factory.mktemp("kitchen")) as (data, port):
        succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
        for code in ("p1", "p2"):
            succeed("probe", "add", code, "--medium", "food", "--data", data)
        succeed("batch", "start", "--product", "Lemon curd", "--lot", "C1", "--vessels", "2", "--data", data)
        succeed("place", "p1", "--batch", "C1", "--data", data)
        store, now = open_store(store_url(data, None)), now_ms()
        with store.write() as session:
            open_finding(
                session,
                key="batch:1:1",
                kind=FindingKind.DEVIATION,
                subject="batch:1:1",
                title="Lemon curd C1",
                reason="70 °F was not reached within 2 h",
                since_ms=now,
                now_ms=now,
                batch_id=1,
            )
        store.close()
        succeed("person", "add", "Tomas Ek", "--initials", "TE", "--role", "manager", "--data", data)
        pin = [sys.executable, "-m", "holdwatch", "person", "pin", "TE", "--data", str(data)]
        subprocess.run(pin, input="2739\n", text=True, check=True, capture_output=True)
        context = browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
        url = f"http://127.0.0.1:{port}"
        form = {"who": "Tomas Ek", "pin": "2739", "next": "/"}
        assert context.request.post(f"{url}/sign-in", form=form).ok
        yield Kitchen(url, str(data), context)
        context.close()


def _opened(kitchen: Kitchen, path: str, thumb: Thumb | None = None) -> Page:
    page = kitchen.context.new_page()
    if thumb is not None:
        page.on("console", lambda said: thumb.said.append(said.text) if said.type == "error" else None)
    page.goto(f"{kitchen.url}{path}")
    page.get_by_text("your local code and inspector decide").first.wait_for(timeout=SOON_MS)
    return page


def test_a_shift_needs_few_touches(kitchen: Kitchen) -> None:
    """Three start a batch, two move a probe, four at most record an action; the policy of the pages stops nothing of it."""
    thumb = Thumb()
    page = _opened(kitchen, "/batches", thumb)
    thumb.on(page.get_by_role("radio", name="Lemon curd", exact=True))
    thumb.on(page.get_by_role("radio", name="p2", exact=True))
    thumb.on(page.get_by_role("button", name="Start the batch"))
    page.get_by_text("has started").first.wait_for(timeout=SOON_MS)
    assert thumb.touches == 3
    (made,) = [each for each in printed("batch", "list", "--json", "--data", kitchen.data) if each["lot"] != "C1"]
    assert made["product"] == "Lemon curd"

    page = _opened(kitchen, "/batches?batch=1", thumb)
    thumb.touches = 0
    thumb.on(page.get_by_role("tab", name="Place a probe"))
    thumb.on(page.get_by_role("button", name="p2, out of batch"))
    page.get_by_text("Probe p2 is placed in vessel 2").first.wait_for(timeout=SOON_MS)
    assert thumb.touches == 2

    page = _opened(kitchen, "/findings", thumb)
    thumb.touches = 0
    thumb.on(page.get_by_role("link", name="Lemon curd C1").first)
    thumb.on(page.get_by_role("radiogroup", name="The food").locator("label").first)
    page.get_by_label("PIN", exact=True).first.fill("2739")
    thumb.on(page.get_by_role("button", name="Record it"))
    page.get_by_text("Recorded").first.wait_for(timeout=SOON_MS)
    assert thumb.touches <= 4
    assert [each for each in thumb.said if "Content Security Policy" in each] == []


@pytest.mark.parametrize("path", ["/", "/batches?batch=1", "/setup"])
def test_a_page_is_whole_at_twice_its_size_without_motion_and_without_a_mouse(kitchen: Kitchen, path: str) -> None:
    """At 200 % of 1280 px a page is 640 px wide (WCAG 2.2, 1.4.4 and 1.4.10); what has the focus shows it (2.4.7)."""
    page = _opened(kitchen, path)
    page.set_viewport_size({"width": 640, "height": 450})
    page.wait_for_timeout(1_000)
    main = page.locator("[data-testid=stMain]").evaluate("main => main.scrollWidth - main.clientWidth")
    assert max(int(page.evaluate("document.documentElement.scrollWidth - innerWidth")), int(main)) <= 0
    moving = page.evaluate(
        "[...document.querySelectorAll('*')].filter(e => { const s = getComputedStyle(e);"
        " return s.animationName !== 'none' || (parseFloat(s.transitionDuration) > 0 && s.transitionProperty !== 'none'); }).length"
    )
    assert moving == 0
    unseen = []
    for _ in range(25):
        page.keyboard.press("Tab")
        found = page.evaluate(
            "(() => { let e = document.activeElement, at = e; if (!e || e === document.body) return null;"
            " for (let n = 0; at && n < 4; n++, at = at.parentElement) { const s = getComputedStyle(at);"
            " if ((s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) > 0) || s.boxShadow !== 'none') return ''; }"
            " return e.outerHTML.slice(0, 160); })()"
        )
        if found:
            unseen.append(found)
    page.close()
    assert unseen == []
