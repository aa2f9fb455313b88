"""What the server of the screens grows by with each refresh, and with each time that a page is loaded.

Run ``make wearing`` (``REFRESHES=4000``), or ``python -m benchmarks.wearing --small``. Twelve hours of the wall tablet are
30,240 refreshes of parts of the Bench and twelve loads; here they follow one another as fast as the server draws, and every refresh asks
the store, as it does on the wall. What asks is a socket that speaks as the browser's does: a browser would take more
of the machine than the server. Refreshes and loads are apart, for memory that grows with one is freed otherwise than
memory that grows with the other. The page is docs/wearing.md.
"""

import argparse
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import ClientConnection, connect

from benchmarks.screens import Server, script_of, serving
from benchmarks.screens_kitchen import kitchen
from benchmarks.support import Growth, commit, load, machine, resident, say, table, today

RUNS_AN_HOUR = 3600 // 2 + 2 * 3600 // 10
"""The batches every 2 s, the units and the parts every 10 s."""
TWELVE_HOURS, LOADS = 12 * RUNS_AN_HOUR, 300
READINGS = 50_000
LOOK_EVERY_S, LOAD_EVERY_S = 10.0, 1.5
_SETTLED = 1 / 3
"""In the first third caches fill; and what Streamlit keeps for two minutes of a page that was closed is there in full."""
_MB = 1e6


@dataclass
class Bench:
    """The Bench as a browser has it open: the parts of it that repeat, with how often. [s]."""

    socket: ClientConnection
    every_s: dict[str, float] = field(default_factory=dict)
    page: str = ""

    def draw(self, part: str = "") -> None:
        """Ask for all of the page, or for one part, and wait until it is drawn."""
        asked = BackMsg()
        asked.rerun_script.query_string = ""
        if part:
            asked.rerun_script.fragment_id, asked.rerun_script.is_auto_rerun = part, True
            asked.rerun_script.page_script_hash = self.page
        self.socket.send(asked.SerializeToString())
        told = ForwardMsg()
        while told.WhichOneof("type") != "script_finished":
            told.ParseFromString(bytes(self.socket.recv(120)))
            if told.HasField("new_session"):
                self.page = told.new_session.page_script_hash
            if told.HasField("auto_rerun"):
                self.every_s[told.auto_rerun.fragment_id] = told.auto_rerun.interval
        right = ForwardMsg.FINISHED_FRAGMENT_RUN_SUCCESSFULLY if part else ForwardMsg.FINISHED_SUCCESSFULLY
        assert told.script_finished == right, told

    def in_turn(self) -> Iterator[str]:
        """Return the parts as they come on the wall: one that repeats five times as often stands there five times."""
        longest = max(self.every_s.values())
        return cycle([part for part, every in self.every_s.items() for _ in range(round(longest / every))])


def main() -> None:
    """Measure, and print the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--refreshes", type=int, default=TWELVE_HOURS)
    parser.add_argument(
        "--minutes", type=float, default=600.0, help="end the refreshes after so long, however many they were"
    )
    parser.add_argument("--small", action="store_true")
    asked = parser.parse_args()
    refreshes, loads, each_s = (100, 6, 1.0) if asked.small else (asked.refreshes, LOADS, LOOK_EVERY_S)
    began, measured, busy = today(), commit(), load()
    with tempfile.TemporaryDirectory() as name:
        data = Path(name) / "kitchen"
        with kitchen(data, READINGS):
            pass
        with serving(script_of("server.py"), data, Path(name) / "told", asks=True) as server:
            started = time.monotonic()
            with opened(server) as bench:
                parts, ends = bench.in_turn(), started + asked.minutes * 60
                refreshed = watched(server, lambda: bench.draw(next(parts)), refreshes, each_s, ends)
            took_min = (time.monotonic() - started) / 60
            loaded = watched(server, lambda: _load(server), loads, each_s, float("inf"))
    _write(refreshed, loaded, took_min, f"{began}, commit {measured}, load {busy:.1f} then")


@contextmanager
def opened(server: Server) -> Iterator[Bench]:
    """Open the Bench, drawn whole, until the block ends."""
    address = server.base.replace("http", "ws", 1) + "/_stcore/stream"
    with connect(address, subprotocols=["streamlit"], origin=server.base, max_size=None) as socket:  # type: ignore[list-item,arg-type]  # names of strings
        bench = Bench(socket)
        bench.draw()
        assert len(bench.every_s) == 3, bench.every_s
        yield bench


def watched(
    server: Server, work: Callable[[], None], count: int, each_s: float, ends: float
) -> list[tuple[float, float]]:
    """Do something so many times; return (times so far, resident MB) every so often. [s]."""
    found, due = [], 0.0
    for done in range(1, count + 1):
        work()
        if time.monotonic() >= due:
            found.append((float(done), resident(server.process) / _MB))
            due = time.monotonic() + each_s
        if time.monotonic() >= ends:
            break
    return found


def _load(server: Server) -> None:
    with opened(server):
        time.sleep(LOAD_EVERY_S)


def _write(
    refreshed: Sequence[tuple[float, float]], loaded: Sequence[tuple[float, float]], took_min: float, began: str
) -> None:
    runs = refreshed[-1][0]
    say(
        "# What the server of the screens grows by",
        "",
        "Written by `make wearing`. The Bench of six batches and sixteen units stands open in a socket that speaks as a browser"
        f" does. It asked for {runs:,.0f} refreshes in {took_min:.0f} min, as many as in {runs / RUNS_AN_HOUR:.1f} hours on the"
        f" wall, each answered from the store; then it was opened anew {loaded[-1][0]:.0f} times. Growth is a straight line by"
        " least squares after the first third, its standard error as if the looks were independent, which they are not quite.",
        "",
        f"Begun {began}:",
        "",
        *(f"* {line}" for line in machine()),
    )
    rows = [
        ("a thousand refreshes", *_told(refreshed, 1000, 12 * RUNS_AN_HOUR)),
        ("a load", *_told(loaded, 1, 12)),
    ]
    table(("growth with", "server at first", "at the end", "growth", "in twelve hours"), rows)
    step = max(1, len(refreshed) // 20)
    rows = [(f"{done:,.0f}", f"{mb:.1f}") for done, mb in refreshed[::step]]
    table(("refreshes", "server, resident MB"), rows)


def _told(found: Sequence[tuple[float, float]], each: int, in_all: int) -> tuple[str, str, str, str]:
    growth = Growth.of(*zip(*found[int(len(found) * _SETTLED) :], strict=True))
    return (
        f"{found[0][1]:.0f} MB",
        f"{found[-1][1]:.0f} MB",
        f"{each * growth.each:+.3f} ± {each * growth.error:.3f} MB",
        f"{in_all * growth.each:+.1f} ± {in_all * growth.error:.1f} MB",
    )


if __name__ == "__main__":
    main()
