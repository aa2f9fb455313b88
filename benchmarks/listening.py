"""From a publish to the disk: how many readings a second, and how long a lone one takes.

Run ``python -m benchmarks.listening``. A real Mosquitto, ``holdwatch listen`` as a process of its own, SQLite with every
commit brought to the disk, and every message acknowledged only after its commit.
"""

import json
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from benchmarks.speaking import Message, packets, speaking
from benchmarks.support import ROOT, alternate, is_small, percentile, rate, say, table
from holdwatch import clock
from holdwatch.intake.acks import ack_topic
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.register import add_probe, set_site
from tests.intake.conftest import is_ready
from tests.support.commands import start
from tests.support.mosquitto import Mosquitto, mosquitto
from tests.support.waiting import wait_for

PROBES = 100
EVERY_MS = 10_000
PROMISE_S = 0.250
"""A lone reading is on disk within it."""
_PATIENCE_S = 120.0


def main() -> None:
    """Measure, and print the section of the page."""
    small = is_small()
    say("## Listening", "")
    with tempfile.TemporaryDirectory() as name, mosquitto(Path(name) / "broker") as broker:
        throughput(Path(name), broker, count=6_000 if small else 60_000, runs=2 if small else 5)
        latency(Path(name), broker, seldom=5 if small else 100, often=100 if small else 2_000)


# ---------------------------------------------------------------- how many


def throughput(directory: Path, broker: Mosquitto, *, count: int, runs: int) -> None:
    """Compare the listener with listeners that do less."""
    first_ms = clock.now_ms() - count // PROBES * EVERY_MS
    wire = packets([message(n, first_ms) for n in range(count)])
    numbers = iter(range(1_000))
    ours, counting, pipe = alternate(
        runs,
        lambda: kept_by_holdwatch(directory / f"kept{next(numbers)}", broker, wire, count),
        lambda: counted(broker, wire, count),
        lambda: piped(directory / f"piped{next(numbers)}.db", broker, wire, count),
    )
    ours, counting, pipe = ours.per(count), counting.per(count), pipe.per(count)
    say(
        f"{count:,} SenML readings of {PROBES} probes, published by a bare socket as fast as Mosquitto takes them; QoS 1;"
        f" {runs} runs of each, in turn; median (least–most). Every run's rows were counted.",
    )
    table(
        ("what listens", "readings", "Holdwatch does"),
        [
            ("`holdwatch listen`: decoded, deduplicated, rolled up, on disk, then acknowledged", rate(ours), ""),
            ("ceiling: a paho client that only counts", rate(counting), f"{ours.median / counting.median:.2f} of it"),
            (
                "ceiling: `mosquitto_sub` into `sqlite3 .import`, acknowledged unkept, one commit at the end",
                rate(pipe),
                f"{ours.median / pipe.median:.2f} of it",
            ),
        ],
    )
    needed = PROBES * 1_000 / EVERY_MS
    say(
        f"{PROBES} probes at one reading in {EVERY_MS // 1_000} s need {needed:.0f}/s: {needed / ours.median:.2%} of it."
    )


def message(number: int, first_ms: int) -> Message:
    """Return a reading that no other is like: probes in turn, each at its own instants."""
    code, turn = number % PROBES, number // PROBES
    at_s = (first_ms + turn * EVERY_MS) / 1_000
    return f"holdwatch/p{code}", senml(f"p{code}", at_s, 3 + number % 37 / 16)


def senml(name: str, at_s: float, celsius: float) -> bytes:
    """Return a reading as a probe writes it."""
    return f'[{{"n":"{name}","u":"Cel","t":{at_s:.3f},"v":{celsius}}}]'.encode()


