"""The door alone: what it does when who stands before it cannot be told."""

import asyncio
from typing import Any

import pytest
from starlette.concurrency import run_in_threadpool

from dashboards import gate, signedin
from holdwatch.errors import StoreBusyError
from holdwatch.language import spoken


async def _inside(_scope: Any, _receive: Any, send: Any) -> None:
    """Stand for the pages."""
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"lots and readings"})


def _ask(kind: str, path: str, inside: Any = _inside) -> list[dict[str, Any]]:
    """Return what the door sends to one request or socket."""
    sent: list[dict[str, Any]] = []

    async def send(message: Any) -> None:
        sent.append(dict(message))

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    scope = {"type": kind, "path": path, "headers": [(b"accept", b"text/html")], "query_string": b"", "method": "GET"}
    asyncio.run(gate.Gate(inside)(scope, receive, send))
    return sent


@pytest.fixture
def unreadable(monkeypatch: pytest.MonkeyPatch) -> None:
    """A store that cannot be read."""

    def busy() -> bool:
        raise StoreBusyError("the store is kept by another process: <wait>")

    monkeypatch.setattr(signedin, "nobody_entered", busy)


@pytest.mark.usefixtures("unreadable")
def test_while_the_store_cannot_be_read_the_door_stays_shut() -> None:
    """And says why; nothing of the pages is reached, and no socket opens."""
    start, body = _ask("http", "/")
    assert start["status"] == 503
    assert b"kept by another process: &lt;wait&gt;" in body["body"]
    assert b"lots and readings" not in body["body"]
    assert [each["type"] for each in _ask("websocket", "/_stcore/stream")] == ["websocket.close"]
    assert _ask("http", "/_stcore/health")[0]["status"] == 200


@pytest.mark.parametrize(("nobody", "status"), [(True, 200), (False, 303)])
def test_the_door_stands_open_until_somebody_is_entered(
    monkeypatch: pytest.MonkeyPatch, nobody: bool, status: int
) -> None:
    """A kitchen that has just begun is not locked out of its own screens."""
    monkeypatch.setattr(signedin, "nobody_entered", lambda: nobody)
    monkeypatch.setattr(signedin, "who", lambda _cookie: None)
    assert _ask("http", "/findings")[0]["status"] == status


async def _says(_scope: Any, _receive: Any, send: Any) -> None:
    """Stand for a plain page, which is written in a thread of its own: say in which language."""
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": (await run_in_threadpool(spoken)).encode()})


def test_the_plain_pages_speak_as_the_site_does(monkeypatch: pytest.MonkeyPatch) -> None:
    """The link of an alert, and the page that asks for the PIN; whoever comes next is spoken to in their own."""
    monkeypatch.setattr(signedin, "who", lambda _cookie: None)
    monkeypatch.setattr(signedin, "scale_of", lambda _signed: "")
    for language in ("es", "fr", "en"):
        monkeypatch.setattr(signedin, "language_of", lambda _signed, said=language: said)
        for path in ("/f/abc", "/r/abc", "/sign-in"):
            assert _ask("http", path, _says)[1]["body"] == language.encode()
    assert spoken() == "en"
