"""How long the inspection log takes to print: a day of the demonstration's kitchen, and its two weeks.

Run ``python -m benchmarks.log``. The ceiling is the typesetter alone, given the finished sheet: what is beyond it goes
into starting, gathering the record and drawing the charts.
"""

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from benchmarks.support import ROOT, alternate, is_small, say, seconds_of, table
from holdwatch import clock
from holdwatch.clock import MS_PER_DAY, to_iso
from holdwatch.demo.start import prepare
from holdwatch.records.gathering import Wanted, gather
from holdwatch.records.span import Span
from holdwatch.records.typeset import typeset
from holdwatch.settings import Settings
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.readings import count_readings
from holdwatch.storage.register import batches
from holdwatch.watch.rounds import Watch


@dataclass(frozen=True)
class Kitchen:
    """The demonstration, watched up to now."""

    data: Path
    store: Store
    now_ms: int


def main() -> None:
    """Measure, and print the section of the page."""
    runs = 1 if is_small() else 3
    with tempfile.TemporaryDirectory() as name:
        kitchen = watched(Path(name))
        with kitchen.store.read() as session:
            readings = count_readings(session)
        say(
            "## Printing the log",
            "",
            f"`holdwatch log` as a process of its own, from its start to the PDF on disk, of the demonstration's"
            f" {readings:,} readings. *The typesetter alone* sets the finished sheet, in a fresh process, so that nothing of"
            f" it was set before. {runs} runs of each, in turn; median (least–most). Every PDF was read back with pdftotext"
            " and names every batch of its span.",
        )
        rows = [measured(kitchen, days, runs) for days in (1, 14)]
        kitchen.store.close()
    table(("the log of", "pages", "`holdwatch log`", "the typesetter alone", "ratio"), rows)


def watched(data: Path) -> Kitchen:
    """Make the demonstration's two weeks, and let the watch find what there is."""
    settings, now_ms = Settings(data=data), clock.now_ms()
    prepare(settings, lambda _: None, clock=lambda: now_ms)
    store = open_store(settings.store_url)
    report = Watch(store).catch_up(now_ms)
    assert not report.trouble
    assert report.judged
    return Kitchen(data, store, now_ms)


def measured(kitchen: Kitchen, days: int, runs: int) -> tuple[str, ...]:
    """Measure the log of so many days up to now."""
    first_ms = kitchen.now_ms - days * MS_PER_DAY
    with kitchen.store.read() as session:
        lots = {batch.lot for batch in batches(session) if batch.started_ms >= first_ms}
    assert len(lots) >= 3 * days, lots
    out = kitchen.data / f"log-{days}.pdf"
    sheet = kitchen.data / f"sheet-{days}.json"
    span = Span(first_ms, kitchen.now_ms)
    content = gather(kitchen.store, span, kitchen.now_ms, Wanted(), lambda _: None)
    sheet.write_text(json.dumps(content), encoding="utf-8")

    def printed() -> float:
        words = ["log", "--from", to_iso(first_ms), "--to", to_iso(kitchen.now_ms), "-o", str(out)]
        command = [sys.executable, "-m", "holdwatch", *words, "--data", str(kitchen.data)]
        took = seconds_of(lambda: subprocess.run(command, cwd=ROOT, check=True, capture_output=True))
        told = subprocess.run(["pdftotext", str(out), "-"], check=True, capture_output=True, text=True).stdout
        missing = {lot for lot in lots if lot not in told}
        assert not missing, missing
        return took

    ours, alone = alternate(runs, printed, lambda: typeset_alone(sheet, kitchen.now_ms))
    told = subprocess.run(["pdfinfo", str(out)], check=True, capture_output=True, text=True).stdout
    pages = next(line.split()[-1] for line in told.splitlines() if line.startswith("Pages:"))
    return (
        f"{days} day{'s' * (days > 1)}, {len(lots)} batches",
        pages,
        f"{ours.median:.2f} s ({ours.low:.2f}–{ours.high:.2f})",
        f"{alone.median:.2f} s ({alone.low:.2f}–{alone.high:.2f})",
        f"{ours.median / alone.median:.1f}",
    )


def typeset_alone(sheet: Path, now_ms: int) -> float:
    """Return how long the typesetter takes in a process of its own, without that process's start. [s]."""
    command = [sys.executable, "-m", "benchmarks.log", "set", str(sheet), str(now_ms)]
    return float(subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout)


def set_one(sheet: str, now_ms: str) -> None:
    """Set a finished sheet once, and print how many seconds that took."""
    content = json.loads(Path(sheet).read_text(encoding="utf-8"))
    made: list[bytes] = []
    work: Callable[[], None] = lambda: made.append(typeset(content, int(now_ms)))  # noqa: E731  it is timed below
    took = seconds_of(work)
    assert made[0].startswith(b"%PDF-")
    say(f"{took:.4f}")


if __name__ == "__main__":
    set_one(*sys.argv[2:]) if sys.argv[1:2] == ["set"] else main()
