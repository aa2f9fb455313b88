"""Passing on, ending and reminding, with the clock passed in and the messages really composed."""

from dataclasses import dataclass, field

import pytest

from holdwatch.alerts.acts import act
from holdwatch.alerts.decide import Reason, not_needed
from holdwatch.alerts.message import TITLE_LENGTH, Message
from holdwatch.alerts.notify import deliver_due
from holdwatch.alerts.queue import queue_alerts
from holdwatch.alerts.reminders import remind
from holdwatch.errors import DeliveryError
from holdwatch.people.handling import Act, Disposition, Handling, Stage
from holdwatch.storage.contacts import add_contact, contact_named
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import change_finding, finding_by_key, open_finding
from holdwatch.storage.handling import Signer
from holdwatch.storage.outbox import alerts_of, waiting_alerts
from holdwatch.storage.routes import add_route
from holdwatch.storage.tables import Finding, FindingKind
from tests.alerts.conftest import START_MS

MINUTE = 60_000
BASE_URL = "http://127.0.0.1:8501"
TOMAS = Signer("Tomas Ek")


@dataclass
class Phones:
    """Takes every message, and remembers to whom it went; `down` lists who cannot be reached."""

    got: list[tuple[str, Message]] = field(default_factory=list)
    down: set[str] = field(default_factory=set)

    def __call__(self, url: str, message: Message) -> None:
        """Take a message, or not."""
        name = url.removeprefix("json://")
        if name in self.down:
            raise DeliveryError("no answer", retryable=True)
        self.got.append((name, message))

    def said(self) -> list[tuple[str, str]]:
        """Return (who, first word of the title) of what came, a contact's in their order, and forget it."""
        found = sorted(((name, message.title.partition(":")[0]) for name, message in self.got), key=lambda one: one[0])
        self.got.clear()
        return found


@pytest.fixture
def kitchen(store: Store) -> Store:
    """A cook who is told at once, a manager after 15 min, an owner after 45 min, and a deviation."""
    with store.write() as session:
        for name, after_min in (("cook", 0), ("manager", 15), ("owner", 45)):
            contact = add_contact(session, name, f"json://{name}", now_ms=START_MS, by="ana")
            if after_min:
                add_route(session, contact, after_ms=after_min * MINUTE, now_ms=START_MS, by="ana")
        finding = open_finding(
            session,
            key="custard",
            kind=FindingKind.DEVIATION,
            subject="batch:1:1",
            title="Custard B-0412",
            reason="70 °F was not reached",
            since_ms=START_MS,
            now_ms=START_MS,
            clause="3-501.14(A)(1)",
            verdict="missed",
        )
        queue_alerts(session, finding, None, START_MS, BASE_URL)
    return store


def _send(store: Store, phones: Phones, after_min: float) -> list[tuple[str, str]]:
    deliver_due(store, phones, START_MS + int(after_min * MINUTE), jitter=lambda: 0.5)
    return phones.said()


def _act(store: Store, done: Act, after_min: float, **more: object) -> Handling:
    with store.write() as session:
        at_ms = START_MS + int(after_min * MINUTE)
        return act(session, _finding_in(session), done, TOMAS, at_ms=at_ms, now_ms=at_ms, base_url=BASE_URL, **more)


def _finding_in(session: object) -> Finding:
    found = finding_by_key(session, "custard")  # type: ignore[arg-type]
    assert found is not None
    return found


def _states(store: Store) -> list[tuple[int, str, str, str]]:
    with store.read() as session:
        found = alerts_of(session, _finding_in(session).id or 0)
        return [(alert.contact_id, alert.reason, alert.state, alert.last_error) for alert in found]


def test_it_is_passed_on_while_nobody_has_seen_it(kitchen: Store) -> None:
    """Cook at once, manager after a quarter of an hour, owner after three; each message says why it comes."""
    phones = Phones()
    assert _send(kitchen, phones, 0) == [("cook", "Deviation")]
    assert _send(kitchen, phones, 14.9) == []
    deliver_due(kitchen, phones, START_MS + 15 * MINUTE)
    ((name, message),) = phones.got
    assert name == "manager"
    assert "nobody has said to have seen it for 15 min" in message.body
    assert "(15 min ago)" in message.body
    phones.said()
    assert _send(kitchen, phones, 45) == [("owner", "Deviation")]
    with kitchen.read() as session:
        assert waiting_alerts(session) == []