def kept_by_holdwatch(data: Path, broker: Mosquitto, wire: bytes, count: int) -> float:
    """Return how long it takes until the last reading is on disk. [s]."""
    with listening(data, broker), closing(looking_into(data)) as store:
        began = time.perf_counter()
        with speaking(broker.port, wire, count):
            last = "SELECT 1 FROM reading WHERE probe_id = ? ORDER BY at_ms LIMIT 1 OFFSET ?"
            _wait(lambda: store.execute(last, (PROBES, count // PROBES - 1)).fetchone() is not None)
            took = time.perf_counter() - began
        kept = store.execute("SELECT count(*), count(DISTINCT probe_id) FROM reading").fetchone()
    assert kept == (count, PROBES), kept
    return took


def counted(broker: Mosquitto, wire: bytes, count: int) -> float:
    """Return how long a Python client takes that does nothing with the messages but count them. [s]."""
    command = [sys.executable, "-m", "benchmarks.counting", str(broker.port), str(count)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as client:
        assert client.stdout is not None
        assert client.stdout.readline() == "ready\n"
        began = time.perf_counter()
        with speaking(broker.port, wire, count):
            seen = client.stdout.readline()
            took = time.perf_counter() - began
    assert seen == f"{count}\n", seen
    return took


def piped(into: Path, broker: Mosquitto, wire: bytes, count: int) -> float:
    """Return how long programs in C take that keep every message as text, and commit once. [s]."""
    subscribe = rf"mosquitto_sub -p {broker.port} -q 1 -t 'holdwatch/#' -F '%t\t%p' -C {count}"
    store = f"sqlite3 {into} 'CREATE TABLE raw (topic, payload)' '.mode tabs' '.import /dev/stdin raw'"
    with subprocess.Popen(["bash", "-c", f"{subscribe} | {store}"]) as pipe:
        time.sleep(0.5)  # it does not say when it has subscribed
        began = time.perf_counter()
        with speaking(broker.port, wire, count):
            assert pipe.wait(_PATIENCE_S) == 0
            took = time.perf_counter() - began
    with closing(sqlite3.connect(into)) as made:
        kept = made.execute("SELECT count(*), count(DISTINCT topic) FROM raw").fetchone()
    assert kept == (count, PROBES), kept
    return took


# ---------------------------------------------------------------- how long


@dataclass
class Waits:
    """How long lone readings took: until their row could be read, and until the device was told. [s]."""

    on_disk: list[float] = field(default_factory=list)
    told: list[float] = field(default_factory=list)


def latency(directory: Path, broker: Mosquitto, *, seldom: int, often: int) -> None:
    """Measure how long a lone reading takes, against the broker and the disk alone."""
    data = directory / "lone"
    with listening(data, broker), closing(looking_into(data)) as store:
        waits = {1: lone(broker, store, every_s=1.0, count=seldom), 100: lone(broker, store, every_s=0.01, count=often)}
        kept = store.execute("SELECT count(*) FROM reading").fetchone()[0]
    assert kept == seldom + often, kept
    echo = echoed(broker, often)
    disk = committed(directory / "alone.db", often)
    say(
        "",
        "How long a lone reading takes, from the call that publishes it. *On disk*: its row can be read by another process,"
        " which SQLite allows only after the commit was brought to the disk; seen by looking every 0.2 ms. *Told*: the"
        " device has Holdwatch's own acknowledgement.",
    )
    rows = []
    for hertz, found in waits.items():
        count = len(found.on_disk)
        rows += [
            (
                f"on disk, {hertz} reading{'s' * (hertz > 1)} a second ({count})",
                *_waits(found.on_disk),
                _kept_promise(found),
            ),
            (f"told, {hertz} reading{'s' * (hertz > 1)} a second ({count})", *_waits(found.told), ""),
        ]
    rows += [
        (f"ceiling: the same message through the broker and back ({often})", *_waits(echo), ""),
        (f"ceiling: one row committed by `sqlite3` alone ({often})", *_waits(disk), ""),
    ]
    table(("what", "half within", "99 % within", "the longest", "within 250 ms"), rows)
    least = percentile(echo, 50) + percentile(disk, 50)
    say(
        f"The two ceilings together take {least * 1_000:.2f} ms; the median at 100 a second is"
        f" {percentile(waits[100].on_disk, 50) / least:.1f} times that, at 1 a second"
        f" {percentile(waits[1].on_disk, 50) / least:.1f} times: threads and processes that have gone to sleep wake up.",
        "",
    )


def _waits(values: list[float]) -> tuple[str, str, str]:
    return tuple(f"{value * 1_000:.2f} ms" for value in (percentile(values, 50), percentile(values, 99), max(values)))  # type: ignore[return-value]  # three values


def _kept_promise(found: Waits) -> str:
    return f"{sum(value <= PROMISE_S for value in found.on_disk)} of {len(found.on_disk)}"


def lone(broker: Mosquitto, store: sqlite3.Connection, *, every_s: float, count: int) -> Waits:
    """Publish readings one by one, and wait for each to be seen on disk and to be acknowledged."""
    code = next(
        n
        for n in range(PROBES)
        if store.execute("SELECT 1 FROM reading WHERE probe_id = ?", (n + 1,)).fetchone() is None
    )
    waits, told_at = Waits(), dict[float, float]()
    first_ms = clock.now_ms()
    instants = [first_ms + n * round(every_s * 1_000) for n in range(count)]

    def on_message(_client: mqtt.Client, _userdata: object, message: mqtt.MQTTMessage) -> None:
        at = time.perf_counter()
        told_at.update(dict.fromkeys(json.loads(message.payload)["t"], at))

    with _connected(broker, ack_topic(f"p{code}"), on_message) as client:
        published: list[float] = []
        seen = 0
        began = time.perf_counter()
        while seen < count:
            if len(published) < count and time.perf_counter() >= began + len(published) * every_s:
                at_ms = instants[len(published)]
                published.append(time.perf_counter())
                client.publish(f"holdwatch/p{code}", senml(f"p{code}", at_ms / 1_000, 4.5), qos=1)
            if seen < len(published):
                asked = "SELECT 1 FROM reading WHERE probe_id = ? AND at_ms = ?"
                if store.execute(asked, (code + 1, instants[seen])).fetchone() is not None:
                    waits.on_disk.append(time.perf_counter() - published[seen])
                    seen += 1
            assert time.perf_counter() < began + count * every_s + _PATIENCE_S
            time.sleep(0.0002)
        wait_for(lambda: len(told_at) == count, what="every reading was acknowledged")
    waits.told = [told_at[at_ms / 1_000] - at for at_ms, at in zip(instants, published, strict=True)]
    return waits


def echoed(broker: Mosquitto, count: int) -> list[float]:
    """Return how long a message takes through the broker and back to the same client, 100 a second. [s]."""
    arrived: list[float] = []
    waits = []
    topic = "echo/p0"
    with _connected(broker, topic, lambda *_: arrived.append(time.perf_counter())) as client:
        for number in range(count):
            at = time.perf_counter()
            client.publish(topic, senml("p0", 1_795_566_180, 4.5), qos=1)
            wait_for(lambda number=number: len(arrived) > number, every_s=0.0002)  # type: ignore[misc]
            waits.append(arrived[number] - at)
            time.sleep(max(0.0, at + 0.01 - time.perf_counter()))
    assert len(waits) == len(arrived) == count
    return waits


def committed(path: Path, count: int) -> list[float]:
    """Return how long it takes to bring one row to the disk, 100 a second. [s]."""
    waits = []
    with closing(sqlite3.connect(path, isolation_level=None)) as store:
        store.execute("PRAGMA journal_mode = WAL")
        store.execute("PRAGMA synchronous = FULL")
        store.execute("CREATE TABLE reading (probe_id, at_ms, celsius, PRIMARY KEY (probe_id, at_ms)) WITHOUT ROWID")
        for number in range(count):
            at = time.perf_counter()
            store.execute("INSERT INTO reading VALUES (1, ?, 4.5)", (number,))
            waits.append(time.perf_counter() - at)
            time.sleep(max(0.0, at + 0.01 - time.perf_counter()))
        assert store.execute("SELECT count(*) FROM reading").fetchone()[0] == count
    return waits


# ---------------------------------------------------------------- the parts


@contextmanager
def listening(data: Path, broker: Mosquitto) -> Iterator[None]:
    """Make a store with its probes, and run ``holdwatch listen`` on it for the time of a block."""
    data.mkdir()
    store = open_store(store_url(data, None), migrate=True)
    now_ms = clock.now_ms()
    with store.write() as session:
        set_site(
            session, name="Linden Street Patisserie", timezone="America/Denver", limits="us-food-code-2022", unit="F",
            from_ms=now_ms, now_ms=now_ms, by="benchmark",
        )  # fmt: skip
        for number in range(PROBES):
            add_probe(session, f"p{number}", medium="food", payload="senml", now_ms=now_ms, by="benchmark")
    with start("listen", "--data", data, "--broker", broker.url) as listener:
        try:
            wait_for(lambda: is_ready(store), what="the listener is ready")
            yield
        finally:
            listener.send_signal(signal.SIGTERM)
            listener.communicate(timeout=30)
            store.close()


def looking_into(data: Path) -> sqlite3.Connection:
    """Return a connection that only reads, as another process would."""
    return sqlite3.connect(f"file:{data / 'holdwatch.db'}?mode=ro", uri=True, isolation_level=None)


@contextmanager
def _connected(broker: Mosquitto, topic: str, on_message: Callable[..., None]) -> Iterator[mqtt.Client]:
    """Give a client that is subscribed to a topic."""
    subscribed = threading.Event()
    client = mqtt.Client(CallbackAPIVersion.VERSION2)
    client.on_socket_open = _send_at_once
    client.on_subscribe = lambda *_: subscribed.set()
    client.on_message = on_message
    client.connect("127.0.0.1", broker.port)
    client.loop_start()
    client.subscribe(topic, qos=1)
    assert subscribed.wait(10)
    try:
        yield client
    finally:
        client.disconnect()
        client.loop_stop()


def _send_at_once(_client: mqtt.Client, _userdata: object, opened: Any) -> None:
    opened.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


def _wait(question: Callable[[], bool]) -> None:
    wait_for(question, within_s=_PATIENCE_S, every_s=0.002, what="every reading is on disk")


if __name__ == "__main__":
    main()
