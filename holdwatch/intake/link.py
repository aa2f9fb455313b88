"""The connection to the broker: MQTT 3.1.1, a durable session, acknowledged by hand, tried again for ever.

Every callback catches everything: an error in one would end the network thread while the client still calls
itself connected. The minder calls ``tick`` now and then; it sends the markers and looks after the thread.
"""

import logging
import socket
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, ParamSpec

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from holdwatch import clock
from holdwatch.intake.address import BrokerAddress
from holdwatch.intake.liveness import Liveness
from holdwatch.intake.message import Message
from holdwatch.intake.roster import LISTENED_TREE, MARKER_TREE
from holdwatch.language import N_

__all__ = ["Link", "LinkState"]

_P = ParamSpec("_P")

_QOS = 1
_KEEPALIVE_S = 30
_FIRST_RETRY_S, _LAST_RETRY_S = 1, 30
_MARKER_EVERY_MS = 2_000
_QUEUED_ACKS = 10_000
_STOP_WITHIN_S = 3.0

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class LinkState:
    """How the connection is doing."""

    connected: bool
    subscribed: bool
    since_ms: int  # since when it is as it is
    problem: str  # why it cannot connect, in the words of the broker or the system
    refused: tuple[str, ...]  # subscriptions that the broker refused
    unmarked_ms: int  # for how long no marker has come back
    live: bool


