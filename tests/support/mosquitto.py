"""A real Mosquitto on a free loopback port, for tests."""

import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Self

import pytest

__all__ = ["Mosquitto", "free_port", "mosquitto", "require_mosquitto"]

_CONFIGURATION = """\
listener {port} 127.0.0.1
{access}
persistence true
persistence_location {directory}/
autosave_interval 60
max_queued_messages 0
max_inflight_messages 1000
set_tcp_nodelay true
"""
_UP_WITHIN_S = 10.0


def free_port() -> int:
    """Return a loopback port that was free a moment ago."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def require_mosquitto() -> tuple[str, str]:
    """Return where mosquitto and mosquitto_pub are; without them skip, in CI fail."""
    path = os.pathsep.join((os.environ.get("PATH", ""), "/usr/sbin", "/usr/local/sbin"))
    found = tuple(shutil.which(name, path=path) for name in ("mosquitto", "mosquitto_pub"))
    if found[0] is None or found[1] is None:
        message = "mosquitto and mosquitto-clients are not installed"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    return found[0], found[1]


class Mosquitto:
    """One broker; it may be stopped and started again on the same port, with what it had kept."""

    def __init__(self, directory: Path, access: str = "allow_anonymous true") -> None:
        self._program, self._publisher = require_mosquitto()
        self.port = free_port()
        self.directory = directory
        directory.mkdir(parents=True, exist_ok=True)
        self._configuration = directory / "mosquitto.conf"
        text = _CONFIGURATION.format(port=self.port, directory=directory, access=access)
        if os.geteuid() == 0:
            text += "user root\n"  # else it gives up its rights and may not write its directory
        self._configuration.write_text(text, encoding="utf-8")
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Where it is."""
        return f"mqtt://127.0.0.1:{self.port}"

    def start(self) -> Self:
        """Start it, and wait until it takes connections."""
        log = (self.directory / "mosquitto.log").open("ab")
        with log:
            self._process = subprocess.Popen(
                [self._program, "-c", str(self._configuration)], stdout=log, stderr=subprocess.STDOUT
            )
        deadline = time.monotonic() + _UP_WITHIN_S
        while time.monotonic() < deadline:
            if self._process.poll() is not None:
                break
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return self
            time.sleep(0.01)
        raise AssertionError((self.directory / "mosquitto.log").read_text(encoding="utf-8", errors="replace"))

    def stop(self) -> None:
        """Stop it; it keeps sessions and what is queued for them."""
        if self._process is not None:
            self._process.send_signal(signal.SIGTERM)
            self._process.wait(10)
            self._process = None

    def publish(self, topic: str, payload: str | bytes, *, retain: bool = False, qos: int = 1) -> None:
        """Publish one message with mosquitto_pub, an independent client."""
        data = payload.encode() if isinstance(payload, str) else payload
        command = [self._publisher, "-h", "127.0.0.1", "-p", str(self.port), "-t", topic, "-q", str(qos)]
        command += ["-s"] if data else ["-n"]
        if retain:
            command.append("-r")
        subprocess.run(command, input=data, check=True, timeout=20)


@contextmanager
def mosquitto(directory: Path, access: str = "allow_anonymous true") -> Iterator[Mosquitto]:
    """Run a broker for the time of a block."""
    broker = Mosquitto(directory, access).start()
    try:
        yield broker
    finally:
        broker.stop()
