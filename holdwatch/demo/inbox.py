"""A telephone's stand-in: a receiver on the loopback that writes down each alert it is sent.

It takes what Apprise posts to a ``json://`` address and appends it to ``DATA/inbox.jsonl``, one object a line.
``python -m holdwatch.demo.inbox`` runs it, with the settings that the supervisor hands on.
"""

import argparse
import json
import signal
import sys
import threading
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from holdwatch.clock import now_ms, to_iso
from holdwatch.demo.plan import DemoPlan
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.settings import load_settings

__all__ = ["FILE", "Inbox", "read_inbox"]

FILE = "inbox.jsonl"
LARGEST = 64 * 1024
COULD_NOT_START = 2


class Inbox(ThreadingHTTPServer):
    """The receiver; `stop` ends :meth:`serve_forever` from another thread."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self, data: Path, port: int) -> None:
        """Take the port, or say in one line that it is taken."""
        self.path = data / FILE
        self.lock = threading.Lock()
        try:
            super().__init__(("127.0.0.1", port), _Handler)
        except OSError as exc:
            raise ConfigError(
                f"the demo inbox cannot use port {port} ({exc.strerror}): stop the program that uses it, or another demo"
            ) from exc

    def append(self, told: dict[str, Any]) -> None:
        """Write one alert down."""
        line = json.dumps({"received_at": to_iso(now_ms()), **told}, ensure_ascii=False)
        with self.lock, self.path.open("a", encoding="utf-8") as file:
            file.write(line + "\n")

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Pass over a caller who went away; anything else is told on standard error."""
        if not isinstance(sys.exc_info()[1], ConnectionError | TimeoutError):
            super().handle_error(request, client_address)


class _Handler(BaseHTTPRequestHandler):
    """Takes one message."""

    server: Inbox
    timeout = 10

    def do_POST(self) -> None:
        """Keep the message, or say why not."""
        try:
            length = int(self.headers.get("Content-Length", ""))
        except ValueError:
            return self._answer(HTTPStatus.LENGTH_REQUIRED)
        if not 0 <= length <= LARGEST:
            return self._answer(HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
        try:
            posted = json.loads(self.rfile.read(length))
            told = {name: str(posted[name]) for name in ("title", "message")}
            told["type"] = str(posted.get("type", "info"))
        except (ValueError, KeyError, TypeError, AttributeError):
            return self._answer(HTTPStatus.BAD_REQUEST)
        try:
            self.server.append(told)
        except OSError:
            return self._answer(HTTPStatus.INSUFFICIENT_STORAGE)
        return self._answer(HTTPStatus.OK)

    def _answer(self, status: HTTPStatus) -> None:
        self.send_response(status)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - the library's name
        """Stay quiet: what counts is in the file."""


def read_inbox(data: Path, limit: int = 50) -> list[dict[str, str]]:
    """Return the newest alerts in the inbox, newest first; nothing where there is no inbox."""
    try:
        lines = (data / FILE).read_text(encoding="utf-8").splitlines()
    except OSError:
        return []
    found = []
    for line in reversed(lines[-limit:]):
        try:
            found.append({str(name): str(value) for name, value in json.loads(line).items()})
        except (ValueError, AttributeError):
            continue  # a line that a power cut left half written
    return found


def main(arguments: list[str] | None = None) -> int:
    """Run the inbox of a data directory until it is told to stop."""
    parser = argparse.ArgumentParser(prog="python -m holdwatch.demo.inbox", description="The demonstration's inbox.")
    parser.add_argument("--data", type=Path, default=None)
    given = parser.parse_args(arguments)
    try:
        data = load_settings(data=given.data).data
        plan = DemoPlan.load(data)
        if plan is None:
            raise ConfigError(f"{data} holds no demonstration: start it with `holdwatch demo --data {data}`")
        inbox = Inbox(data, plan.inbox_port)
    except HoldwatchError as exc:
        sys.stderr.write(f"{exc}\n")
        return COULD_NOT_START
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: threading.Thread(target=inbox.shutdown).start())
    with inbox:
        inbox.serve_forever(poll_interval=0.2)
    return 0


if __name__ == "__main__":
    sys.exit(main())
