"""Pages in a real browser, and what they cost the server, with a million readings and with fifty million.

Run ``python -m benchmarks.screens`` (2 GB of disk; ``--small`` tries it, ``--stores DIR`` makes the stores there and keeps
them for the next time, ``--only-stores`` makes them and ends). Making the stores takes some ten minutes of a processor;
the pages are then opened some 300 times and a dozen and a half are left open, which takes a quarter of an hour: it says
on standard error where it is. The screens' clock is set to the instant at which a store was made, or batches of a store
that was kept would be no batches of now; what does not come onto a page within a minute ends the run, and it says what.
The server's time is that of the thread which draws, on a processor: what a person waits for where nothing else is to be
done. The ceiling of the Bench is a bare page of the same server with the same pieces of HTML, read from a file; what the
Bench takes beyond it is the price of asking and drawing.

Two stores differ by nothing but the number of their readings: the same three years with their batches, days and findings,
read every thirty seconds, and before the last two days every twenty minutes. Between these the promise is judged. The
third has but three weeks of a past: beside it stands what the years themselves cost.
"""

import argparse
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright
from playwright.sync_api import TimeoutError as TooLongError

import dashboards
from benchmarks.screens_kitchen import EVERY_MS, SELDOM_MS, UNITS, kitchen
from benchmarks.support import Spread, say, table, times_of
from holdwatch.run.screens import MEMORY, healthy
from holdwatch.storage.engine import open_store, store_url
from tests.support.mosquitto import free_port
from tests.support.waiting import wait_for

FEWER, MORE = 1_000_000, 50_000_000
DRAWN = {".hw-quiet": 1}
BENCH = {**DRAWN, ".hw-unit": UNITS}
CHART = {**DRAWN, "[data-testid=stVegaLiteChart] svg": 1}
PAGES: dict[str, tuple[str, dict[str, int]]] = {
    "Bench": ("/", BENCH),
    "Batches": ("/batches", DRAWN),
    "a batch that cools": ("/batches?batch=1", CHART),
    "Units, a day": ("/units?unit=1&span=day", CHART),
    "Units, a week": ("/units?unit=1&span=week", CHART),
    "Units, a month": ("/units?unit=1&span=month", CHART),
    "Units, a year": ("/units?unit=1&span=year", CHART),
    "Findings": ("/findings", DRAWN),
    "a finding": ("/findings?finding=1", DRAWN),
    "Opening and closing": ("/round", DRAWN),
    "Records": ("/records", DRAWN),
    "Records, days": ("/records?part=days", DRAWN),
    "Shift": ("/shift", DRAWN),
    "Calculators": ("/calculators", DRAWN),
    "Set-up": ("/setup", DRAWN),
}
LIVE = ("Bench", "a batch that cools", "Units, a day", "Units, a year", "Findings", "a finding")
WAIT_MS = 60_000
LIVE_FOR_MS, TABS = 15_000, 2
"""Long enough that each tab asks for what is asked every ten seconds."""
YEAR_MS, REFRESH_MS, FIRST_RATIO, RELOAD_S, MORE_RATIO = 300.0, 150.0, 1.3, 0.6, 1.2
_WATCH = """(wanted => { const look = () => {
  if (Object.entries(wanted).every(([what, count]) => document.querySelectorAll(what).length >= count))
    window.drawnAfter = performance.now();
  else requestAnimationFrame(look); }; look(); })(%s)"""


@dataclass(frozen=True)
class Kept:
    """A store that was made: what it is called, how many readings it holds, and when it was made."""

    name: str
    data: Path
    count: int
    as_of_ms: int


@dataclass
class Server:
    """A server of screens, with the file in which it tells how long each run took."""

    base: str
    told: Path
    process: int
    seen: int = field(default=0)

    def runs(self) -> list[tuple[str, float, float]]:
        """Return what ran since it was last asked: which part of a page, how long, and how long on a processor. [ms]."""
        lines = self.told.read_text(encoding="utf-8").splitlines() if self.told.exists() else []
        new, self.seen = lines[self.seen :], len(lines)
        return [(str(part), float(took), float(cpu)) for part, took, cpu in map(json.loads, new)]