def test_once_seen_it_is_passed_on_no_further(kitchen: Store) -> None:
    """What was not sent says why."""
    phones = Phones()
    _send(kitchen, phones, 0)
    _act(kitchen, Act.SEEN, 10)
    assert _send(kitchen, phones, 60) == []
    assert _states(kitchen) == [
        (1, "first", "sent", ""),
        (2, "first", "not-needed", "Tomas Ek has seen it"),
        (3, "first", "not-needed", "Tomas Ek has seen it"),
    ]


def test_whoever_was_told_is_told_by_whom_it_was_handled(kitchen: Store) -> None:
    """And nobody who had not heard of it."""
    phones = Phones()
    _send(kitchen, phones, 15)
    _act(kitchen, Act.ACTION, 20, disposition=Disposition.DISCARD, text="all six pans")
    deliver_due(kitchen, phones, START_MS + 21 * MINUTE)
    assert sorted((name, message.title) for name, message in phones.got) == [
        ("cook", "Handled: Custard B-0412 – discard by Tomas Ek"),
        ("manager", "Handled: Custard B-0412 – discard by Tomas Ek"),
    ]
    assert all(len(message.title) <= TITLE_LENGTH for _, message in phones.got)
    phones.said()
    assert _send(kitchen, phones, 120) == []
    assert _states(kitchen)[2][2:] == ("not-needed", "Tomas Ek has handled it")


def test_food_held_for_the_manager_is_told_at_once(kitchen: Store) -> None:
    """Nobody waits for a quarter of an hour to be asked."""
    phones = Phones()
    _send(kitchen, phones, 0)
    _act(kitchen, Act.HOLD, 2, text="two pans in the reach-in")
    assert _send(kitchen, phones, 2.1) == [
        ("cook", "For you to decide"),
        ("manager", "For you to decide"),
        ("owner", "For you to decide"),
    ]
    assert _send(kitchen, phones, 120) == []


def test_a_deviation_that_the_channel_did_not_take_is_told_though_it_was_handled(kitchen: Store) -> None:
    """An alert that was due at once is delivered, however late."""
    phones = Phones(down={"cook"})
    assert _send(kitchen, phones, 0) == []
    _act(kitchen, Act.ACTION, 5, disposition=Disposition.DISCARD)
    phones.down.clear()
    assert _send(kitchen, phones, 10) == [("cook", "Late 10 min"), ("cook", "Late 5 min")]


def test_what_gets_worse_is_told_again_and_passed_on_again(store: Store) -> None:
    """A new turn; whoever had seen the warning has not seen the deviation."""
    phones = Phones()
    with store.write() as session:
        add_contact(session, "cook", "json://cook", now_ms=START_MS, by="ana")
        manager = add_contact(session, "manager", "json://manager", now_ms=START_MS, by="ana")
        session.flush()
        add_route(session, manager, after_ms=15 * MINUTE, now_ms=START_MS, by="ana")
        finding = open_finding(
            session,
            key="custard",
            kind=FindingKind.SOON,
            subject="batch:1:1",
            title="Custard B-0412",
            reason="it will miss",
            since_ms=START_MS,
            now_ms=START_MS,
            verdict="open",
        )
        queue_alerts(session, finding, None, START_MS, BASE_URL)
    assert _send(store, phones, 0) == [("cook", "Soon")]
    _act(store, Act.SEEN, 5)
    assert _send(store, phones, 16) == []
    with store.write() as session:
        finding = _finding_in(session)
        change_finding(session, finding, kind=FindingKind.DEVIATION, verdict="missed", now_ms=START_MS + 30 * MINUTE)
        queue_alerts(session, finding, ("soon", "open"), START_MS + 30 * MINUTE, BASE_URL)
    assert _send(store, phones, 30) == [("cook", "Deviation")]
    assert _send(store, phones, 45) == [("manager", "Deviation")]


