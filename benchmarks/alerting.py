"""From the reading that causes an alert to the alert in somebody's hand, while a whole kitchen speaks.

Run ``python -m benchmarks.alerting``. A real Mosquitto; ``holdwatch listen``, ``watch`` and ``notify`` as processes of
their own on SQLite; alerts go out through the product's carrier to an HTTP receiver on this machine. 300 probes speak
once a second, each in a unit or a batch that is judged, and one after another food gets too warm or its time is up. An
alert counts when a message has come that names the lot or unit and the clause, and says deviation.
"""

import json
import os
import signal
import subprocess
import tempfile
import threading
import time
from collections.abc import Container, Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from itertools import accumulate
from pathlib import Path
from typing import TypeVar

from benchmarks.listening import looking_into, senml
from benchmarks.speaking import Message, connected, packets
from benchmarks.support import is_small, percentile, say, table
from holdwatch import clock
from holdwatch.alerts.carrier import send
from holdwatch.alerts.message import Message as Alert
from holdwatch.clock import MS_PER_HOUR, MS_PER_SECOND
from holdwatch.quantities import celsius_of_f
from holdwatch.storage.arrivals import waiting
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.register import add_probe, add_unit, place, set_site, start_batch
from holdwatch.storage.register import probes as known
from holdwatch.storage.states import due_watch_states
from holdwatch.storage.tables import Probe as Row
from holdwatch.storage.writing import NewReading, write_readings
from tests.alerts.alert_receivers import Hook, http_receiver
from tests.intake.conftest import is_ready
from tests.support.commands import start
from tests.support.mosquitto import Mosquitto, mosquitto
from tests.support.waiting import wait_for

PROMISE_S = 2.0
"""99 of 100 alerts are in hand within it, at 300 readings a second."""
HISTORY_EVERY_MS, EVERY_MS = 30 * MS_PER_SECOND, MS_PER_SECOND
LONG_MS, LATE_MS = 3 * MS_PER_HOUR, 2 * MS_PER_HOUR
WARM_UP_S, TAIL_S = 20, 10
"""So long the probes speak before the first food goes wrong, and after the last."""
WARM_C = 5.0
"""41 °F, above which nothing is held cold: FDA Food Code 2022, 3-501.16(A)(2)."""
LOOK_EVERY_S = 2.0
_PATIENCE_S = 300.0
BY = "benchmark"
T = TypeVar("T")


@dataclass(frozen=True)
class Size:
    """How much is measured: so many probes, of which one's food goes wrong every so often."""

    probes: int
    alerts: int
    every_s: float
    settle_s: int
    """So long the watch has for the history."""


FULL, ALONE, SMALL = Size(300, 120, 1.5, 120), Size(300, 40, 1.5, 120), Size(20, 8, 1.0, 20)


def main() -> None:
    """Measure, and print the section of the page."""
    small = is_small()
    say("## Alerting", "")
    with tempfile.TemporaryDirectory() as name, mosquitto(Path(name) / "broker") as broker:
        busy = whole_way(Path(name) / "busy", broker, SMALL if small else FULL, alone=False)
        alone = whole_way(Path(name) / "alone", broker, SMALL if small else ALONE, alone=True)
        carrier = carried(20 if small else 200)
    tell(busy, alone, carrier, SMALL if small else FULL)


# ---------------------------------------------------------------- the kitchen


