"""Take pictures of every page of the demonstration kitchen into docs/img: `make screenshots`."""

import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.findings import findings

OUT = Path(__file__).parents[1] / "docs" / "img"
READY_WITHIN_S = 120.0
SETTLE_MS = 3_000
SCREENS = {"": (1280, 800), "-phone": (390, 844)}


@contextmanager
def demonstration(data: Path) -> Iterator[str]:
    """Run the demonstration until the block ends; give the address of its screens."""
    process = subprocess.Popen(
        [sys.executable, "-m", "holdwatch", "demo", "--data", str(data), "--port", "8599"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        if process.stdout is None or process.stdout.readline().strip() != "ready":
            sys.exit("the demonstration did not become ready")
        deadline = time.monotonic() + READY_WITHIN_S
        inbox = data / "inbox.jsonl"
        while time.monotonic() < deadline and not (inbox.exists() and inbox.stat().st_size):
            time.sleep(1)
        yield "http://127.0.0.1:8599"
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(30)


def pages(data: Path) -> dict[str, str]:
    """Return name and address of each page worth a picture."""
    store = open_store(store_url(data, None))
    with store.read() as session:
        soon = next(f for f in findings(session, open_only=True) if f.kind == "soon" and f.batch_id is not None)
        found, batch = soon.id, soon.batch_id
    store.close()
    return {
        "bench": "/",
        "batches": "/batches",
        "batch": f"/batches?batch={batch}",
        "units": "/units",
        "findings": "/findings",
        "round": "/round",
        "records": "/records?part=days",
        "printing": "/records?part=print",
        "shift": "/shift",
        "calculators": "/calculators?calculator=sugar&room-altitude=5280ft&sugar-shows=230",
        "setup": "/setup",
        "finding": f"/findings?finding={found}",
        "phone": "/inbox",
    }


def take(browser: Browser, base: str, addresses: dict[str, str], out: Path) -> None:
    """Take every page on every kind of screen."""
    for suffix, (width, height) in SCREENS.items():
        page = browser.new_page(viewport={"width": width, "height": height})
        for name, address in addresses.items():
            page.goto(base + address)
            page.locator(".hw-quiet").last.wait_for(timeout=60_000)
            page.wait_for_timeout(SETTLE_MS)
            whole = page.locator("[data-testid=stMain]").evaluate("main => main.scrollHeight")
            page.set_viewport_size({"width": width, "height": min(max(height, int(whole) + 20), 2400)})
            page.wait_for_timeout(1_000)
            page.screenshot(path=out / f"{name}{suffix}.png")
            page.set_viewport_size({"width": width, "height": height})
            print(f"{name}{suffix}.png")
        page.close()


def main() -> None:
    """Take them all."""
    OUT.mkdir(parents=True, exist_ok=True)
    browser_path = shutil.which("chromium") or shutil.which("chromium-browser") or sys.exit("chromium is not installed")
    with tempfile.TemporaryDirectory() as directory, sync_playwright() as playwright:
        data = Path(directory) / "demo"
        with demonstration(data) as base:
            browser = playwright.chromium.launch(executable_path=browser_path, args=["--no-sandbox", "--disable-gpu"])
            take(browser, base, pages(data), OUT)
            browser.close()


if __name__ == "__main__":
    main()