def test_a_new_wording_begins_no_new_wait(kitchen: Store) -> None:
    """A finding that changes every ten minutes is passed on all the same."""
    phones = Phones()
    _send(kitchen, phones, 0)
    for after_min, verdict in ((10, "unproven"), (14, "missed")):
        with kitchen.write() as session:
            finding = _finding_in(session)
            before = (finding.kind, finding.verdict)
            change_finding(session, finding, verdict=verdict, now_ms=START_MS + after_min * MINUTE)
            queue_alerts(session, finding, before, START_MS + after_min * MINUTE, BASE_URL)
        _send(kitchen, phones, after_min)
    assert _send(kitchen, phones, 15) == [("manager", "Deviation")]


def test_a_promised_check_that_is_due_is_told_once_and_passed_on(kitchen: Store) -> None:
    """The cook first, the manager when it stays due; recorded in time nobody is told."""
    phones = Phones()
    _send(kitchen, phones, 0)
    _act(kitchen, Act.PROMISE, 5, disposition=Disposition.RE_CHILL, check_ms=START_MS + 25 * MINUTE)
    assert remind(kitchen, START_MS + 24 * MINUTE, BASE_URL) == 0
    assert remind(kitchen, START_MS + 25 * MINUTE, BASE_URL) == 1
    assert remind(kitchen, START_MS + 26 * MINUTE, BASE_URL) == 0
    assert _send(kitchen, phones, 26) == [("cook", "Look again")]
    assert _send(kitchen, phones, 40) == [("manager", "Look again")]
    _act(kitchen, Act.CHECK_KEPT, 50)
    assert _send(kitchen, phones, 51) == [("cook", "Handled"), ("manager", "Handled")]
    assert _send(kitchen, phones, 200) == []  # the owner's part of it is no longer needed
    assert _states(kitchen)[2][2:] == ("not-needed", "Tomas Ek has handled it")


def test_a_second_promise_is_watched_as_the_first(kitchen: Store) -> None:
    """Each promise is told once."""
    for after_min in (5, 40):
        at_ms = START_MS + (after_min + 20) * MINUTE
        _act(kitchen, Act.PROMISE, after_min, disposition=Disposition.RE_CHILL, check_ms=at_ms)
        assert remind(kitchen, at_ms, BASE_URL) == 1


def test_the_owner_has_hours(kitchen: Store) -> None:
    """By the site's clock at which it would ring: 45 min after the start it is 10:15 there."""
    with kitchen.write() as session:
        owner = contact_named(session, "owner")
        add_route(session, owner, from_min=0, to_min=60, now_ms=START_MS, by="ana")
        finding = _finding_in(session)
        change_finding(session, finding, verdict="unproven", now_ms=START_MS)
        queue_alerts(session, finding, ("deviation", "missed"), START_MS, BASE_URL)
        waits = {alert.contact_id: alert.wait_ms for alert in waiting_alerts(session)}
    assert waits == {1: 0, 2: 15 * MINUTE, 3: 45 * MINUTE}


@pytest.mark.parametrize(
    ("reason", "wait_ms", "stage", "dropped"),
    [
        (Reason.FIRST, 0, Stage.HANDLED, False),  # due at once: delivered, however late
        (Reason.FIRST, 1, Stage.UNSEEN, False),
        (Reason.FIRST, 1, Stage.SEEN, True),
        (Reason.FIRST, 1, Stage.PROMISED, True),
        (Reason.FIRST, 1, Stage.HELD, False),  # the manager is who it waits for
        (Reason.WORSE, 1, Stage.HANDLED, True),
        (Reason.CHANGED, 1, Stage.VERIFIED, True),
        (Reason.HELD, 1, Stage.HANDLED, False),
        (Reason.HANDLED, 1, Stage.VERIFIED, False),
        (Reason.CHECK_DUE, 0, Stage.HANDLED, True),
        (Reason.CHECK_DUE, 1, Stage.PROMISED, False),
    ],
)
def test_what_is_dropped_and_what_never_is(reason: Reason, wait_ms: int, stage: Stage, dropped: bool) -> None:
    """Only what waited for somebody is ever dropped."""
    now = Handling(stage, check_ms=5 if stage is Stage.PROMISED else None)
    assert bool(not_needed(reason, wait_ms, now)) == dropped