@dataclass(frozen=True)
class Probe:
    """A probe, the food it is in, and the unit or lot that an alert about it names."""

    code: str
    kind: str
    """steady, cooling, warming (beyond 41 °F from `turns_ms` on) or late (its two hours are up at `turns_ms`)."""
    name: str = ""
    turns_ms: int = 0

    def fahrenheit(self, at_ms: int) -> float:
        """Return what it reads at an instant."""
        wave = 0.4 * ((at_ms // HISTORY_EVERY_MS + len(self.code) * 7) % 3 - 1)
        if self.kind == "steady":
            return 38.0 + wave
        if self.kind == "warming":
            return 41.0 + max(-2.0, min(4.0, 0.1 * (at_ms - self.turns_ms) / MS_PER_SECOND))
        if self.kind == "late":
            half_ms = HISTORY_EVERY_MS // 2  # it passes 135 °F between the first reading and the second
            return 34.0 + 101.0 * 0.5 ** ((at_ms - (self.turns_ms - LATE_MS - half_ms)) / LATE_MS)
        return 34.0 + 106.0 * 0.5 ** ((at_ms - self.turns_ms) / MS_PER_HOUR)

    def celsius(self, at_ms: int) -> float:
        """Return what it sends at an instant."""
        return round(celsius_of_f(self.fahrenheit(at_ms)), 3)

    def causes(self, before_ms: int, at_ms: int) -> bool:
        """Tell whether a reading is the one that its alert comes of."""
        if self.kind == "warming":
            return self.celsius(before_ms) <= WARM_C < self.celsius(at_ms)
        return self.kind == "late" and before_ms <= self.turns_ms < at_ms


def kitchen(store: Store, size: Size, begin_ms: int, url: str) -> list[Probe]:
    """Set up a kitchen that is hours old when the probes speak; return them: every so often the food of one goes wrong."""
    first_ms, begun_ms = begin_ms + WARM_UP_S * MS_PER_SECOND, begin_ms - LONG_MS
    turns = [first_ms + round(n * size.every_s * MS_PER_SECOND) + 500 for n in range(size.alerts)]
    late, warm = turns[::6], [turn for n, turn in enumerate(turns) if n % 6]
    probes: list[Probe] = []
    with store.write() as session:
        set_site(
            session, name="Linden Street Patisserie", timezone="America/Denver", limits="us-food-code-2022", unit="F",
            from_ms=begun_ms, now_ms=begun_ms, by=BY,
        )  # fmt: skip

        def probe(code: str, medium: str = "food") -> Row:
            return add_probe(session, code, medium=medium, payload="senml", now_ms=begun_ms, by=BY)

        def unit(name: str, kind: str, *codes: str) -> None:
            made = add_unit(session, name, kind, now_ms=begun_ms, by=BY)
            for code in codes:
                medium = "air" if code.startswith("a") else "food"
                place(session, probe(code, medium), unit=made, at_ms=begun_ms, now_ms=begun_ms, by=BY)

        def batch(lot: str, step: str, at_ms: int, *codes: str) -> None:
            made = start_batch(
                session, product="Pastry cream", lot=lot, vessels=len(codes), step=step, at_ms=at_ms, now_ms=at_ms, by=BY
            )  # fmt: skip
            for vessel, code in enumerate(codes, start=1):
                place(session, probe(code), batch=made, vessel=vessel, at_ms=at_ms, now_ms=at_ms, by=BY)

        for n, turn in enumerate(warm):
            if n % 2:
                unit(f"Reach-in {n:03}", "reach-in", f"f{n:03}")
                probes.append(Probe(f"f{n:03}", "warming", f"Reach-in {n:03}", turn))
            else:
                batch(f"H{n:03}", "hold", begun_ms, f"h{n:03}")
                probes.append(Probe(f"h{n:03}", "warming", f"H{n:03}", turn))
        for n, turn in enumerate(late):
            batch(f"L{n:03}", "cool", turn - LATE_MS - HISTORY_EVERY_MS, f"l{n:03}")
            probes.append(Probe(f"l{n:03}", "late", f"L{n:03}", turn))
        for n in range((size.probes - len(probes)) // 4):
            unit(f"Walk-in {n:03}", "walk-in", f"a{n:03}", f"w{n:03}")
            batch(f"C{n:03}", "cool", begun_ms, f"c{n:03}-1", f"c{n:03}-2")
            probes += [Probe(code, "steady") for code in (f"a{n:03}", f"w{n:03}")]
            probes += [Probe(f"c{n:03}-{vessel}", "cooling", "", begun_ms) for vessel in (1, 2)]
        add_contact(session, "manager", url, now_ms=begun_ms, by=BY)
    return probes


def history(store: Store, probes: Sequence[Probe], until_ms: int) -> None:
    """Keep what was read before the measurement begins."""
    numbers = dict(_numbers(store))
    for probe in probes:
        first_ms = until_ms - LONG_MS
        if probe.kind == "late":
            first_ms = probe.turns_ms - LATE_MS - HISTORY_EVERY_MS
        readings = [
            NewReading(numbers[probe.code], at_ms, celsius_of_f(probe.fahrenheit(at_ms)), at_ms)
            for at_ms in range(first_ms, until_ms, HISTORY_EVERY_MS)
        ]
        with store.write() as session:
            write_readings(session, readings, until_ms)


def _numbers(store: Store) -> list[tuple[str, int]]:
    with store.read() as session:
        return [(probe.code, probe.id or 0) for probe in known(session)]


# ---------------------------------------------------------------- the way


@dataclass(frozen=True)
class Look:
    """What stood at an instant."""

    at_s: float
    queued: int
    """Arrivals that the watch had not taken yet."""
    oldest_s: float
    """How long ago the verdict was judged that waits longest."""
    middle_s: float


@dataclass
class Found:
    """What one run of the whole way showed."""

    waits: list[float] = field(default_factory=list)
    """From the publish of the reading that caused it to the alert in hand. [s]"""
    published: int = 0
    lags_ms: list[int] = field(default_factory=list)
    """How long after its instant the listener had each reading. [ms]"""
    looks: list[Look] = field(default_factory=list)
    busy_s: dict[str, float] = field(default_factory=dict)
    """How long each role used a processor. [s]"""
    took_s: float = 0.0


def whole_way(data: Path, broker: Mosquitto, size: Size, *, alone: bool) -> Found:
    """Let a kitchen speak and food go wrong in it; `alone`: only the probe whose food goes wrong speaks."""
    data.mkdir()
    begin_ms = clock.now_ms() // MS_PER_SECOND * MS_PER_SECOND + size.settle_s * MS_PER_SECOND
    with ExitStack() as stack:
        hook = stack.enter_context(http_receiver())
        store = open_store(store_url(data, None), migrate=True)
        stack.callback(store.close)
        probes = kitchen(store, size, begin_ms, hook.url)
        history(store, probes, begin_ms - MS_PER_SECOND)
        messages, causes = speech(probes, begin_ms, WARM_UP_S + round(size.alerts * size.every_s) + TAIL_S, alone=alone)
        roles = {
            "listen": stack.enter_context(running("listen", "--data", data, "--broker", broker.url)),
            "watch": stack.enter_context(running("watch", "--data", data)),
            "notify": stack.enter_context(running("notify", "--data", data)),
        }
        started_ms = clock.now_ms()
        wait_for(lambda: is_ready(store), within_s=60, what="the listener is ready")
        left_s = (begin_ms - started_ms) / MS_PER_SECOND
        wait_for(lambda: is_judged(store, started_ms), left_s, 0.5, "the history is judged before the probes speak")
        time.sleep(max(0.0, (begin_ms - clock.now_ms()) / MS_PER_SECOND))
        found, used = Found(published=len(messages)), {name: used_s(role) for name, role in roles.items()}
        began = time.monotonic()
        with looking(data, found.looks):
            sent = speak(broker.port, messages, causes)
        found.took_s = time.monotonic() - began
        found.busy_s = {name: used_s(role) - used[name] for name, role in roles.items()}
        caused = [(probe, sent[n]) for n, probe in causes.items()]
        assert len(caused) == size.alerts
        wait_for(lambda: len(in_hand(hook, caused)) == size.alerts, _PATIENCE_S, 0.2, "every alert is in hand")
        found.waits = in_hand(hook, caused)
        wait_for(lambda: len(lags_ms(data, begin_ms)) == len(messages), what="every reading is kept")
        found.lags_ms = lags_ms(data, begin_ms)
    return found


def speech(
    probes: Sequence[Probe], begin_ms: int, length_s: int, *, alone: bool
) -> tuple[list[tuple[int, Message]], dict[int, Probe]]:
    """Return what is published when, and which of it causes an alert: the probes speak in turn, each once a second."""
    messages: list[tuple[int, Message]] = []
    causes: dict[int, Probe] = {}
    for second in range(length_s):
        for n, probe in enumerate(probes):
            at_ms = begin_ms + second * EVERY_MS + n * EVERY_MS // len(probes)
            if alone and not 0 <= at_ms - probe.turns_ms + 2 * EVERY_MS < 4 * EVERY_MS:
                continue
            if probe.causes(at_ms - EVERY_MS, at_ms):
                causes[len(messages)] = probe
            payload = senml(probe.code, at_ms / MS_PER_SECOND, probe.celsius(at_ms))
            messages.append((at_ms, (f"holdwatch/{probe.code}", payload)))
    return messages, causes


def speak(port: int, messages: Sequence[tuple[int, Message]], causes: Container[int]) -> dict[int, float]:
    """Publish everything at its instant; return when those went out that cause an alert. [s]."""
    told = [message for _, message in messages]
    wire = packets(told)
    ends = [0, *accumulate(len(packets([message])) for message in told)]
    sent: dict[int, float] = {}
    zero = time.monotonic() - clock.now_ms() / MS_PER_SECOND
    with connected(port, len(messages)) as line:
        for n, (at_ms, _) in enumerate(messages):
            time.sleep(max(0.0, zero + at_ms / MS_PER_SECOND - time.monotonic()))
            if n in causes:
                sent[n] = time.monotonic()
            line.sendall(wire[ends[n] : ends[n + 1]])
    return sent


# ---------------------------------------------------------------- what came of it


def in_hand(hook: Hook, caused: Sequence[tuple[Probe, float]]) -> list[float]:
    """Return how long the alerts that have come took: those that name the food and the clause, and say deviation. [s]."""
    came = list(zip(hook.at, [json.loads(body)["message"] for body in list(hook.got)], strict=False))
    waits = []
    for probe, sent in caused:
        clause = "3-501.14(A)(1)" if probe.kind == "late" else "3-501.16(A)(2)"
        about = [at for at, body in came if probe.name in body and ": deviation" in body and clause in body]
        waits += [at - sent for at in about[:1]]
    return waits


@contextmanager
def looking(data: Path, looks: list[Look]) -> Iterator[None]:
    """Look now and then, for the time of a block, how far the watch is behind."""
    over, began = threading.Event(), time.monotonic()

    def look() -> None:
        with closing(looking_into(data)) as rows:
            while not over.wait(LOOK_EVERY_S):
                queued = rows.execute("SELECT count(*) FROM arrival").fetchone()[0]
                newest = "SELECT max(judged_ms) FROM clause_state GROUP BY subject"
                ages = [(clock.now_ms() - at_ms) / MS_PER_SECOND for (at_ms,) in rows.execute(newest)]
                looks.append(Look(time.monotonic() - began, queued, max(ages), percentile(ages, 50)))

    thread = threading.Thread(target=look)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def lags_ms(data: Path, begin_ms: int) -> list[int]:
    """Return how long after its instant the listener had each reading. [ms]."""
    with closing(looking_into(data)) as rows:
        read = "SELECT lag_ms FROM reading WHERE at_ms >= ? ORDER BY at_ms"
        return [lag_ms for (lag_ms,) in rows.execute(read, (begin_ms,))]


def carried(count: int) -> list[float]:
    """Return how long the carrier alone takes to hand a message to the receiver. [s]."""
    waits = []
    with http_receiver() as hook:
        for number in range(count):
            began = time.monotonic()
            send(hook.url, Alert("Deviation: Pastry cream H000", f"message {number}"))
            waits.append(hook.at[-1] - began)
        assert len(hook.got) == count
    return waits


def tell(busy: Found, alone: Found, carrier: Sequence[float], size: Size) -> None:
    """Print what was found."""
    count = size.probes
    say(
        f"{count} probes speak once a second, {count * MS_PER_SECOND // EVERY_MS} readings/s for {busy.took_s:.0f} s:"
        f" {busy.published:,} readings, all of them kept. Each is of a unit or of a batch that is judged, with three hours"
        f" of history at one in 30 s. Every {size.every_s:g} s one food passes 41 °F, or its two hours of cooling are up:"
        f" {size.alerts} alerts, each found by its lot or unit, its clause and the word deviation in what the receiver got."
        " *In hand*: from the publish of the reading that caused it until a server on this machine has the message.",
    )
    rows = [
        (what, *(f"{percentile(waits, part):.2f} s" for part in (50, 99)), f"{max(waits):.2f} s", promised)
        for what, waits, promised in (
            (f"{len(busy.waits)} alerts, everybody speaking", busy.waits, _promised(busy.waits)),
            (f"ceiling: {len(alone.waits)} alerts, only that probe speaking", alone.waits, ""),
            (f"ceiling: the carrier and the receiver alone ({len(carrier)})", carrier, ""),
        )
    ]
    table(("alert in hand", "half within", "99 % within", "the longest", f"99 % within {PROMISE_S:g} s"), rows)
    say(
        "Whether the listener and the watch keep up, in the first, second and last third. What presses is judged at once,"
        " everybody else in turn; *looked at* is how old the newest verdict of a subject is.",
    )
    thirds = [
        (
            name,
            f"{percentile(lags, 50):.0f} ms",
            f"{percentile(lags, 99):.0f} ms",
            f"{percentile([look.queued for look in looks], 50):,.0f}",
            f"{percentile([look.middle_s for look in looks], 50):.1f} s",
            f"{max(look.oldest_s for look in looks):.1f} s",
        )
        for name, lags, looks in zip(
            ("beginning", "middle", "end"), _thirds(busy.lags_ms), _thirds(busy.looks), strict=True
        )
    ]
    table(
        (
            "",
            "a reading is with the listener, half within",
            "99 % within",
            "arrivals that wait for the watch",
            "looked at, half within",
            "the longest ago",
        ),
        thirds,
    )
    say(
        "Of one processor they used: "
        + ", ".join(f"`{name}` {used / busy.took_s:.0%}" for name, used in busy.busy_s.items())
        + "."
    )


def _promised(waits: Sequence[float]) -> str:
    return "kept" if percentile(waits, 99) <= PROMISE_S else "NOT KEPT HERE"


def _thirds(values: Sequence[T]) -> list[Sequence[T]]:
    third = len(values) // 3
    return [values[:third], values[third : 2 * third], values[2 * third :]]


# ---------------------------------------------------------------- the parts


@contextmanager
def running(role: str, *arguments: object) -> Iterator[subprocess.Popen[str]]:
    """Run a role as a process of its own for the time of a block."""
    with start(role, *arguments) as process:
        try:
            yield process
        finally:
            process.send_signal(signal.SIGTERM)
            process.communicate(timeout=60)


def is_judged(store: Store, until_ms: int) -> bool:
    """Tell whether the watch has looked at everybody who was due by an instant."""
    with store.read() as session:
        return not waiting(session) and not due_watch_states(session, until_ms)


def used_s(process: subprocess.Popen[str]) -> float:
    """Return how long a process has used a processor. [s]."""
    parts = Path(f"/proc/{process.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    main()
