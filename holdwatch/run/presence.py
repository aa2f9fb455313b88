"""How a part is, for whoever listens at the broker: a retained word on ``holdwatch-status/<role>``, with a last will.

``starting``, ``ready`` and ``trouble`` are what the part last said in the store, ``stopped`` is an end that was asked for,
and ``lost`` is what the broker says when the part is gone without a word. A broker that cannot be reached is tried for
ever and stops nothing.
"""

import hashlib
import logging
import os
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from holdwatch import clock
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.intake.address import parse_broker
from holdwatch.settings import Settings
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import RoleStatus

__all__ = ["STATUS_TREE", "Presence", "present"]

STATUS_TREE = "holdwatch-status/"
LOST, STOPPED, TROUBLE = "lost", "stopped", "trouble"

_QOS = 1
_KEEPALIVE_S = 15
_FIRST_RETRY_S, _LAST_RETRY_S = 1, 30
_LOOK_EVERY_S = 2.0
_SILENT_MS = clock.MS_PER_MINUTE
"""Ours: the parts report every ten seconds; one that has not for a minute hangs."""
_STOP_WITHIN_S = 1.0

_log = logging.getLogger(__name__)


@contextmanager
def present(role: str, settings: Settings, otherwise: str = "") -> Iterator[None]:
    """Tell the broker how a part is for the time of a block; nothing that goes wrong here reaches the part.

    Parameters
    ----------
    otherwise : what is told of a part that says nothing in the store; empty tells nothing.
    """
    try:
        presence = Presence(role, settings, otherwise)
        presence.start()
    except (ConfigError, OSError, ValueError) as exc:  # the listener says it, if it is the broker's address
        _log.info("the state of %s is not told to the broker: %s", role, exc)
        yield
        return
    try:
        yield
    finally:
        presence.stop()


class Presence:
    """A client of its own that tells how one part is."""

    def __init__(self, role: str, settings: Settings, otherwise: str = "") -> None:
        self._role, self._settings, self._otherwise = role, settings, otherwise
        self._topic = STATUS_TREE + role
        self._address = parse_broker(settings.broker_url)
        self._lock = threading.Lock()
        self._word = ""
        self._complained = False
        self._ending = threading.Event()
        self._away = threading.Event()
        """Set while there is no connection: at first, and once a farewell is out."""
        self._away.set()
        self._looking = threading.Thread(target=self._look, name=f"presence-{role}", daemon=True)
        self._client = self._new_client()

    def start(self) -> None:
        """Begin connecting and looking; both go on until stopped."""
        self._client.connect_async(self._address.host, self._address.port, keepalive=_KEEPALIVE_S)
        self._client.loop_start()
        self._looking.start()

    def stop(self) -> None:
        """Tell that the part has stopped, if the broker is there; wait a moment at most."""
        self._ending.set()
        with self._lock:
            self._word = STOPPED
            told = None if self._away.is_set() else self._publish()
        if told is not None:
            with suppress(ValueError, RuntimeError):
                told.wait_for_publish(_STOP_WITHIN_S)
        self._client.disconnect()
        self._away.wait(_STOP_WITHIN_S)  # or the process may end before the broker has heard that this is no loss

    def _look(self) -> None:
        """Tell what the part says, whenever it changes."""
        store: Store | None = None
        while not self._ending.is_set():
            try:
                store = store or open_store(self._settings.store_url)
                word = self._told(store)
            except HoldwatchError:
                word = TROUBLE
            except Exception:  # noqa: BLE001  the part goes on whatever happens here
                _log.exception("the state of %s cannot be looked at", self._role)
                word = TROUBLE
            with self._lock:
                if word != self._word and not self._ending.is_set():
                    self._word = word
                    if not self._away.is_set():
                        self._publish()
            self._ending.wait(_LOOK_EVERY_S)
        if store is not None:
            store.close()

    def _told(self, store: Store) -> str:
        """Return what this very process last said in the store."""
        with store.read() as session:
            status = next((s for s in statuses(session) if s.role == self._role and s.pid == os.getpid()), None)
        return self._otherwise if status is None else _word_of(status, clock.now_ms())

    def _publish(self) -> mqtt.MQTTMessageInfo | None:
        return self._client.publish(self._topic, self._word, qos=_QOS, retain=True) if self._word else None

    # ---- the client and its callbacks

    def _new_client(self) -> mqtt.Client:
        client = mqtt.Client(
            CallbackAPIVersion.VERSION2, client_id=self._client_id(), clean_session=True, protocol=mqtt.MQTTv311
        )
        client.reconnect_delay_set(_FIRST_RETRY_S, _LAST_RETRY_S)
        client.will_set(self._topic, LOST, qos=_QOS, retain=True)
        if self._address.username is not None:
            client.username_pw_set(self._address.username, self._address.password)
        if self._address.tls:
            authority = self._address.authority
            client.tls_set(ca_certs=None if authority is None else str(authority))
        client.on_connect = self._on_connect
        client.on_connect_fail = self._on_connect_fail
        client.on_disconnect = self._on_disconnect
        return client

    def _client_id(self) -> str:
        """Return a name that is the same after a restart: the broker then ends the old connection, and its will, first."""
        place = f"{socket.gethostname()}:{self._settings.data.absolute()}"
        return f"holdwatch-status-{self._role}-{hashlib.sha256(place.encode()).hexdigest()[:8]}"

    def _on_connect(self, _client: mqtt.Client, _data: object, _flags: object, reason: object, _more: object) -> None:
        if getattr(reason, "is_failure", False):
            self._complain(str(reason).lower())
            return
        with self._lock:
            self._complained = False
            self._away.clear()
            self._publish()

    def _on_connect_fail(self, _client: mqtt.Client, _data: object) -> None:
        self._complain("it cannot be reached")

    def _on_disconnect(self, *_: object) -> None:
        with self._lock:
            self._away.set()

    def _complain(self, why: str) -> None:
        """Say once that the broker takes nothing, until it has."""
        if not self._complained:
            self._complained = True
            _log.info("the state of %s is not told to the broker at %s: %s", self._role, self._address, why)


def _word_of(status: RoleStatus, now_ms: int) -> str:
    """Return a part's own word; one that has fallen silent is not believed."""
    return TROUBLE if now_ms - status.at_ms > _SILENT_MS else status.state