def main() -> None:
    """Measure, and print the section of the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--stores", type=Path)
    parser.add_argument("--only-stores", action="store_true")
    asked = parser.parse_args()
    if asked.only_stores and asked.stores is None:
        parser.error("--only-stores: say with --stores where they are to be kept")
    runs = 2 if asked.small else 5
    with ExitStack() as stack:
        directory = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        stores = all_made(asked.stores or directory, small=asked.small)
        if asked.only_stores:
            return
        play = stack.enter_context(sync_playwright())
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
        stack.callback(browser.close)
        script = script_of("server.py")
        servers = [
            stack.enter_context(serving(script, each.data, directory / f"told-{n}", as_of_ms=each.as_of_ms))
            for n, each in enumerate(stores)
        ]
        page = bare_page(browser, servers[-1], directory / "bare")
        bare = stack.enter_context(serving(page, None, directory / "told-bare"))
        weeks, seldom, often = (f"{each.count:,}" for each in stores)
        say(
            "## Screens",
            "",
            f"{UNITS} standing probes and six batches that cool, with the days, batches and findings of *three weeks* ({weeks} readings,"
            f" one in 30 s) and of *three years*, read every 20 min before the last two days ({seldom} readings) and every 30 s"
            f" ({often}); the screens as `holdwatch dashboard` serves them, in a headless Chromium on the same cores. {runs} visits of"
            " each, in turn; median (least–most). A page is drawn when the last thing that belongs on it stands there. *Readings*: how"
            " many times as long it takes with more readings of the same years, which is what is promised; *years*: how many times as"
            " long as with three weeks, of which there is less to show.",
            "",
        )
        names = [each.name for each in stores]
        in_the_browser(browser, names, servers, bare, runs)
        of_the_server(browser, names, servers, runs)


def all_made(directory: Path, *, small: bool) -> list[Kept]:
    """Make the stores that are not there: three weeks, three years read seldom, three years read often."""
    fewer, more = (50_000, 150_000) if small else (FEWER, MORE)
    directory.mkdir(parents=True, exist_ok=True)
    wanted = (
        ("3 weeks", "weeks", fewer, EVERY_MS),
        ("3 years", "seldom", more, SELDOM_MS),
        ("3 years", "often", more, EVERY_MS),
    )
    return [made(span, directory / name, readings, every_ms) for span, name, readings, every_ms in wanted]


def made(span: str, data: Path, readings: int, past_every_ms: int) -> Kept:
    """Make a store if it is not there."""
    if not data.exists():
        tell(f"a store of {span} is made, {past_every_ms / 1e3:.0f} s between readings")
        part = data.with_name(f"{data.name}.part")  # one that was begun and never finished is no store
        shutil.rmtree(part, ignore_errors=True)
        with kitchen(part, readings, past_every_ms=past_every_ms):
            pass
        part.rename(data)
    with closing(open_store(store_url(data, None), migrate=True)):
        pass
    with closing(sqlite3.connect(data / "holdwatch.db")) as bare:
        count = bare.execute("SELECT count(*) FROM reading").fetchone()[0]
        last_ms = bare.execute("SELECT max(at_ms) FROM reading WHERE probe_id = 1").fetchone()[0]
    return Kept(f"{span}, {count / 1e6:.1f} M", data, int(count), int(last_ms) + EVERY_MS)


def tell(what: str) -> None:
    """Say where the run is."""
    print(f"{time.perf_counter() - _BEGAN:6.0f} s: {what}", file=sys.stderr, flush=True)


_BEGAN = time.perf_counter()


# ---------------------------------------------------------------- measured


def in_the_browser(browser: Browser, names: list[str], servers: list[Server], bare: Server, runs: int) -> None:
    """Compare the Bench with a bare page of the same pieces: first visit, and loaded again."""
    first: dict[str, list[float]] = defaultdict(list)
    again: dict[str, list[float]] = defaultdict(list)
    everyone = [bare, *servers]
    for number in range(runs + 1):
        tell(f"the Bench is opened, {number + 1} of {runs + 1}")
        for server in everyone:
            once, twice = visit(browser, server.base, "/", BENCH)
            if number:  # the first visit of all warms the server
                first[server.base].append(once)
                again[server.base].append(twice)
    rows = []
    for what, found in (("first visit, nothing kept", first), ("loaded again", again)):
        took = [Spread.of(found[server.base]) for server in everyone]
        ratio, took_s = took[-1].median / took[0].median, took[-1].median
        if found is first:
            promise = _kept(f"at most {FIRST_RATIO} times", ratio <= FIRST_RATIO)
        else:
            promise = _kept(f"at most {RELOAD_S * 1e3:.0f} ms", took_s <= RELOAD_S)
        rows.append((what, *map(times_of, took), f"{ratio:.2f}", promise))
    table(("the Bench is drawn", "ceiling: bare page", *names, "times the ceiling", "promised"), rows)


def of_the_server(browser: Browser, names: list[str], servers: list[Server], runs: int) -> None:
    """Tell what a page costs the server when it is opened, and at each of its refreshes."""
    opened: dict[tuple[str, str], list[float]] = defaultdict(list)
    refreshed: dict[tuple[str, str], Spread] = {}
    for number in range(runs + 1):
        tell(f"each of {len(PAGES)} pages is opened, {number + 1} of {runs + 1}")
        for name, (path, wanted) in PAGES.items():
            for server in servers:
                server.runs()
                visit(browser, server.base, path, wanted, again=False)
                if number:
                    opened[name, server.base] += [cpu / 1e3 for part, _, cpu in server.runs() if not part]
    for name in LIVE:
        tell(f"left open: {name}")
        for server in servers:
            refreshed[name, server.base] = stay(browser, server, *PAGES[name])
    head = (*names, "readings", "years", "promised")
    rows = []
    for name in PAGES:
        took = [Spread.of(opened[name, server.base]) for server in servers]
        ratios = _ratios(took)
        promise, right = f"at most {MORE_RATIO} times", ratios[0] <= MORE_RATIO
        if name == "Units, a year":
            promise, right = f"{promise}, {YEAR_MS:.0f} ms", right and took[-1].median * 1e3 <= YEAR_MS
        rows.append((name, *map(times_of, took), *_told(ratios), _kept(promise, right)))
    table(("a page is opened: the server's time", *head), rows)
    rows = []
    for name in LIVE:
        took = [refreshed[name, server.base] for server in servers]
        right = took[-1].median * 1e3 <= REFRESH_MS
        rows.append((name, *map(times_of, took), *_told(_ratios(took)), _kept(f"at most {REFRESH_MS:.0f} ms", right)))
    table(("a refresh: the server's time, of a page's slowest part", *head), rows)


def _ratios(took: list[Spread]) -> tuple[float, float]:
    """Return how many times as long the last one takes as the one with fewer readings, and as the one of three weeks."""
    weeks, seldom, often = (each.median for each in took)
    return often / seldom, often / weeks


def _told(ratios: tuple[float, float]) -> tuple[str, ...]:
    return tuple(f"{ratio:.2f}" for ratio in ratios)


def visit(browser: Browser, base: str, path: str, wanted: dict[str, int], *, again: bool = True) -> tuple[float, float]:
    """Open a page with nothing kept, then perhaps load it again; return when it was drawn each time. [s]."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.add_init_script(_WATCH % json.dumps(wanted))
    page = context.new_page()
    took = []
    for go in (lambda: page.goto(base + path), page.reload)[: 1 + again]:
        go()
        took.append(drawn(page, path, wanted))
    context.close()
    return took[0], took[-1]


