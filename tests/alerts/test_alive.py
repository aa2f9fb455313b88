"""The call to an outside address, at a real HTTP receiver, with time moved by hand."""

import json
import socket
import threading
from pathlib import Path
from typing import Any

import pytest

from holdwatch.alerts import alive as module
from holdwatch.alerts.alive import Alive, Calls, call, told_calls
from holdwatch.clock import to_iso
from holdwatch.errors import DeliveryError
from holdwatch.storage.chain import head
from holdwatch.storage.engine import Store
from holdwatch.storage.status import report
from holdwatch.storage.tables import Role
from holdwatch.storage.witness import witnessed
from tests.alerts.alert_receivers import Hook, http_receiver
from tests.alerts.conftest import START_MS

MINUTE = 60_000
EVERY = 15 * MINUTE


def _address(hook: Hook) -> str:
    return hook.url.replace("json://", "http://")


def _heard(store: Store, at_ms: int, *, listen: str = "ready", watch: str = "ready") -> None:
    """Let listener and watch report."""
    with store.write() as session:
        report(session, Role.LISTEN, 1, listen, "", {"host": ""}, at_ms)
        report(session, Role.WATCH, 2, watch, "", {"host": ""}, at_ms)


def _calls(store: Store, alive: Alive, at_ms: int, *, heard: bool = True) -> Calls:
    """Go on at an instant, and return how calling goes once the call has ended."""
    if heard:
        _heard(store, at_ms)
    alive.go_on(at_ms)
    alive.finish()
    calls = told_calls(alive.facts())
    assert calls is not None
    return calls


def test_address_is_called_at_the_interval_with_the_head_of_the_chain(store: Store, tmp_path: Path) -> None:
    """At once, then no sooner than the interval; what it gets serves as a line of a witness file."""
    with http_receiver() as hook:
        alive = Alive(store, _address(hook), EVERY)
        for at_ms in (0, MINUTE, EVERY - 5_000, EVERY, EVERY + 10_000, 2 * EVERY):
            calls = _calls(store, alive, START_MS + at_ms)
        assert calls == Calls(ok_ms=START_MS + 2 * EVERY)
        got = [json.loads(body) for body in hook.got]
    assert [one["at"] for one in got] == [to_iso(START_MS + n * EVERY) for n in range(3)]
    with store.read() as session:
        position, digest = head(session)
    assert position > 0
    assert got[-1] == {
        "site": "Linden Street Patisserie",
        "at": to_iso(START_MS + 2 * EVERY),
        "position": position,
        "digest": digest,
    }
    kept = tmp_path / "kept.jsonl"
    kept.write_text("".join(f"{body}\n" for body in hook.got))
    assert list(witnessed(kept))[-1] == digest
    assert alive.state() == ("", "")


@pytest.mark.parametrize(
    ("listen", "watch", "age_ms", "why"),
    [
        ("ready", "ready", MINUTE + 1, "the listener is not heard"),
        ("stopped", "ready", 0, "the listener is not heard"),
        ("ready", "stopped", 0, "the watch is not heard"),
        ("ready", "trouble", 0, "the watch is in trouble"),
    ],
)
def test_address_is_not_called_while_anything_is_unwell(
    sqlite_store: Store, listen: str, watch: str, age_ms: int, why: str
) -> None:
    """An address that is not called is the alarm; it is called again as soon as all is well."""
    with http_receiver() as hook:
        alive = Alive(sqlite_store, _address(hook), EVERY)
        _heard(sqlite_store, START_MS - age_ms, listen=listen, watch=watch)
        assert _calls(sqlite_store, alive, START_MS, heard=False) == Calls(problem=f"not called: {why}")
        assert alive.state() == ("ready", f"the outside address is not called: {why}")
        assert hook.got == []
        assert _calls(sqlite_store, alive, START_MS + 5_000).ok_ms == START_MS + 5_000
        assert len(hook.got) == 1


def test_parts_heard_a_minute_ago_are_well(sqlite_store: Store) -> None:
    """The last instant at which they still are."""
    with http_receiver() as hook:
        alive = Alive(sqlite_store, _address(hook), EVERY)
        _heard(sqlite_store, START_MS - MINUTE)
        assert _calls(sqlite_store, alive, START_MS, heard=False).ok_ms == START_MS


def test_store_where_no_part_ever_ran_calls_nobody(sqlite_store: Store) -> None:
    """Alerts alone are no watch."""
    with http_receiver() as hook:
        assert _calls(sqlite_store, Alive(sqlite_store, _address(hook), EVERY), START_MS, heard=False).ok_ms is None
        assert hook.got == []


def test_refusing_address_is_tried_each_minute_and_comes_back(store: Store) -> None:
    """Since when it fails is kept, also by a process that was started anew."""
    with http_receiver() as hook:
        alive = Alive(store, _address(hook), EVERY)
        assert _calls(store, alive, START_MS).ok_ms == START_MS
        hook.answer = 503
        first = START_MS + EVERY
        for at_ms in (first, first + MINUTE - 5_000, first + MINUTE):
            calls = _calls(store, alive, at_ms)
        assert calls == Calls(START_MS, first, "it answered 503")
        assert alive.state() == ("trouble", "the outside address cannot be reached: it answered 503")
        with store.write() as session:
            report(session, Role.NOTIFY, 3, "trouble", "", {"host": "", **alive.facts()}, first + MINUTE)
        anew = Alive(store, _address(hook), EVERY)
        assert _calls(store, anew, first + 2 * MINUTE).failing_since_ms == first
        hook.answer = 200
        back = first + 3 * MINUTE
        assert _calls(store, anew, back) == Calls(back)
        assert len(hook.got) == 2


def test_failing_address_is_not_believed_away_by_a_silent_watch(sqlite_store: Store) -> None:
    """What failed before the watch fell silent still counts as failing."""
    with http_receiver() as hook:
        hook.answer = 500
        alive = Alive(sqlite_store, _address(hook), EVERY)
        failing = _calls(sqlite_store, alive, START_MS)
        assert _calls(sqlite_store, alive, START_MS + 5 * MINUTE, heard=False) == failing


def test_hanging_address_holds_up_nobody(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Going on returns at once, begins no second call, and the first is given up."""
    monkeypatch.setattr(module, "CALL_TIMEOUT_S", 0.5)
    with http_receiver() as hook:
        hook.hang = threading.Event()
        _heard(sqlite_store, START_MS)
        alive = Alive(sqlite_store, _address(hook), EVERY)
        alive.go_on(START_MS)
        assert told_calls(alive.facts()) == Calls()  # it has not answered, and we are here
        alive.go_on(START_MS + MINUTE)
        alive.finish()
        assert told_calls(alive.facts()) == Calls(failing_since_ms=START_MS, problem="no answer within 0.5 s")


def test_fault_of_ours_is_no_call_that_was_taken(sqlite_store: Store) -> None:
    """Whatever goes wrong, it is told as failing."""

    def faulty(_url: str, _content: dict[str, Any]) -> None:
        raise KeyError

    calls = _calls(sqlite_store, Alive(sqlite_store, "http://x", EVERY, faulty), START_MS)
    assert (calls.ok_ms, calls.failing_since_ms) == (None, START_MS)


def test_address_is_in_no_complaint() -> None:
    """It may be all that somebody needs to silence the alarm."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with pytest.raises(DeliveryError, match=r"^no connection to it$"):
        call(f"http://127.0.0.1:{port}/secret", {})
