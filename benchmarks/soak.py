"""The wall tablet for hours: the Bench of a running kitchen in a real browser, and what server and page grow by.

Run ``make soak`` (twelve hours), or ``make soak HOURS=1 RELOAD_MIN=15``. Once a minute it asks the kernel for the
server's memory, and the browser for its heap after it has collected its garbage; it looks whether the Bench still tells the time, and
whether the console is silent. Ended early, it writes what it has seen. The page is docs/soak.md.
"""

import argparse
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import altair as alt
from playwright.sync_api import Page, sync_playwright

from benchmarks.support import ROOT, Growth, commit, load, machine, resident, say, today
from holdwatch.demo.kitchen import TIMEZONE
from tests.support.mosquitto import free_port

OUT = ROOT / "docs" / "soak.md"
PICTURE = ROOT / "docs" / "img" / "soak.svg"
EVERY_S, WARM_MIN, ROWS = 60.0, 10.0, 24
LATE_S = 30.0
PROMISED_MB = 150.0
_MB = 1e6


@dataclass(frozen=True)
class Sample:
    """One look: minutes since the Bench was opened, and memory. [MB]."""

    minute: float
    server_mb: float
    heap_mb: float
    browser_mb: float
    nodes: int
    loaded: int
    """How often the page has been loaded so far."""


def main() -> None:
    """Run it, and write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=12.0)
    parser.add_argument("--reload-min", type=float, default=60.0, help="how often the page loads itself afresh")
    parser.add_argument(
        "--small", action="store_true", help="does the benchmark itself work? two minutes, nothing written"
    )
    asked = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    hours, reload_min = (2 / 60, 0.5) if asked.small else (asked.hours, asked.reload_min)
    began, measured, busy = today(), commit(), load()
    samples, said = soak(hours, reload_min, every_s=10.0 if asked.small else EVERY_S)
    if asked.small:
        say(*map(str, samples), *said)
        return
    write(samples, said, hours=hours, reload_min=reload_min, began=f"{began}, commit {measured}", busy=busy)


# ---------------------------------------------------------------- running


def soak(hours: float, reload_min: float, *, every_s: float) -> tuple[list[Sample], list[str]]:
    """Look at the Bench for hours; return what was measured, and what the console said of errors."""
    samples: list[Sample] = []
    said: list[str] = []
    with (
        tempfile.TemporaryDirectory() as name,
        sync_playwright() as playwright,
        kitchen(Path(name) / "demo", reload_min) as (address, process),
    ):
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"], handle_sigint=False
        )
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        loads: list[str] = []
        page.on("load", lambda _: loads.append(""))
        page.on("console", lambda line: said.append(line.text) if line.type == "error" else None)
        page.on("pageerror", lambda fault: said.append(str(fault)))
        page.goto(address)
        page.locator(".hw-row").first.wait_for(timeout=120_000)
        began = time.monotonic()
        try:
            while (gone := time.monotonic() - began) < hours * 3600 + every_s / 2:
                page.wait_for_timeout(max(0.0, len(samples) * every_s - gone) * 1_000)
                samples.append(look(page, process, (time.monotonic() - began) / 60, len(loads)))
                say(str(samples[-1]))
        except KeyboardInterrupt:
            said.append("(ended early)")
        finally:
            browser.close()
    return samples, said


def look(page: Page, process: int, minute: float, loaded: int) -> Sample:
    """Collect the page's garbage and take every figure once; fail if the Bench stands still."""
    page.locator(".hw-row").first.wait_for(timeout=120_000)  # it may just be loading itself afresh
    told = page.context.new_cdp_session(page)
    told.send("HeapProfiler.collectGarbage")
    heap = float(told.send("Runtime.getHeapUsage")["usedSize"])
    told.send("Performance.enable")
    metrics = {each["name"]: each["value"] for each in told.send("Performance.getMetrics")["metrics"]}
    told.detach()
    _require_live(page)
    browser = sum(resident(each) for each in _under(os.getpid(), "chromium"))
    return Sample(minute, resident(process) / _MB, heap / _MB, browser / _MB, int(metrics["Nodes"]), loaded)


def _require_live(page: Page) -> None:
    """Fail where the clock on the Bench is not the present minute, give or take."""
    words = page.locator(".hw-top span").first.inner_text()
    found = re.search(r"(\d\d):(\d\d)", words)
    assert found is not None, words
    hour, minute = map(int, found.groups())
    now = datetime.now(ZoneInfo(TIMEZONE))
    behind_s = (now - now.replace(hour=hour, minute=minute, second=0, microsecond=0)).total_seconds()
    assert -LATE_S <= behind_s < 60 + LATE_S or abs(behind_s) > 23 * 3600, f"the Bench stands still at {words}"


