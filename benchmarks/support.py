"""What every benchmark needs: the machine, medians with their spread, and tables that read well in a terminal.

A figure is worth something only beside a ceiling that was measured in the same minute on the same machine. So each
benchmark measures both in turn, several times, and what it reports is their ratio.
"""

import argparse
import importlib.metadata
import math
import os
import platform
import sqlite3
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from holdwatch import clock

__all__ = [
    "ROOT",
    "Growth",
    "Spread",
    "alternate",
    "commit",
    "is_small",
    "load",
    "machine",
    "peak_of",
    "percentile",
    "rate",
    "resident",
    "say",
    "seconds_of",
    "table",
    "times_of",
    "today",
]

ROOT = Path(__file__).parents[1]
_VERSIONS = ("paho-mqtt", "sqlalchemy", "sqlmodel", "numpy", "typst", "streamlit")


@dataclass(frozen=True)
class Spread:
    """The median of several runs of one thing, with the least and the most."""

    median: float
    low: float
    high: float

    @classmethod
    def of(cls, values: Sequence[float]) -> "Spread":
        """Sum up the runs."""
        return cls(statistics.median(values), min(values), max(values))

    def per(self, count: float) -> "Spread":
        """Return how many a second, of seconds for `count` of them."""
        return Spread(count / self.median, count / self.high, count / self.low)


# ---------------------------------------------------------------- measuring


def seconds_of(work: Callable[[], object]) -> float:
    """Return how long something takes. [s]."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def alternate(runs: int, *works: Callable[[], float]) -> list[Spread]:
    """Run things in turn, several times, so that what disturbs one disturbs the others; each returns its figure."""
    told: list[list[float]] = [[] for _ in works]
    for _ in range(runs):
        for values, work in zip(told, works, strict=True):
            values.append(work())
    return [Spread.of(values) for values in told]


def peak_of(command: Sequence[str]) -> tuple[float, float]:
    """Run a command; return how long it takes [s] and what it and all of its children hold at most at one instant [MB].

    Memory is what is resident, read ten times a second; what two processes share is counted in both.
    """
    began, peak = time.perf_counter(), 0
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as child:
        while child.poll() is None:
            peak = max(peak, sum(map(resident, _with_children(child.pid))))
            time.sleep(0.1)
        took = time.perf_counter() - began
        assert child.returncode == 0, child.stderr and child.stderr.read()
    return took, peak / 2**20


def _with_children(pid: int) -> list[int]:
    """Return a process and all that descend from it."""
    try:
        tasks = list(Path(f"/proc/{pid}/task").iterdir())
        direct = [int(n) for task in tasks for n in (task / "children").read_text().split()]
    except OSError:  # it has just ended
        return []
    return [pid, *(each for child in direct for each in _with_children(child))]


def resident(pid: int) -> int:
    """Return the memory of a process that is in use. [bytes]."""
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    except OSError:
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE")


@dataclass(frozen=True)
class Growth:
    """How much something grows with each of something else: a straight line by least squares."""

    each: float
    error: float
    """Its standard error, as if the looks were independent."""

    @classmethod
    def of(cls, at: Sequence[float], values: Sequence[float]) -> "Growth":
        """Fit the line; three looks at least."""
        x, y = np.array(at), np.array(values)
        (slope, offset), off = np.polyfit(x, y, 1), x - x.mean()
        spread = float(np.sum((y - slope * x - offset) ** 2)) / (len(x) - 2)
        return cls(float(slope), math.sqrt(spread / float(np.sum(off**2))))


def percentile(values: Sequence[float], percent: float) -> float:
    """Return the smallest value that so many percent of the values do not exceed."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(len(ordered) * percent / 100) - 1)]


def is_small() -> bool:
    """Return whether a quick run was asked for: a trial of the benchmark itself, not of the machine."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--small", action="store_true", help="small sizes: does the benchmark itself work?")
    return bool(parser.parse_args().small)


# ---------------------------------------------------------------- telling


def say(*lines: str) -> None:
    """Print lines at once; a page is made of them."""
    print(*lines, sep="\n", flush=True)


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table in Markdown, its columns aligned; all but the first are figures."""
    body = [list(head), *map(list, rows)]
    widths = [max(len(row[n]) for row in body) for n in range(len(head))]
    rule = ["-" * widths[0], *("-" * (width - 1) + ":" for width in widths[1:])]
    say("")
    for row in (body[0], rule, *body[1:]):
        cells = [row[0].ljust(widths[0]), *(cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True))]
        say("| " + " | ".join(cells) + " |")
    say("")


def rate(spread: Spread) -> str:
    """Write a number a second, with its spread."""
    return f"{_short(spread.median)}/s ({_short(spread.low)}–{_short(spread.high)})"


def times_of(spread: Spread) -> str:
    """Write seconds as milliseconds, with their spread."""
    return f"{_ms(spread.median)} ms ({_ms(spread.low)}–{_ms(spread.high)})"


def _short(number: float) -> str:
    return f"{number / 1_000:.1f}k" if number >= 1_000 else f"{number:.0f}"


def _ms(seconds: float) -> str:
    ms = seconds * 1_000
    return f"{ms:.2f}" if ms < 10 else f"{ms:.1f}" if ms < 100 else f"{ms:,.0f}"


# ---------------------------------------------------------------- the machine


def machine() -> list[str]:
    """Describe what the figures were measured on, a line each."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    versions = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in _VERSIONS)
    return [
        f"{_processor()}, {os.cpu_count()} virtual cores, {memory:.0f} GB of memory",
        f"{_system()}, Linux {platform.release()}",
        f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, {versions}",
        *_programs(),
    ]


def load() -> float:
    """Return how busy the machine was in the last minute: how many processes wanted to run."""
    return os.getloadavg()[0]


def commit() -> str:
    """Return the commit that is measured, and whether the tree differed from it."""
    head = _output("git", "-C", str(ROOT), "rev-parse", "--short=10", "HEAD")
    measured = ("holdwatch", "dashboards", "devices", "benchmarks", "pyproject.toml")
    changed = _output("git", "-C", str(ROOT), "status", "--porcelain", "--untracked-files=no", "--", *measured)
    files = ", ".join(line[2:].strip() for line in changed.splitlines())
    return f"{head} with changes in {files}" if files else head


def today() -> str:
    """Return today's date and time, in UTC."""
    return clock.to_datetime(clock.now_ms()).strftime("%Y-%m-%d %H:%M UTC")


def _processor() -> str:
    lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.machine()


def _system() -> str:
    for line in Path("/etc/os-release").read_text(encoding="utf-8").splitlines():
        if line.startswith("PRETTY_NAME="):
            return line.partition("=")[2].strip('"')
    return platform.system()


def _programs() -> list[str]:
    """Name the version of the broker and of the database server, where they are installed."""
    path = "/usr/sbin:/usr/bin:/usr/local/bin"
    servers = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"))
    told = [_output("env", f"PATH={path}", "mosquitto", "-h").partition("\n")[0]]
    told += [_output(str(servers[-1]), "--version")] if servers else []
    return [", ".join(line for line in told if line)]


def _output(*command: str) -> str:
    try:
        return subprocess.run(command, capture_output=True, text=True, check=False).stdout.strip()
    except OSError:
        return ""


if __name__ == "__main__":
    sys.exit("this is no benchmark: run `make bench`, or one of its neighbours")
