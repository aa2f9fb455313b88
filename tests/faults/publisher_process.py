"""Probes in a process of their own: 300 readings a second, and a note of every one that the broker acknowledged.

Every second message is SenML with an instant of its own on ``holdwatch/p1``, the others are bare numbers on
``holdwatch/p2``; each carries a value that no other has. It ends on SIGTERM, when all it sent is acknowledged.

Usage: ``python -m tests.faults.publisher_process PORT FIRST_MS NOTES``
"""

import signal
import sys
import threading
import time
from pathlib import Path

import paho.mqtt.client as mqtt

RATE_HZ = 300
MOST = 60_000


def celsius(number: int) -> float:
    """Return the value of a message."""
    return round(-50.0 + number * 0.001, 3)


def payload(number: int, first_ms: int) -> tuple[str, str]:
    """Return topic and payload of a message."""
    if number % 2:
        return "holdwatch/p2", f"{celsius(number):.3f}"
    at_s = (first_ms + number * 1_000) / 1_000
    return "holdwatch/p1", f'[{{"n":"p1","u":"Cel","t":{at_s:.3f},"v":{celsius(number):.3f}}}]'


def main(port: str, first_ms: str, notes: str) -> None:
    """Publish until asked to end."""
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    mids: list[int] = []  # of the messages in their order; fewer than MQTT's 65,535, so each is used once
    acknowledged: list[int] = []
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2)
    client.on_publish = lambda _client, _userdata, mid, *_: acknowledged.append(mid)
    client.max_inflight_messages_set(1_000)
    client.connect("127.0.0.1", int(port))
    client.loop_start()
    began = time.monotonic()
    while not stop.is_set():
        while len(mids) < min(MOST, (time.monotonic() - began) * RATE_HZ):
            mids.append(client.publish(*payload(len(mids), int(first_ms)), qos=1).mid)
        time.sleep(0.002)
    deadline = time.monotonic() + 10
    while len(acknowledged) < len(mids) and time.monotonic() < deadline:
        time.sleep(0.01)
    client.disconnect()
    client.loop_stop()
    numbers = {mid: number for number, mid in enumerate(mids)}
    Path(notes).write_text("\n".join(str(numbers[mid]) for mid in acknowledged), encoding="ascii")


if __name__ == "__main__":
    main(*sys.argv[1:])
