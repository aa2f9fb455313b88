"""What the server of the screens grows by with each refresh, and with each time that a page is loaded.

Run ``python -m benchmarks.wearing`` (``--refreshes 4000``, ``--small``). Twelve hours of the wall tablet are 30,240
refreshes of parts of the Bench and twelve loads; here they pass faster, a refresh every fifth of a second as far as the machine can. The
two are apart, for memory that grows with one is freed otherwise than memory that grows with the other.
"""

import argparse
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from benchmarks.screens import Server, script_of, serving
from benchmarks.screens_kitchen import kitchen
from benchmarks.support import Growth, resident, say, table

TWELVE_HOURS, LOADS, FASTER = 30_240, 60, 10
READINGS = 50_000
LOOK_EVERY_S = 10.0
_SETTLED = 1 / 3
"""In the first third caches fill."""
_MB = 1e6


def main() -> None:
    """Measure, and print the section of the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--refreshes", type=int, default=TWELVE_HOURS)
    parser.add_argument("--small", action="store_true")
    asked = parser.parse_args()
    refreshes, loads = (300, 6) if asked.small else (asked.refreshes, LOADS)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as play:
        data = Path(name) / "kitchen"
        with kitchen(data, READINGS):
            pass
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
        with serving(script_of("server.py"), data, Path(name) / "told", faster=FASTER) as server:
            page = browser.new_page(viewport={"width": 1280, "height": 800})
            page.goto(server.base)
            page.locator(".hw-unit").first.wait_for(timeout=120_000)
            began = time.monotonic()
            refreshed = by_refresh(page, server, refreshes)
            took_min = (time.monotonic() - began) / 60
            loaded = by_load(page, server, loads)
        browser.close()
    say(
        "## What the server of the screens grows by",
        "",
        f"The Bench of six batches and sixteen units in a headless Chromium, what it repeats {FASTER} times as often as usual"
        f" ({refreshed[-1][0]:,.0f} runs in {took_min:.0f} min, as many as in {refreshed[-1][0] / _runs_an_hour():.1f} hours), then loaded"
        f" {loads} times. Growth is a straight line by least squares after the first third.",
        "",
    )
    rows = [
        ("a thousand refreshes", *_told(refreshed, 1000), f"{_growth(refreshed).each * 12 * _runs_an_hour():+.1f} MB"),
        ("a load", *_told(loaded, 1), f"{_growth(loaded).each * 12:+.1f} MB"),
    ]
    table(("growth with", "server at first", "at the end", "growth", "in twelve hours"), rows)


def _runs_an_hour() -> float:
    """Return how often a part of the Bench runs: the batches every 2 s, the units and the parts every 10 s."""
    return 3600 / 2 + 2 * 3600 / 10


def by_refresh(page: Page, server: Server, count: int) -> list[tuple[float, float]]:
    """Return (refreshes so far, resident MB) while the page stays open."""
    done, found = 0, []
    server.runs()
    while done < count:
        page.wait_for_timeout(LOOK_EVERY_S * 1e3)
        ran = len(server.runs())
        assert ran, "the page refreshed nothing"
        done += ran
        found.append((float(done), resident(server.process) / _MB))
    return found


def by_load(page: Page, server: Server, count: int) -> list[tuple[float, float]]:
    """Return (loads so far, resident MB); each time the whole Bench is drawn before the next."""
    found = []
    for number in range(count):
        page.reload()
        page.locator(".hw-unit").first.wait_for(timeout=120_000)
        page.wait_for_timeout(1_000)
        found.append((number + 1.0, resident(server.process) / _MB))
    return found


def _growth(found: Sequence[tuple[float, float]]) -> Growth:
    """Return MB for each, after the first third."""
    return Growth.of(*zip(*found[int(len(found) * _SETTLED) :], strict=True))


def _told(found: Sequence[tuple[float, float]], each: int) -> tuple[str, str, str]:
    growth = _growth(found)
    return (
        f"{found[0][1]:.0f} MB",
        f"{found[-1][1]:.0f} MB",
        f"{each * growth.each:+.3f} ± {each * growth.error:.3f} MB",
    )


if __name__ == "__main__":
    main()