@contextmanager
def kitchen(data: Path, reload_min: float) -> Iterator[tuple[str, int]]:
    """Run the demonstration; give the address of its screens, and the number of their server's process."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "holdwatch", "demo", "--data", str(data), "--port", str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "HOLDWATCH_RELOAD_EVERY_MIN": str(reload_min)},
        start_new_session=True,
    )
    try:
        if process.stdout is None or process.stdout.readline().strip() != "ready":
            sys.exit("the demonstration did not become ready")
        (server,) = _under(process.pid, "dashboards.serve")
        yield f"http://127.0.0.1:{port}/", server
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(120)


def _under(root: int, word: str) -> list[int]:
    """Return the processes under one whose command holds a word."""
    parents: dict[int, int] = {}
    commands: dict[int, str] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                stat = (entry / "stat").read_text(encoding="utf-8", errors="replace")
                commands[int(entry.name)] = (entry / "cmdline").read_text(encoding="utf-8", errors="replace")
            except OSError:
                continue  # it has just ended
            parents[int(entry.name)] = int(stat.rpartition(")")[2].split()[1])

    def under(pid: int) -> bool:
        while pid in parents and pid != root:
            pid = parents[pid]
        return pid == root

    return [pid for pid, command in commands.items() if word in command and under(pid)]


# ---------------------------------------------------------------- telling


def _growth(samples: Sequence[Sample], name: str) -> Growth | None:
    """Return the growth an hour after the first minutes, in which caches fill; none where too few are left. [MB]."""
    kept = [each for each in samples if each.minute >= WARM_MIN]
    if len(kept) < 5:
        return None
    return Growth.of([each.minute / 60 for each in kept], [getattr(each, name) for each in kept])


def _told(growth: Growth | None) -> str:
    return "too short to say" if growth is None else f"{growth.each:+.2f} ± {growth.error:.2f} MB/h"


def write(
    samples: Sequence[Sample], said: Sequence[str], *, hours: float, reload_min: float, began: str, busy: float
) -> None:
    """Write the page and its picture."""
    ran_h = samples[-1].minute / 60
    loaded = samples[-1].loaded - samples[0].loaded
    most = max(each.heap_mb for each in samples)
    kept = "kept" if most <= PROMISED_MB else "NOT KEPT HERE"
    server, heap = _growth(samples, "server_mb"), _growth(samples, "heap_mb")
    flat = "kept" if server is not None and server.each <= 2 * server.error else "NOT SHOWN HERE"
    warm = [each for each in samples if each.minute >= WARM_MIN] or list(samples)
    step = max(1, len(samples) // ROWS)
    rows = "\n".join(
        f"| {each.minute:.0f} | {each.server_mb:.0f} | {each.heap_mb:.1f} | {each.browser_mb:.0f} | {each.nodes} | {each.loaded} |"
        for each in samples[::step]
    )
    errors = [line for line in said if not line.startswith("(")]
    OUT.write_text(
        f"""# The wall tablet for hours

Written by `make soak`, which takes twelve hours unless told otherwise (`make soak HOURS=1 RELOAD_MIN=15`): the Bench of
the demonstration kitchen, with its probes speaking and its batches cooling, stands open in a headless Chromium. Once a
minute the server's resident memory is read, and the page's heap after a forced collection.

Begun {began}, load {busy:.1f} then; {ran_h:.2f} of {hours:g} hours asked for, the page loading itself afresh every {reload_min:g} min
({loaded} times):

{chr(10).join(f"* {line}" for line in machine())}

| what | least | most | growth after the first {WARM_MIN:.0f} min | promised |
|---|---:|---:|---:|---|
| server, resident MB | {min(e.server_mb for e in warm):.0f} | {max(e.server_mb for e in warm):.0f} | {_told(server)} | flat: {flat} |
| heap of the page after collecting, MB | {min(e.heap_mb for e in warm):.1f} | {max(e.heap_mb for e in samples):.1f} | {_told(heap)} | at most {PROMISED_MB:.0f}: {kept} |

Growth is a straight line by least squares, its standard error as if the minutes were independent, which they are not
quite. It says nothing of hours that were not run. Each minute the clock on the Bench was the kitchen's; errors on the
console: {len(errors) or "none"}{": " + "; ".join(sorted(set(errors)))[:300] if errors else ""}.

![Memory over the run](img/soak.svg)

| minute | server MB | heap MB | processes of the browser, what they share counted in each, MB | nodes | loaded |
|---:|---:|---:|---:|---:|---:|
{rows}
""",
        encoding="utf-8",
    )
    _picture(samples).save(PICTURE)
    say(f"{OUT.relative_to(ROOT)} is written")


def _picture(samples: Sequence[Sample]) -> Any:
    rows = [
        {"minute": each.minute, "MB": value, "of": name}
        for each in samples
        for name, value in (("server, resident", each.server_mb), ("heap of the page", each.heap_mb))
    ]
    return (
        alt.Chart(alt.Data(values=rows))
        .mark_line(color="#1F2A33")
        .encode(
            x=alt.X("minute:Q", title="minutes"),
            y=alt.Y("MB:Q", scale=alt.Scale(zero=True)),
            strokeDash=alt.StrokeDash("of:N", title=None, legend=alt.Legend(orient="top")),
        )
        .properties(width=680, height=220)
    )


if __name__ == "__main__":
    main()
