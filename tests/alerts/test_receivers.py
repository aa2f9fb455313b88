"""Real receivers that misbehave: one refuses, one hangs, one is down for an hour; nobody else waits, nothing is lost."""

import json
import threading
import time

from holdwatch.alerts.carrier import send
from holdwatch.alerts.message import Message
from holdwatch.alerts.notify import deliver_due
from holdwatch.alerts.sending import Outbox
from holdwatch.storage.engine import Store
from holdwatch.storage.tables import AlertState
from tests.alerts.alert_receivers import http_receiver, smtp_receiver
from tests.alerts.conftest import START_MS
from tests.alerts.test_notify import HOUR, MINUTE, _alert, _even, _queue

GIVEN_UP_S = 1.0


def _send(url: str, message: Message) -> None:
    """Send as the role does, giving up after a second instead of after 15."""
    send(url, message, timeout_s=GIVEN_UP_S)


def test_one_refuses_one_hangs_and_the_third_waits_for_neither(store: Store) -> None:
    """Whoever's channel works has all messages while the hanging one is still waited for; it is given up in time."""
    titles = tuple(f"Pan {number}" for number in range(12))
    with http_receiver() as refuses, http_receiver() as hangs, smtp_receiver() as works:
        refuses.answer, hangs.hang = 500, threading.Event()
        _queue(store, {"hangs": hangs.url, "refuses": refuses.url, "works": works.url}, titles)
        outbox = Outbox(store, _send, lambda: START_MS, jitter=_even)
        began = time.monotonic()
        outbox.start()
        while len(works.got) < len(titles) and time.monotonic() - began < 60:
            outbox.start()
            time.sleep(0.01)
        others_s = time.monotonic() - began
        outbox.finish()
        whole_s = time.monotonic() - began
        outbox.close()
        assert len(works.got) == len(titles)
        assert refuses.got == hangs.got == []
        assert whole_s < GIVEN_UP_S + others_s + 10
    assert "did not finish within" in _alert(store, 1).last_error
    assert _alert(store, 1).state == AlertState.WAITING
    assert "500" in _alert(store, 2).last_error


def test_a_hanging_receiver_is_asked_again_without_holding_up_what_comes_later(store: Store) -> None:
    """While the first round still waits for the one that hangs, the next look sends to the others."""
    gate = threading.Event()
    got: list[str] = []

    def sending(url: str, message: Message) -> None:
        if "hangs" in url:
            gate.wait(20)
        else:
            got.append(message.title)

    _queue(store, {"a": "json://hangs.example", "b": "json://works.example"}, ("Pan 1",))
    outbox = Outbox(store, sending, lambda: START_MS, jitter=_even)
    outbox.start()
    _queue(store, {}, ("Pan 2",))
    began = time.monotonic()
    while len(got) < 2 and time.monotonic() - began < 10:
        outbox.start()
        time.sleep(0.01)
    assert len(got) == 2
    assert not gate.is_set()
    gate.set()
    outbox.finish()
    outbox.close()
    outbox = Outbox(store, sending, lambda: START_MS, jitter=_even)
    outbox.start()  # what came later for the first contact is sent at its next look
    outbox.finish()
    outbox.close()
    assert len({_alert(store, number).state for number in (1, 2, 3, 4)}) == 1


def test_a_receiver_that_is_down_for_an_hour_gets_everything_once_and_is_told_that_it_is_late(
    store: Store,
) -> None:
    """The server is really stopped, and really started again; the clock is passed in."""
    with http_receiver() as hook:
        port, url = int(hook.url.split(":")[2].split("/")[0]), f"{hook.url}?rto=1&cto=1"
        _queue(store, {"mgr": url}, ("Pan 1",))
        assert deliver_due(store, send, START_MS) == 1
    _queue(store, {}, ("Pan 2", "Pan 3"))
    now_ms = START_MS
    while now_ms < START_MS + HOUR:
        assert deliver_due(store, send, now_ms, jitter=_even) == 0
        now_ms += MINUTE
    assert 5 < _alert(store, 2).attempts < 25
    with http_receiver(port) as back:
        while now_ms < START_MS + 3 * HOUR:
            deliver_due(store, send, now_ms, jitter=_even)
            now_ms += MINUTE
        titles = [json.loads(body)["title"] for body in back.got]
    assert [title.partition(": ")[2] for title in titles] == [
        "Deviation: Pan 2 – 3-501.14(A)(1)",
        "Deviation: Pan 3 – 3-501.14(A)(1)",
    ]
    assert all(title.startswith("Late ") for title in titles)
    assert _alert(store, 3).sent_ms == _alert(store, 2).sent_ms
    assert [_alert(store, number).state for number in (1, 2, 3)] == [AlertState.SENT] * 3
