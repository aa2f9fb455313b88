"""The broker that ``holdwatch run`` starts when none is given: on loopback, for this machine only.

An installed mosquitto gets a configuration of its own and keeps what it queues in the data directory. Without one
the built-in broker stands in; it keeps nothing across a restart, so devices must keep a reading until ``ack/<probe>``
names it.
"""

import os
import shutil
import sys
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from holdwatch.errors import ConfigError
from holdwatch.run.child import Child
from holdwatch.run.ports import require_free
from holdwatch.settings import Settings

__all__ = ["BrokerKind", "OwnBroker", "find_mosquitto", "own_broker"]

LOOPBACK = "127.0.0.1"
_SYSTEM_PLACES = "/usr/sbin:/usr/local/sbin:/opt/homebrew/sbin"  # where a user's PATH does not look

_MOSQUITTO = """\
# Written by holdwatch run each time it starts; changes made here do not stay.
listener {port} {address}
allow_anonymous true
persistence true
persistence_location {directory}/
autosave_interval 30
max_queued_messages 0
max_queued_bytes 536870912
max_inflight_messages 1000
set_tcp_nodelay true
log_dest stderr
log_type error
log_type warning
log_timestamp false
"""
# 0 queued messages is "no limit": the default drops what comes after the thousandth, although it was acknowledged

_BUILT_IN = """\
# Written by holdwatch run each time it starts; changes made here do not stay.
id = 0

[router]
id = 0
max_connections = 1000
max_outgoing_packet_count = 200
max_segment_size = 8388608
max_segment_count = 8

[v4.1]
name = "holdwatch"
listen = "{address}:{port}"
next_connection_delay_ms = 1

[v4.1.connections]
connection_timeout_ms = 60000
max_payload_size = 65536
max_inflight_count = 100
dynamic_filters = true
"""
# without the two bounds on segments its memory grows with every message that was ever published


class BrokerKind(StrEnum):
    """Which broker is used."""

    MOSQUITTO = "mosquitto"
    BUILT_IN = "built-in"


@dataclass(frozen=True)
class OwnBroker:
    """The broker that ``run`` starts."""

    kind: BrokerKind
    child: Child
    url: str

    @property
    def keeps(self) -> bool:
        """Whether what it has queued outlives it."""
        return self.kind is BrokerKind.MOSQUITTO

    @property
    def sentence(self) -> str:
        """What to tell of it while it runs."""
        if self.keeps:
            return f"mosquitto of our own at {self.url}, for this machine only"
        return f"the built-in broker at {self.url}, for this machine only: it keeps nothing across a restart"


def own_broker(settings: Settings) -> OwnBroker:
    """Write the configuration of our own broker; it is started as a child.

    Raises
    ------
    ConfigError
        If its port is taken, mosquitto is asked for and not installed, or the configuration cannot be written.
    """
    port = settings.broker_port
    require_free(LOOPBACK, port, "the broker", "--broker-port (or name a running broker with --broker)")
    program = None if settings.own_broker == BrokerKind.BUILT_IN.value else find_mosquitto()
    if program is None and settings.own_broker == BrokerKind.MOSQUITTO.value:
        raise ConfigError('mosquitto is not installed: apt-get install mosquitto, or set own_broker = "auto"')
    directory = settings.data.absolute() / "broker"
    kind = BrokerKind.BUILT_IN if program is None else BrokerKind.MOSQUITTO
    command: tuple[str, ...]
    if program is not None:
        text = _MOSQUITTO.format(port=port, address=LOOPBACK, directory=directory)
        if os.geteuid() == 0:
            text += "user root\n"  # else it becomes a user who may not write to the data directory
        config = _write(directory / "mosquitto.conf", text)
        command = (program, "-c", str(config))
    else:
        config = _write(directory / "built-in.toml", _BUILT_IN.format(port=port, address=LOOPBACK))
        command = (sys.executable, "-m", "holdwatch.run.built_in_broker", str(config))
    return OwnBroker(kind, Child("broker", command, shown=False), f"mqtt://{LOOPBACK}:{port}")


def find_mosquitto() -> str | None:
    """Return where mosquitto is installed."""
    return shutil.which("mosquitto", path=os.pathsep.join([os.environ.get("PATH", ""), _SYSTEM_PLACES]))


def _write(path: Path, text: str) -> Path:
    """Write a configuration."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    except OSError as exc:
        raise ConfigError(
            f"{path} cannot be written ({exc.strerror}): make room, or let this user write there"
        ) from exc
    return path