def stay(browser: Browser, server: Server, path: str, wanted: dict[str, int]) -> Spread:
    """Leave a page open, and return how long its slowest part takes the server at each refresh. [s]."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.add_init_script(_WATCH % json.dumps(wanted))
    pages = [context.new_page() for _ in range(TABS)]
    for page in pages:
        page.goto(server.base + path)
        drawn(page, path, wanted)
    server.runs()
    pages[0].wait_for_timeout(LIVE_FOR_MS)
    parts: dict[str, list[float]] = defaultdict(list)
    for part, _, cpu in server.runs():
        if part:
            parts[part].append(cpu / 1e3)
    context.close()
    assert parts, f"{path} refreshed nothing"
    return max((Spread.of(took) for took in parts.values()), key=lambda spread: spread.median)


def drawn(page: Page, path: str, wanted: dict[str, int]) -> float:
    """Wait until all that belongs on a page stands there, and return after how long. [s].

    Raises
    ------
    RuntimeError
        If it does not within a minute; it says what is missing.
    """
    try:
        page.wait_for_function("window.drawnAfter", timeout=WAIT_MS)
    except TooLongError as exc:
        there = {what: page.locator(what).count() for what in wanted}
        missing = ", ".join(f"{there[what]} of {count} {what}" for what, count in wanted.items() if there[what] < count)
        said = page.locator("body").inner_text()[:300]
        raise RuntimeError(f"{path} is not drawn after {WAIT_MS / 1e3:.0f} s: {missing}; it says {said!r}") from exc
    return float(page.evaluate("window.drawnAfter")) / 1e3


def _kept(promise: str, right: bool) -> str:
    return promise if right else f"{promise}, NOT KEPT HERE"


# ---------------------------------------------------------------- the servers


def script_of(name: str) -> Path:
    """Return a script of the screens."""
    return Path(dashboards.__file__ or "").parent / name


@contextmanager
def serving(
    script: Path, data: Path | None, told: Path, *, asks: bool = False, as_of_ms: int | None = None
) -> Iterator[Server]:
    """Serve screens until the block ends.

    Parameters
    ----------
    asks : each run asks the store, with no answer of a second ago.
    as_of_ms : what the clock of the screens shows when they begin; ``None`` is the present. [ms]
    """
    port = free_port()
    environment = {name: value for name, value in os.environ.items() if not name.startswith("HOLDWATCH_")}
    environment |= {
        "HOLDWATCH_DATA": str(data or script.parent),
        "ASKS": str(int(asks)),
        "AS_OF_MS": str(as_of_ms or ""),
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "benchmarks.screens_server", str(told), str(script), str(port)],
        cwd=script.parent,
        env={**MEMORY, **environment, "PYTHONPATH": str(Path(__file__).parents[1])},
        stdout=subprocess.DEVNULL,
    )
    try:
        wait_for(lambda: healthy("127.0.0.1", port), within_s=120, what="the screens")
        yield Server(f"http://127.0.0.1:{port}", told, process.pid)
    finally:
        process.terminate()
        process.wait(20)


_BARE = """\
import json
from pathlib import Path
import streamlit as st
canned = json.loads(Path(__file__).with_name("canned.json").read_text(encoding="utf-8"))
def draw(pieces):
    for piece in pieces:
        st.html(piece)
