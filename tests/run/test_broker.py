"""The broker that `run` starts when none is given."""

import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import paho.mqtt.client as mqtt
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from holdwatch.errors import ConfigError
from holdwatch.run import broker as module
from holdwatch.run.broker import BrokerKind, find_mosquitto, own_broker
from holdwatch.run.ports import answers
from holdwatch.settings import load_settings
from tests.support.mosquitto import free_port
from tests.support.waiting import wait_for


@contextmanager
def serving(command: tuple[str, ...], port: int) -> Iterator[subprocess.Popen[bytes]]:
    """Run a broker for the time of a block, from when it takes connections until it has ended."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        wait_for(lambda: process.poll() is None and answers("127.0.0.1", port), what="the broker answers")
        yield process
    finally:
        process.terminate()
        process.wait(20)


@contextmanager
def client(port: int, name: str, heard: list[bytes] | None = None) -> Iterator[mqtt.Client]:
    """Connect with a durable session for the time of a block."""
    made = mqtt.Client(CallbackAPIVersion.VERSION2, client_id=name, clean_session=False)
    made.max_inflight_messages_set(1_000)
    made.on_message = lambda _client, _data, message: None if heard is None else heard.append(message.payload)
    made.connect("127.0.0.1", port)
    made.loop_start()
    try:
        yield made
    finally:
        made.disconnect()
        made.loop_stop()


@pytest.mark.broker
def test_own_broker_is_mosquitto_where_it_is_installed(tmp_path: Path) -> None:
    """It listens on loopback alone, keeps what it has, and drops nothing that it has acknowledged."""
    port = free_port()
    made = own_broker(load_settings(data=tmp_path / "a kitchen", broker_port=port))
    assert made.kind is BrokerKind.MOSQUITTO
    assert made.keeps
    assert made.url == f"mqtt://127.0.0.1:{port}"
    text = (tmp_path / "a kitchen" / "broker" / "mosquitto.conf").read_text(encoding="utf-8")
    for needed in (f"listener {port} 127.0.0.1", "persistence true", "max_queued_messages 0", "autosave_interval 30"):
        assert needed in text
    with serving(made.child.command, port) as process:
        pass
    assert process.returncode == 0
    assert (tmp_path / "a kitchen" / "broker" / "mosquitto.db").exists()


@pytest.mark.broker
def test_own_mosquitto_keeps_more_than_a_thousand_messages_across_a_restart(tmp_path: Path) -> None:
    """What was acknowledged while the listener was away is there when it comes back."""
    port = free_port()
    settings = load_settings(data=tmp_path, broker_port=port)
    with serving(own_broker(settings).child.command, port):
        with client(port, "holdwatch-test") as listener:
            subscribed: list[object] = []
            listener.on_subscribe = lambda *_args: subscribed.append(1)
            listener.subscribe("holdwatch/#", qos=1)
            wait_for(lambda: subscribed, what="the subscription stands")
        with client(port, "probe") as publisher:
            sent = [publisher.publish("holdwatch/p1", str(number), qos=1) for number in range(3_000)]
            for each in sent:
                each.wait_for_publish(60)
    heard: list[bytes] = []
    with serving(own_broker(settings).child.command, port), client(port, "holdwatch-test", heard):
        wait_for(lambda: len(heard) >= 3_000, within_s=60, what="all are heard")
    assert [int(payload) for payload in heard] == list(range(3_000))


def test_own_broker_without_mosquitto_is_the_built_in_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing needs to be installed; its log is bounded, so that its memory is."""
    monkeypatch.setattr(module, "find_mosquitto", lambda: None)
    port = free_port()
    made = own_broker(load_settings(data=tmp_path, broker_port=port))
    assert made.kind is BrokerKind.BUILT_IN
    assert not made.keeps
    assert "keeps nothing across a restart" in made.sentence
    config = tomllib.loads((tmp_path / "broker" / "built-in.toml").read_text(encoding="utf-8"))
    assert config["v4"]["1"]["listen"] == f"127.0.0.1:{port}"
    assert config["router"]["max_segment_size"] * config["router"]["max_segment_count"] <= 64 * 2**20
    with serving(made.child.command, port):
        assert answers("127.0.0.1", port)


def test_own_broker_may_be_chosen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The built-in one on demand; mosquitto on demand is refused where it is not installed."""
    made = own_broker(load_settings(data=tmp_path, broker_port=free_port(), own_broker="built-in"))
    assert made.kind is BrokerKind.BUILT_IN
    monkeypatch.setattr(module, "find_mosquitto", lambda: None)
    with pytest.raises(ConfigError, match="apt-get install mosquitto"):
        own_broker(load_settings(data=tmp_path, broker_port=free_port(), own_broker="mosquitto"))


def test_own_broker_in_a_place_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    """A file stands where its directory should be."""
    (tmp_path / "broker").write_text("", encoding="utf-8")
    with pytest.raises(ConfigError, match="cannot be written"):
        own_broker(load_settings(data=tmp_path, broker_port=free_port()))


@pytest.mark.broker
def test_mosquitto_is_found_outside_a_users_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """Debian puts it where only root looks."""
    monkeypatch.setenv("PATH", str(Path(sys.executable).parent))
    assert find_mosquitto() is not None