class Link:
    """A client that hands every message to `deliver`, which may block, and acknowledges what it is told to."""

    def __init__(self, address: BrokerAddress, client_id: str, deliver: Callable[[Message], None]) -> None:
        self.address = address
        self._client_id, self._deliver = client_id, deliver
        self._lock = threading.RLock()
        self._liveness = Liveness(clock.monotonic_ms, clock.now_ms)
        self._marker_topic = f"{MARKER_TREE}{client_id}"
        self._generation = 0
        self._connected = False
        self._since_ms = clock.now_ms()
        self._problem = ""
        self._marked_ms = 0
        self._topics: frozenset[str] = frozenset()
        self._pending: dict[int, tuple[str, ...]] = {}
        self._granted: set[str] = set()
        self._refused: set[str] = set()
        self._client = self._new_client()

    # ---- what the listener asks

    def start(self) -> None:
        """Begin connecting; it goes on until stopped."""
        self._client.connect_async(self.address.host, self.address.port, keepalive=_KEEPALIVE_S)
        self._client.loop_start()

    def stop(self) -> None:
        """Send what is still to be sent, and disconnect."""
        self._client.disconnect()
        stopping = threading.Thread(target=self._client.loop_stop, daemon=True)
        stopping.start()
        stopping.join(_STOP_WITHIN_S)  # a broker that takes nothing must not keep us

    def state(self) -> LinkState:
        """Return how the connection is doing."""
        with self._lock:
            return LinkState(
                connected=self._connected,
                subscribed=self._connected and LISTENED_TREE + "#" in self._granted,
                since_ms=self._since_ms,
                problem=self._problem,
                refused=tuple(sorted(self._refused)),
                unmarked_ms=self._liveness.silent_for_ms() if self._connected else 0,
                live=self._connected and self._liveness.is_live(),
            )

    def listen_to(self, topics: frozenset[str]) -> None:
        """Subscribe to topics outside the listened tree, now and after every reconnect."""
        with self._lock:
            new = topics - self._topics
            self._topics |= topics
            if new and self._connected:
                self._subscribe(new)

    def acknowledge(self, message: Message) -> bool:
        """Tell the broker that a message is kept; return whether its connection still stands."""
        if message.qos == 0:
            return True
        with self._lock:
            if message.generation != self._generation or not self._connected:
                return False  # the broker sends it again
            self._client.ack(message.mid, message.qos)
            return True

    def tell(self, topic: str, payload: bytes) -> None:
        """Publish an acknowledgement to a device; one that is lost makes the device send again."""
        if not self._connected:
            return
        try:
            self._client.publish(topic, payload, qos=_QOS)
        except ValueError as exc:
            _log.warning("no acknowledgement can be published on %s: %s", topic, exc)

    def tick(self) -> None:
        """Send a marker if one is due; put a dead network thread right."""
        with self._lock:
            if self._connected and clock.monotonic_ms() - self._marked_ms >= _MARKER_EVERY_MS:
                self._mark(self._client)
        name = f"paho-mqtt-client-{self._client_id}"
        if not any(thread.name == name for thread in threading.enumerate()):
            _log.error("the network thread has ended; connecting anew")
            with self._lock:
                self._lost()
                self._client = self._new_client()
            self.start()

    # ---- the client and its callbacks

    def _new_client(self) -> mqtt.Client:
        """Return a client that is set up and not yet connecting."""
        client = mqtt.Client(
            CallbackAPIVersion.VERSION2,
            client_id=self._client_id,
            clean_session=False,
            protocol=mqtt.MQTTv311,
            manual_ack=True,
        )
        client.reconnect_delay_set(_FIRST_RETRY_S, _LAST_RETRY_S)
        client.max_queued_messages_set(_QUEUED_ACKS)
        if self.address.username is not None:
            client.username_pw_set(self.address.username, self.address.password)
        if self.address.tls:
            client.tls_set(ca_certs=None if self.address.authority is None else str(self.address.authority))
        client.on_socket_open = _guarded(_send_at_once)
        client.on_pre_connect = _guarded(self._on_pre_connect)
        client.on_connect = _guarded(self._on_connect)
        client.on_connect_fail = _guarded(self._on_connect_fail)
        client.on_disconnect = _guarded(self._on_disconnect)
        client.on_subscribe = _guarded(self._on_subscribe)
        client.on_message = _guarded(self._on_message)
        return client

    def _on_pre_connect(self, _client: mqtt.Client, _userdata: Any) -> None:
        with self._lock:
            self._lost()

    def _on_connect(self, client: mqtt.Client, _userdata: Any, _flags: Any, reason: Any, _properties: Any) -> None:
        with self._lock:
            if reason.is_failure:
                self._problem = str(reason).lower()
                return
            self._generation += 1
            self._connected, self._since_ms, self._problem = True, clock.now_ms(), ""
            self._granted.clear()
            self._refused.clear()
            self._pending.clear()
            self._subscribe({LISTENED_TREE + "#", *self._topics})
            self._mark(client)

    def _on_connect_fail(self, _client: mqtt.Client, _userdata: Any) -> None:
        error = sys.exc_info()[1]
        with self._lock:
            self._problem = _why(error)

    def _on_disconnect(self, _client: mqtt.Client, _userdata: Any, _flags: Any, reason: Any, _properties: Any) -> None:
        with self._lock:
            self._lost()
            self._problem = self._problem or f"connection lost: {str(reason).lower()}"

    def _on_subscribe(self, _client: mqtt.Client, _userdata: Any, mid: int, reasons: Any, _properties: Any) -> None:
        with self._lock:
            for topic, reason in zip(self._pending.pop(mid, ()), reasons, strict=False):
                (self._refused if reason.is_failure else self._granted).add(topic)

    def _on_message(self, _client: mqtt.Client, _userdata: Any, message: mqtt.MQTTMessage) -> None:
        arrival_ms = clock.now_ms()
        try:
            topic = message.topic
        except UnicodeDecodeError:
            topic = "(a topic that is not UTF-8)"
        marker = topic.startswith(MARKER_TREE)  # another site's listener may share our broker
        with self._lock:
            if topic == self._marker_topic and not message.retain:
                self._liveness.came_back(message.payload.decode("ascii", "replace"))
            live = not message.retain and self._liveness.is_live()
            generation = self._generation
        payload = bytes(message.payload)
        self._deliver(Message(topic, payload, arrival_ms, live, message.qos, message.mid, generation, marker))

    # ---- with the lock held

    def _lost(self) -> None:
        """Note that the connection is gone: acknowledgements of its messages are thrown away from here on."""
        self._generation += 1
        self._liveness.reset()
        if self._connected:
            self._connected, self._since_ms = False, clock.now_ms()

    def _subscribe(self, topics: set[str] | frozenset[str]) -> None:
        ordered = tuple(sorted(topics))
        _, mid = self._client.subscribe([(topic, _QOS) for topic in ordered])
        if mid is not None:
            self._pending[mid] = ordered

    def _mark(self, client: mqtt.Client) -> None:
        """Send ourselves a marker: what comes before it may have waited."""
        self._marked_ms = clock.monotonic_ms()
        client.publish(self._marker_topic, self._liveness.new_marker(), qos=_QOS)


def _send_at_once(_client: mqtt.Client, _userdata: Any, opened: Any) -> None:
    """Send small packets as they come: a device waits for its acknowledgement."""
    opened.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


def _why(error: BaseException | None) -> str:
    """Say in a few words why a connection failed."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror.lower()
    return str(error).lower() if error is not None and str(error) else N_("no answer")


def _guarded(callback: Callable[_P, None]) -> Callable[_P, None]:
    """Return a callback that logs what goes wrong instead of ending the network thread."""
    return partial(_call, callback)


def _call(callback: Callable[_P, None], *args: _P.args, **kwargs: _P.kwargs) -> None:
    try:
        callback(*args, **kwargs)
    except Exception:  # noqa: BLE001  an error here would end the network thread
        _log.exception("a callback of the connection failed")