st.set_page_config(page_title="Bare", layout="wide")
draw(canned["style"])
def bench():
    running()
    units()
    st.toggle("One")
    st.toggle("Another")
    parts()
@st.fragment(run_every=2.0)
def running():
    draw(canned["running"])
@st.fragment(run_every=10.0)
def units():
    draw(canned["units"])
@st.fragment(run_every=10.0)
def parts():
    draw(canned["parts"])
pages = [st.Page(bench, title="Bench", default=True)]
pages += [st.Page(lambda: None, title=f"Page {n}", url_path=f"page-{n}") for n in range(8)]
page = st.navigation(pages, position="hidden")
with st.container(horizontal=True, gap="small", key="ways"):
    for each in pages:
        st.page_link(each, label=each.title)
page.run()
draw(canned["quiet"])
"""


def bare_page(browser: Browser, server: Server, directory: Path) -> Path:
    """Write a page of nothing but what the Bench of a server shows now; return the script that serves it."""
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto(server.base)
    page.locator(".hw-unit").nth(UNITS - 1).wait_for(timeout=WAIT_MS)
    page.locator(".hw-quiet").wait_for(timeout=WAIT_MS)
    pieces = page.locator("[data-testid=stMain] [data-testid=stHtml]").evaluate_all("all => all.map(e => e.innerHTML)")
    style = "<style>" + script_of("parts/sheet.css").read_text(encoding="utf-8") + "</style>"
    page.close()
    heading = next(n for n, piece in enumerate(pieces) if "Units, the last 24 hours" in piece)
    directory.mkdir()
    canned = {
        "style": [style],
        "running": pieces[:heading],
        "units": pieces[heading : heading + 2],
        "parts": pieces[heading + 2 : -1],
        "quiet": pieces[-1:],
    }
    (directory / "canned.json").write_text(json.dumps(canned), encoding="utf-8")
    (directory / "bare.py").write_text(_BARE, encoding="utf-8")
    shutil.copytree(script_of(".streamlit"), directory / ".streamlit")
    script = directory / "server.py"
    script.write_text('import streamlit as st\n\napp = st.App("bare.py")\n', encoding="utf-8")
    return script


if __name__ == "__main__":
    main()
