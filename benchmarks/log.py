"""How long papers take to print, and how much memory: a day, two weeks, and a month of a large kitchen.

Run ``python -m benchmarks.log``. The ceiling sets the gathered facts in a process of its own, piece after piece: what is
beyond it goes into starting, gathering the record with its charts and joining the pieces, and beneath it into doing two of
these at the same time.
"""

import json
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmarks.month import FIRST_MS, fill_month
from benchmarks.support import ROOT, alternate, is_small, load, peak_of, say, seconds_of, table
from holdwatch import clock
from holdwatch.clock import MS_PER_DAY, to_iso
from holdwatch.demo.start import prepare
from holdwatch.records.gathering import Wanted, gather
from holdwatch.records.kinds import KINDS
from holdwatch.records.span import Span
from holdwatch.records.typeset import typeset
from holdwatch.settings import Settings
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.readings import count_readings
from holdwatch.storage.register import batches
from holdwatch.watch.rounds import Watch

DAY_S, MONTH_S, MONTH_MB = 2, 60, 600


@dataclass(frozen=True)
class Kitchen:
    """A store that the watch has looked at up to now."""

    data: Path
    store: Store
    now_ms: int


@dataclass(frozen=True)
class Print:
    """A paper that is measured."""

    said: str
    kind: str
    span: Span
    command: tuple[str, ...]
    promised: str = ""


def main() -> None:
    """Measure, and print the section of the page."""
    small = is_small()
    runs, busy = 1 if small else 3, load()
    with tempfile.TemporaryDirectory() as name:
        kitchen = watched(Path(name) / "demo")
        with kitchen.store.read() as session:
            readings = count_readings(session)
        rows = [measured(kitchen, each, runs) for each in of_demo(kitchen.now_ms)]
        kitchen.store.close()
        units, days = (2, 2) if small else (20, 30)
        large = month(Path(name) / "month", units, days)
        with large.store.read() as session:
            many = count_readings(session)
        rows.append(measured(large, of_month(units, days), 1))
        large.store.close()
    say(
        "## Printing the log",
        "",
        f"The command as a process of its own, from its start to the PDF on disk: of the demonstration's {readings:,} readings,"
        f" and of {days} days of {units} units with {many:,} readings. *Processor* is the time that the command and its"
        f" children had of the two cores, which {busy:.1f} processes wanted at the beginning. *Setting alone* does that with"
        " the gathered facts in one fresh process, piece after piece; printing gathers the next piece meanwhile. *Memory* is"
        f" the most that the command and its children held at one instant. {runs} runs of each in turn, of the month one;"
        " median (least–most). Every PDF was read back with pdftotext and names every batch of its span.",
    )
    table(("the paper", "pages", "printed in", "processor", "setting alone", "ratio", "memory", "promised"), rows)


def watched(data: Path) -> Kitchen:
    """Make the demonstration's two weeks, and let the watch find what there is."""
    settings, now_ms = Settings(data=data), clock.now_ms()
    prepare(settings, lambda _: None, clock=lambda: now_ms)
    store = open_store(settings.store_url)
    report = Watch(store).catch_up(now_ms)
    assert not report.trouble
    assert report.judged
    return Kitchen(data, store, now_ms)


def month(data: Path, units: int, days: int) -> Kitchen:
    """Make the month of a large kitchen."""
    data.mkdir()
    store = open_store(Settings(data=data).store_url, migrate=True)
    return Kitchen(data, store, fill_month(store, units=units, days=days))


def of_demo(now_ms: int) -> list[Print]:
    """Return what is printed of the demonstration; its sheet of a day is that of the day up to now."""
    found = [
        Print(f"log of {days} day{'s' * (days > 1)}", "log", span, _log(span))
        for days in (1, 14)
        for span in [Span(now_ms - days * MS_PER_DAY, now_ms)]
    ]
    day = found[0].span
    sheet = Print("daily sheet", "day", day, ("paper", "day", "today"), f"{DAY_S} s")
    return [sheet, *found]


def of_month(units: int, days: int) -> Print:
    """Return the log of the month."""
    span = Span(FIRST_MS, FIRST_MS + days * MS_PER_DAY - 1)
    said = f"log of {days} days, {units} units"
    return Print(said, "log", span, _log(span), f"{MONTH_S} s, {MONTH_MB} MB")


def _log(span: Span) -> tuple[str, ...]:
    return ("log", "--from", to_iso(span.first_ms), "--to", to_iso(span.last_ms))


def measured(kitchen: Kitchen, wanted: Print, runs: int) -> tuple[str, ...]:
    """Measure one paper."""
    out, facts = kitchen.data / "paper.pdf", kitchen.data / "facts"
    facts.mkdir(exist_ok=True)
    with kitchen.store.read() as session:
        ran = [
            b for b in batches(session) if b.started_ms >= wanted.span.first_ms and b.started_ms <= wanted.span.last_ms
        ]
    lots = {batch.lot for batch in ran} if wanted.kind == "log" else set()
    files = []
    for number, piece in gather(kitchen.store, wanted.span, kitchen.now_ms, Wanted(KINDS[wanted.kind]), lambda _: None):
        files.append(facts / f"{number}.json")
        files[-1].write_text(json.dumps(piece), encoding="utf-8")
    peaks, processor = [], []

    def printed() -> float:
        command = [sys.executable, "-m", "holdwatch", *wanted.command, "-o", str(out), "--data", str(kitchen.data)]
        before_s = _processor_s()
        took, peak = peak_of(command)
        processor.append(_processor_s() - before_s)
        peaks.append(peak)
        told = subprocess.run(["pdftotext", str(out), "-"], check=True, capture_output=True, text=True).stdout
        missing = {lot for lot in lots if lot not in told}
        assert not missing, missing
        return took

    ours, alone = alternate(runs, printed, lambda: set_alone(files, kitchen.now_ms))
    told = subprocess.run(["pdfinfo", str(out)], check=True, capture_output=True, text=True).stdout
    pages = next(line.split()[-1] for line in told.splitlines() if line.startswith("Pages:"))
    return (
        wanted.said + (f", {len(lots)} batches" if lots else ""),
        pages,
        f"{ours.median:.2f} s ({ours.low:.2f}–{ours.high:.2f})",
        f"{statistics.median(processor):.2f} s",
        f"{alone.median:.2f} s ({alone.low:.2f}–{alone.high:.2f})",
        f"{ours.median / alone.median:.2f}",
        f"{max(peaks):.0f} MB",
        wanted.promised,
    )


def _processor_s() -> float:
    """Return how much of the processor all children that have ended took so far. [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def set_alone(files: Sequence[Path], now_ms: int) -> float:
    """Return how long setting takes in a process of its own, without that process's start. [s]."""
    command = [sys.executable, "-m", "benchmarks.log", "set", str(now_ms), *map(str, files)]
    return float(subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout)


def set_pieces(now_ms: str, *files: str) -> None:
    """Set gathered facts, and print how many seconds that took."""
    took = 0.0
    for file in files:
        facts = json.loads(Path(file).read_text(encoding="utf-8"))
        made: list[bytes] = []
        took += seconds_of(lambda facts=facts, made=made: made.append(typeset(facts, int(now_ms))))  # type: ignore[misc]
        assert made[0].startswith(b"%PDF-")
    say(f"{took:.4f}")


if __name__ == "__main__":
    set_pieces(*sys.argv[2:]) if sys.argv[1:2] == ["set"] else main()
