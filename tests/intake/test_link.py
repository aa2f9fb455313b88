"""The connection's own rules, with a client that is not connected to anything."""

import threading
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from holdwatch.intake.address import BrokerAddress
from holdwatch.intake.link import Link
from holdwatch.intake.message import Message
from tests.support.mosquitto import free_port
from tests.support.waiting import wait_for


class Client:
    """What the link asks of its client, written down."""

    def __init__(self) -> None:
        self.acked: list[int] = []
        self.subscribed: list[list[tuple[str, int]]] = []
        self.published: list[tuple[str, str]] = []

    def ack(self, mid: int, _qos: int) -> None:
        """Note an acknowledgement."""
        self.acked.append(mid)

    def subscribe(self, topics: list[tuple[str, int]]) -> tuple[int, int]:
        """Note a subscription."""
        self.subscribed.append(topics)
        return 0, len(self.subscribed)

    def publish(self, topic: str, payload: str, qos: int) -> None:
        """Note a message."""
        assert qos == 1
        self.published.append((topic, payload))


class Bench:
    """A link on a bench: connected and disconnected by hand."""

    def __init__(self) -> None:
        self.delivered: list[Message] = []
        self.link = Link(BrokerAddress("b", 1883), "holdwatch-1", self.delivered.append)
        self.client = Client()
        self.link._client = self.client  # type: ignore[assignment]

    def connect(self) -> None:
        """Let the broker say yes."""
        self.link._on_connect(self.client, None, None, SimpleNamespace(is_failure=False), None)  # type: ignore[arg-type]

    def disconnect(self) -> None:
        """Let the connection go."""
        self.link._on_disconnect(self.client, None, None, "unspecified error", None)  # type: ignore[arg-type]

    def receive(self, topic: str, payload: bytes, mid: int = 1, *, retain: bool = False) -> Message:
        """Let a message come; return what was delivered."""
        message: Any = SimpleNamespace(topic=topic, payload=payload, retain=retain, qos=1, mid=mid)
        self.link._on_message(self.client, None, message)  # type: ignore[arg-type]
        return self.delivered[-1]

    def marker_comes_back(self) -> Message:
        """Let the newest marker come back."""
        topic, token = self.client.published[-1]
        return self.receive(topic, token.encode())


@pytest.fixture
def bench() -> Bench:
    """Put a link on the bench."""
    return Bench()


def test_link_acknowledgement_of_an_earlier_connection_is_thrown_away(bench: Bench) -> None:
    """The broker sends such a message again, under whatever number; an old one would end the new connection."""
    bench.connect()
    old = bench.receive("holdwatch/p1", b"4", mid=7)
    bench.disconnect()
    assert not bench.link.acknowledge(old)
    bench.connect()
    assert not bench.link.acknowledge(old)
    new = bench.receive("holdwatch/p1", b"4", mid=7)
    assert bench.link.acknowledge(new)
    assert bench.client.acked == [7]


def test_link_reconnect_without_a_word_is_a_new_connection_too(bench: Bench) -> None:
    """Even when no disconnect was noticed, what came before a new connection is not acknowledged on it."""
    bench.connect()
    old = bench.receive("holdwatch/p1", b"4", mid=7)
    bench.link._on_pre_connect(bench.client, None)  # type: ignore[arg-type]
    assert not bench.link.acknowledge(old)
    assert bench.client.acked == []


def test_link_qos_0_needs_no_acknowledgement(bench: Bench) -> None:
    """What came without QoS has no number to acknowledge."""
    bench.connect()
    assert bench.link.acknowledge(replace(bench.receive("holdwatch/p1", b"4"), qos=0))
    assert bench.client.acked == []


def test_link_message_is_live_after_the_marker_and_before_a_disconnect(bench: Bench) -> None:
    """Before the marker it was queued; retained it is never live; a new connection starts again."""
    bench.connect()
    assert not bench.receive("holdwatch/p2", b"4").live
    assert bench.marker_comes_back().marker
    assert bench.receive("holdwatch/p2", b"4").live
    assert not bench.receive("holdwatch/p2", b"4", retain=True).live
    bench.disconnect()
    bench.connect()
    assert not bench.receive("holdwatch/p2", b"4").live


def test_link_marker_of_another_listener_is_no_marker_of_ours(bench: Bench) -> None:
    """Two sites may share a broker: the other's marker is acknowledged and says nothing."""
    bench.connect()
    token = bench.client.published[-1][1].encode()
    assert bench.receive("holdwatch/marker/holdwatch-2", token).marker
    assert not bench.receive("holdwatch/p2", b"4").live


def test_link_subscribes_to_the_tree_and_what_lies_outside(bench: Bench) -> None:
    """At every connect everything, later on only what is new; the acknowledgements never."""
    bench.link.listen_to(frozenset({"gateway/p3"}))
    bench.connect()
    bench.link.listen_to(frozenset({"gateway/p3", "gateway/p4"}))
    bench.disconnect()
    bench.connect()
    assert [[topic for topic, _ in each] for each in bench.client.subscribed] == [
        ["gateway/p3", "holdwatch/#"],
        ["gateway/p4"],
        ["gateway/p3", "gateway/p4", "holdwatch/#"],
    ]


def test_link_refused_subscription_is_told(bench: Bench) -> None:
    """A broker that refuses a topic is not taken for one that is silent."""
    bench.link.listen_to(frozenset({"gateway/p3"}))
    bench.connect()
    refusal, grant = SimpleNamespace(is_failure=True), SimpleNamespace(is_failure=False)
    bench.link._on_subscribe(bench.client, None, 1, [refusal, grant], None)  # type: ignore[arg-type]
    state = bench.link.state()
    assert state.subscribed
    assert state.refused == ("gateway/p3",)


def test_link_mistake_in_delivery_does_not_end_the_network_thread(bench: Bench) -> None:
    """An exception in a callback would stop everything while the client still calls itself connected."""

    def fail(_message: Message) -> None:
        raise LookupError("a mistake of ours")

    bench.link._deliver = fail
    client = bench.link._new_client()
    message: Any = SimpleNamespace(topic="holdwatch/p1", payload=b"4", retain=False, qos=1, mid=1)
    assert client.on_message is not None
    client.on_message(client, None, message)
    assert bench.delivered == []


def test_link_dead_network_thread_is_replaced() -> None:
    """A network thread that has ended, whatever ended it, is started anew by the minder."""
    link = Link(BrokerAddress("127.0.0.1", free_port()), "holdwatch-dead", lambda _message: None)
    name = "paho-mqtt-client-holdwatch-dead"
    assert not any(thread.name == name for thread in threading.enumerate())
    link.tick()
    try:
        assert any(thread.name == name for thread in threading.enumerate())
        wait_for(lambda: "refused" in link.state().problem)
    finally:
        link.stop()
