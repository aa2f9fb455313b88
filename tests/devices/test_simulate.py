"""``holdwatch simulate`` publishes a kitchen to a broker, and says how it goes."""

import re
import threading

import paho.mqtt.client as mqtt
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from devices.simulator.linden_street import DEVICES
from devices.simulator.publisher import broker_address
from devices.simulator.shift import shift_feeds
from holdwatch.cli import simulate as command
from holdwatch.errors import ConfigError

T0 = 1_795_566_180_000


def test_shift_same_seed_and_span_says_the_same() -> None:
    """Seed and instants decide everything; another seed differs."""
    told = [[feed.readings(feed.due(T0 + 600_000))[1].tolist() for feed in shift_feeds(seed, T0)] for seed in (3, 3, 4)]
    assert told[0] == told[1]
    assert told[0] != told[2]


def test_shift_without_bare_numbers_leaves_that_probe_out() -> None:
    """The others stay."""
    all_of_it, some = shift_feeds(1, T0), shift_feeds(1, T0, bare_numbers=False)
    assert {feed.device.code for feed in all_of_it} - {feed.device.code for feed in some} == {"wi-air"}


@pytest.mark.broker
def test_simulate_fast_publishes_a_span_that_ends_now(
    broker: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten minutes at 600 times real time: each probe with an instant of its own speaks every half minute of them."""
    monkeypatch.setattr(command, "LAST_WORD_MS", 200)
    heard: dict[str, int] = {}
    ready = threading.Event()
    listener = mqtt.Client(CallbackAPIVersion.VERSION2)

    def note(_client: object, _userdata: object, message: mqtt.MQTTMessage) -> None:
        heard[message.topic] = heard.get(message.topic, 0) + 1

    listener.on_message = note
    listener.on_subscribe = lambda *_: ready.set()
    host, port, _, _ = broker_address(broker)
    listener.connect(host, port)
    listener.subscribe("holdwatch/#", qos=1)
    listener.loop_start()
    try:
        assert ready.wait(10)
        command.simulate(broker=broker, seed=1, speed=600.0, minutes=10.0)
    finally:
        listener.disconnect()
        listener.loop_stop()
    said = capsys.readouterr().out
    assert re.search(r"\d+ messages sent, 0 confirmed as kept, \d+ not confirmed", said)
    assert set(heard) == {DEVICES[code].topic for code in DEVICES if code not in {"wi-air", "pan-3", "pan-4"}}
    assert min(heard.values()) >= 15


def test_simulate_without_a_broker_says_so_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody answers: the message names where and what to do."""
    monkeypatch.setattr(command, "CONNECT_WITHIN_MS", 100)
    with pytest.raises(ConfigError, match=r"no broker answers at 127\.0\.0\.1:9: start one"):
        command.simulate(broker="mqtt://127.0.0.1:9", seed=1, speed=1.0, minutes=1.0)


def test_simulate_address_of_another_form_is_refused() -> None:
    """The form that is meant is shown."""
    with pytest.raises(ConfigError, match="mqtt://HOST"):
        command.simulate(broker="localhost", seed=1, speed=1.0, minutes=1.0)
