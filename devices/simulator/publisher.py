"""Publishing over MQTT exactly as a probe would: QoS 1, own instants, an outbox until somebody has it on disk."""

import json
import logging
from collections.abc import Callable
from typing import Any
from urllib.parse import unquote, urlsplit

from devices.simulator.device import Device, encode
from devices.simulator.outbox import Outbox
from holdwatch.clock import monotonic_ms

__all__ = ["Publisher", "broker_address"]

AGAIN_AFTER_MS = 30_000
MOST_AT_ONCE = 500
DEFAULT_PORT = 1883

log = logging.getLogger(__name__)


def broker_address(url: str) -> tuple[str, int, str | None, str | None]:
    """Return host, port, user and password of ``mqtt://[user:password@]host[:port]``.

    Raises
    ------
    ValueError
        If the address is not of that form.
    """
    parts = urlsplit(url)
    try:
        port = parts.port or DEFAULT_PORT
    except ValueError:
        port = 0
    if parts.scheme != "mqtt" or not parts.hostname or not port:
        message = f"{url!r} is not a broker's address; write mqtt://HOST or mqtt://HOST:PORT"
        raise ValueError(message)
    return parts.hostname, port, _plain(parts.username), _plain(parts.password)


def _plain(text: str | None) -> str | None:
    """Undo the percent signs of an address."""
    return unquote(text) if text else None


class Publisher:
    """One connection that speaks for any number of probes."""

    def __init__(
        self,
        broker_url: str,
        client_id: str,
        *,
        outbox: Outbox | None = None,
        monotonic: Callable[[], int] = monotonic_ms,
    ) -> None:
        """Prepare the client; nothing is connected before :meth:`start`."""
        import paho.mqtt.client as mqtt
        from paho.mqtt.enums import CallbackAPIVersion

        self.host, self.port, user, password = broker_address(broker_url)
        self.outbox = Outbox() if outbox is None else outbox
        self.sent = self.confirmed = self.unheard = 0
        self._monotonic = monotonic
        self._client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id=client_id, protocol=mqtt.MQTTv311)
        if user is not None:
            self._client.username_pw_set(user, password)
        self._client.reconnect_delay_set(min_delay=1, max_delay=10)
        self._client.on_connect = self._on_connect
        self._client.on_message = self._on_message
        self._client.on_disconnect = self._on_disconnect

    @property
    def connected(self) -> bool:
        """Whether the broker is there."""
        return bool(self._client.is_connected())

    def start(self) -> None:
        """Connect in the background, again and again until it works."""
        self._client.connect_async(self.host, self.port, keepalive=30)
        self._client.loop_start()

    def stop(self) -> None:
        """Leave the broker; what nobody confirmed stays in the outbox."""
        self._client.disconnect()
        self._client.loop_stop()

    def publish(self, device: Device, at_ms: int, celsius: float) -> None:
        """Send a reading, or keep it for later.

        A probe that writes bare numbers keeps nothing: sent later, its number would be taken for a present one.
        """
        payload = encode(device, at_ms, celsius)
        if device.tells_instant:
            self.outbox.add(device.code, at_ms, device.topic, payload)
        elif self.connected:
            self._send(device.topic, payload)
        else:
            self.unheard += 1

    def send_due(self) -> int:
        """Send what waits in the outbox and was not sent lately; return how much that was."""
        if not self.connected:
            return 0
        due = self.outbox.due(self._monotonic(), AGAIN_AFTER_MS, MOST_AT_ONCE)
        for kept in due:
            self._send(kept.topic, kept.payload)
        return len(due)

    def _send(self, topic: str, payload: bytes) -> None:
        self._client.publish(topic, payload, qos=1)
        self.sent += 1

    def _on_connect(self, client: Any, _userdata: Any, _flags: Any, reason: Any, _properties: Any) -> None:
        if reason.is_failure:
            log.warning("the broker at %s:%d refuses: %s", self.host, self.port, reason)
            return
        client.subscribe("ack/+", qos=1)

    def _on_disconnect(self, _client: Any, _userdata: Any, _flags: Any, _reason: Any, _properties: Any) -> None:
        self.outbox.forget_sending()

    def _on_message(self, _client: Any, _userdata: Any, message: Any) -> None:
        """Drop what the acknowledgement names; whatever else it holds is not for us."""
        try:
            told = json.loads(message.payload)
            seconds = [float(second) for second in told.get("t", [])]
        except (ValueError, TypeError, AttributeError):
            log.warning("an acknowledgement on %s cannot be read", message.topic)
            return
        self.confirmed += self.outbox.confirm(message.topic.removeprefix("ack/"), seconds)
