"""The word of each part at a real Mosquitto: retained, changed, ended, and said by the broker when the part is killed."""

import logging
import os
import signal
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import paho.mqtt.client as mqtt
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from holdwatch import clock
from holdwatch.run.presence import STATUS_TREE, present
from holdwatch.settings import Settings, load_settings
from holdwatch.storage.engine import Store
from holdwatch.storage.status import report
from holdwatch.storage.tables import Role
from tests.support.commands import start
from tests.support.mosquitto import Mosquitto, free_port, mosquitto
from tests.support.waiting import wait_for

pytestmark = [pytest.mark.broker, pytest.mark.long]


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    """Run a broker."""
    with mosquitto(tmp_path / "broker") as running:
        yield running


@contextmanager
def listening(broker: Mosquitto) -> Iterator[dict[str, str]]:
    """Give what an independent client hears: the last word of each part."""
    words: dict[str, str] = {}
    client = mqtt.Client(CallbackAPIVersion.VERSION2)
    client.on_message = lambda _client, _data, told: words.update({told.topic: told.payload.decode()})
    client.connect("127.0.0.1", broker.port)
    client.subscribe(f"{STATUS_TREE}#", qos=1)
    client.loop_start()
    try:
        yield words
    finally:
        client.disconnect()
        client.loop_stop()


def heard(broker: Mosquitto, role: str, word: str) -> None:
    """Wait until a client that comes now is told this word, which the broker must have retained."""

    def asked() -> bool:
        with listening(broker) as words:
            try:
                wait_for(lambda: STATUS_TREE + role in words, within_s=1)
            except AssertionError:
                return False
            return words[STATUS_TREE + role] == word

    wait_for(asked, within_s=40, what=f"{role} is {word}")


@contextmanager
def role(name: str, data: Path, broker: Mosquitto, *words: object) -> Iterator[subprocess.Popen[str]]:
    """Run a part for the time of a block."""
    with start(name, "--data", data, *words, HOLDWATCH_BROKER_URL=broker.url) as process:
        try:
            yield process
        finally:
            process.kill()
            process.communicate(timeout=20)


@pytest.mark.parametrize("name", ["listen", "watch", "notify", "dashboard"])
def test_part_is_ready_lost_when_killed_and_stopped_when_asked(
    settings: Settings, broker: Mosquitto, name: str
) -> None:
    """The last will comes from the broker; a part that begins again takes it back."""
    words = ("--port", settings.port) if name == "dashboard" else ()
    with role(name, settings.data, broker, *words) as process:
        heard(broker, name, "ready")
        os.kill(process.pid, signal.SIGKILL)
        heard(broker, name, "lost")
    with role(name, settings.data, broker, *words) as process:
        heard(broker, name, "ready")
        process.send_signal(signal.SIGTERM)
        heard(broker, name, "stopped")
        process.wait(10)


def test_word_follows_what_the_part_says(settings: Settings, store: Store, broker: Mosquitto) -> None:
    """Nothing of an earlier process; trouble while there is trouble, or once it has fallen silent; ready after it."""
    known = load_settings(data=settings.data, broker_url=broker.url)

    def say(pid: int, state: str, age_ms: int = 0) -> None:
        with store.write() as session:
            report(session, Role.WATCH, pid, state, "", {"host": ""}, clock.now_ms() - age_ms)

    say(os.getpid() + 1, "trouble")
    with present("watch", known), listening(broker) as words:
        say(os.getpid(), "starting")
        wait_for(lambda: words)
        assert words == {f"{STATUS_TREE}watch": "starting"}
        for state, age_ms, word in (("ready", 0, "ready"), ("ready", 61_000, "trouble"), ("ready", 0, "ready")):
            say(os.getpid(), state, age_ms)
            wait_for(lambda word=word: words[f"{STATUS_TREE}watch"] == word)  # type: ignore[misc]
    heard(broker, "watch", "stopped")


def test_broker_that_comes_late_is_told_and_stops_nothing(
    settings: Settings, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Without a broker the part begins and ends at once, and the log says it once."""
    late = Mosquitto(tmp_path / "late")
    known = load_settings(data=settings.data, broker_url=late.url)
    caplog.set_level(logging.INFO, "holdwatch.run.presence")
    with present("notify", known, otherwise="ready"):
        wait_for(lambda: caplog.messages)
        threading.Event().wait(2.5)  # tried again meanwhile
        assert [line for line in caplog.messages if "told to the broker" in line] == [
            f"the state of notify is not told to the broker at 127.0.0.1:{late.port}: it cannot be reached"
        ]
        late.start()
        try:
            heard(late, "notify", "ready")
        finally:
            late.stop()


def test_broker_that_is_never_there_delays_no_end(settings: Settings) -> None:
    """Ending takes no time that the supervisor has not given."""
    known = load_settings(data=settings.data, broker_url=f"mqtt://127.0.0.1:{free_port()}")
    began_ms = clock.monotonic_ms()
    with present("notify", known, otherwise="ready"):
        pass
    assert clock.monotonic_ms() - began_ms < 1_000


def test_address_that_cannot_be_used_stops_no_part(settings: Settings) -> None:
    """The listener complains of it; the others go on."""
    known = load_settings(data=settings.data, broker_url="mqtts://127.0.0.1?ca=/none")
    done = []
    with present("watch", known):
        done.append(True)
    assert done
