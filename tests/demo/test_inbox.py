"""The demonstration's inbox takes what Apprise posts, and nothing else."""

import http.client
import json
import threading
from collections.abc import Iterator
from pathlib import Path

import apprise
import pytest

from holdwatch.demo.inbox import FILE, LARGEST, Inbox, main, read_inbox
from holdwatch.demo.plan import DemoPlan
from holdwatch.errors import ConfigError


@pytest.fixture
def inbox(tmp_path: Path) -> Iterator[Inbox]:
    """A running inbox on a free port."""
    with Inbox(tmp_path, 0) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        yield server
        server.shutdown()
        thread.join(10)


def post(inbox: Inbox, body: bytes, length: str | None = None) -> int:
    """Post bytes and return the status."""
    connection = http.client.HTTPConnection("127.0.0.1", inbox.server_port, timeout=10)
    try:
        connection.putrequest("POST", "/")
        if length != "":
            connection.putheader("Content-Length", length or str(len(body)))
        connection.endheaders(body)
        return connection.getresponse().status
    finally:
        connection.close()


def test_inbox_takes_what_apprise_sends(inbox: Inbox, tmp_path: Path) -> None:
    """A message by ``json://`` stands in the file, whole, with when it came."""
    carrier = apprise.Apprise()
    assert carrier.add(f"json://127.0.0.1:{inbox.server_port}")
    assert carrier.notify(title="Deviation: Crème anglaise", body="Not at 70 °F in time.")
    (kept,) = read_inbox(tmp_path)
    assert (kept["title"], kept["message"]) == ("Deviation: Crème anglaise", "Not at 70 °F in time.")
    assert kept["received_at"].endswith("Z")


def test_inbox_keeps_the_newest_first(inbox: Inbox, tmp_path: Path) -> None:
    """The screen shows the latest alert at the top, and not more than it asks for."""
    for n in range(5):
        assert post(inbox, json.dumps({"title": str(n), "message": "m"}).encode()) == 200
    assert [kept["title"] for kept in read_inbox(tmp_path, limit=3)] == ["4", "3", "2"]


@pytest.mark.parametrize(
    ("body", "length", "status"),
    [
        (b"no json", None, 400),
        (b"[1]", None, 400),
        (b'{"title": "x"}', None, 400),
        (b"\xff\xfe", None, 400),
        (b"", str(LARGEST + 1), 413),
        (b"", "-1", 413),
        (b"", "many", 411),
        (b"", "", 411),
    ],
)
def test_inbox_refuses_what_is_no_alert(
    inbox: Inbox, tmp_path: Path, body: bytes, length: str | None, status: int
) -> None:
    """A caller is told, and the file stays as it was."""
    assert post(inbox, body, length) == status
    assert read_inbox(tmp_path) == []


def test_inbox_that_cannot_write_does_not_say_taken(inbox: Inbox, tmp_path: Path) -> None:
    """What is not on disk is refused, so that it is sent again."""
    (tmp_path / FILE).mkdir()
    assert post(inbox, b'{"title": "t", "message": "m"}') == 507


def test_read_inbox_passes_over_a_broken_line(tmp_path: Path) -> None:
    """A line that a power cut left half written does not hide the others."""
    (tmp_path / FILE).write_text('{"title": "a"}\n{"title": "b\n3\n', encoding="utf-8")
    assert read_inbox(tmp_path) == [{"title": "a"}]


def test_inbox_port_taken_is_one_line(inbox: Inbox, tmp_path: Path) -> None:
    """A second program on the port is told what to do."""
    with pytest.raises(ConfigError, match=f"port {inbox.server_port}"):
        Inbox(tmp_path, inbox.server_port)


def test_inbox_program_without_demonstration_ends_with_status_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is not started again, and says why."""
    assert main(["--data", str(tmp_path)]) == 2
    assert "holdwatch demo" in capsys.readouterr().err


def test_inbox_program_with_port_taken_ends_with_status_2(
    inbox: Inbox, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As above, where its port is in use."""
    DemoPlan(1, (0,), inbox.server_port).save(tmp_path)
    assert main(["--data", str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
