"""What rings at night, what waits for the opening, and silent probes of a dead broker."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import select

from holdwatch.alerts.decide import Reason
from holdwatch.alerts.hold import Quiet, can_help, opening_ms
from holdwatch.alerts.message import TITLE_LENGTH, Message
from holdwatch.alerts.notify import deliver_due
from holdwatch.alerts.queue import queue_alerts
from holdwatch.clock import to_ms
from holdwatch.errors import DeliveryError
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import close_finding, finding_numbered, open_finding
from holdwatch.storage.register import set_site
from holdwatch.storage.tables import Alert, Finding, FindingKind

ZONE = "America/Denver"
QUIET = Quiet(22 * 60, 5 * 60)
MINUTE, HOUR = 60_000, 3_600_000
SOON, DEVIATION, NOT_SHOWN, SYSTEM = FindingKind.SOON, FindingKind.DEVIATION, FindingKind.NOT_SHOWN, FindingKind.SYSTEM


def _at(day: int, hour: int, minute: int = 0) -> int:
    """Return an instant of November 2026 by Denver's clock."""
    return to_ms(datetime(2026, 11, day, hour, minute, tzinfo=ZoneInfo(ZONE)))


NIGHT = _at(28, 2)


class Phone:
    """What a phone shows; it can be out of reach."""

    def __init__(self) -> None:
        self.got: list[Message] = []
        self.down = False

    def __call__(self, url: str, message: Message) -> None:
        """Show a message."""
        assert url
        if self.down:
            raise DeliveryError("no answer", retryable=True)
        self.got.append(message)

    def titles(self) -> list[str]:
        """Return the titles that came, and forget them."""
        found = [message.title for message in self.got]
        self.got.clear()
        return found


@pytest.fixture
def kitchen(store: Store) -> Store:
    """One manager who is told of everything, and hours that are quiet."""
    with store.write() as session:
        set_site(session, from_ms=_at(27, 12), now_ms=_at(27, 12), by="ana", quiet="22-5")
        add_contact(session, "manager", "json://manager", now_ms=_at(27, 12), by="ana")
    return store


def _found(store: Store, title: str, kind: FindingKind, process: str, now_ms: int = NIGHT, **more: Any) -> int:
    """Open a finding, and queue what it causes."""
    facts = {"process": process, **more.pop("facts", {})}
    with store.write() as session:
        given = {"subject": f"batch:{title}:1", "verdict": "missed"} | more
        finding = open_finding(
            session, key=title, kind=kind, title=title, reason="r", since_ms=now_ms, now_ms=now_ms, facts=facts, **given
        )
        queue_alerts(session, finding, None, now_ms, "http://127.0.0.1:8501")
        return finding.id or 0


def _close(store: Store, number: int, before: tuple[str, str], now_ms: int) -> None:
    with store.write() as session:
        finding = finding_numbered(session, number)
        close_finding(session, finding, reason="over", now_ms=now_ms)
        queue_alerts(session, finding, before, now_ms, "http://127.0.0.1:8501")


def _send(store: Store, phone: Phone, now_ms: int) -> list[str]:
    deliver_due(store, phone, now_ms, base_url="http://127.0.0.1:8501", jitter=lambda: 0.5)
    return phone.titles()


@pytest.mark.parametrize(
    ("quiet", "at_ms", "opens_ms"),
    [
        (QUIET, _at(27, 21, 59), None),
        (QUIET, _at(27, 22), _at(28, 5)),
        (QUIET, _at(28, 0), _at(28, 5)),
        (QUIET, _at(28, 4, 59), _at(28, 5)),
        (QUIET, _at(28, 5), None),
        (Quiet(60, 240), _at(28, 0, 59), None),
        (Quiet(60, 240), _at(28, 1), _at(28, 4)),
        (Quiet(60, 240), _at(28, 4), None),
        (Quiet(22 * 60, 0), _at(28, 23), _at(29, 0)),
        (Quiet(22 * 60, 0), _at(28, 0), None),
        (QUIET, _at(1, 0, 30), _at(1, 5)),  # the clocks go back at 02:00: 05:00 is still 05:00
    ],
)
def test_when_the_kitchen_opens(quiet: Quiet, at_ms: int, opens_ms: int | None) -> None:
    """Both ends, over midnight and within a day, and the night in which an hour comes twice."""
    assert opening_ms(quiet, ZONE, at_ms) == opens_ms


@pytest.mark.parametrize(
    ("kind", "process", "more", "rings"),
    [
        (SOON, "cooling", {}, True),  # an ice bath still helps
        (SOON, "cold-holding", {"unit_id": 3}, True),  # a unit drifts
        (SOON, "date-marking", {}, False),
        (SOON, "time-control-4h", {}, False),
        (DEVIATION, "cooling", {}, False),  # no way back
        (DEVIATION, "ambient-cooling", {}, False),
        (DEVIATION, "reheating", {}, False),
        (DEVIATION, "cumulative-time", {}, False),
        (DEVIATION, "date-marking", {}, False),
        (DEVIATION, "cook-eggs", {}, True),  # cook on
        (DEVIATION, "hot-holding", {}, True),
        (DEVIATION, "cold-holding", {"unit_id": 3}, True),  # a unit has failed
        (DEVIATION, "cold-holding", {"unit_id": 3, "closed_ms": 1}, False),  # it is over
        (NOT_SHOWN, "signal", {"subject": "probe:7"}, True),  # silent now
        (NOT_SHOWN, "signal", {"subject": "probe:7", "closed_ms": 1}, False),
        (NOT_SHOWN, "cooling", {"facts": {"due_ms": NIGHT + 1}}, True),  # a hand reading still shows it
        (NOT_SHOWN, "cooling", {"facts": {"due_ms": NIGHT}}, False),
        (NOT_SHOWN, "cooling", {}, False),
        (SYSTEM, "", {"subject": "system:broker"}, True),
        (SYSTEM, "", {"subject": "reminder:unsigned"}, False),
    ],
)
def test_what_rings_at_night(kind: FindingKind, process: str, more: dict[str, Any], rings: bool) -> None:
    """A table of its own: what somebody who is woken can still do."""
    facts = {"process": process, **more.pop("facts", {})}
    given = {"subject": "batch:1:1"} | more
    finding = Finding(key="k", kind=kind.value, title="t", reason="r", since_ms=0, opened_ms=0, facts=facts, **given)
    assert can_help(finding, Reason.FIRST, NIGHT) is rings
    assert can_help(finding, Reason.WORSE, NIGHT) is rings
    assert can_help(finding, Reason.CHECK_DUE, NIGHT)
    assert not any(can_help(finding, reason, NIGHT) for reason in (Reason.CLOSED, Reason.HANDLED, Reason.HELD))


def test_what_waits_comes_at_the_opening_as_one_message(kitchen: Store) -> None:
    """Nothing at night, one message at 05:00 that names each, nothing again afterwards."""
    phone = Phone()
    _found(kitchen, "Custard B-0412", DEVIATION, "cooling", clause="3-501.14(A)(1)")
    _found(kitchen, "Walk-in 1", DEVIATION, "cold-holding")
    _found(kitchen, "Choux B-0413", DEVIATION, "cooling")
    assert _send(kitchen, phone, NIGHT) == ["Deviation: Walk-in 1"]
    for minute in range(0, 180, 20):
        assert _send(kitchen, phone, NIGHT + minute * MINUTE) == []
    deliver_due(kitchen, phone, _at(28, 5), base_url="http://127.0.0.1:8501")
    (message,) = phone.got
    assert message.title == "Overnight, 2 messages: Deviation: Custard B-0412 – 3-501.14(A)(1)"
    assert "1. Deviation: Custard B-0412 – 3-501.14(A)(1)." in message.body
    assert "2. Deviation: Choux B-0413." in message.body
    assert message.body.count("Open: http://127.0.0.1:8501/f/") == 2
    assert "Late" not in message.title
    phone.got.clear()
    assert _send(kitchen, phone, _at(28, 6)) == []
    with kitchen.read() as session:
        assert {alert.state for alert in session.exec(select(Alert))} == {"sent"}


def test_one_alone_comes_at_the_opening_as_it_is(kitchen: Store) -> None:
    """Nothing to gather."""
    phone = Phone()
    _found(kitchen, "Custard B-0412", DEVIATION, "cooling")
    assert _send(kitchen, phone, NIGHT) == []
    assert _send(kitchen, phone, _at(28, 5)) == ["Deviation: Custard B-0412"]


def test_a_deviation_that_ends_at_night_is_still_told_and_said_to_be_over(kitchen: Store) -> None:
    """What waited is never dropped."""
    phone = Phone()
    for title in ("Pan 1", "Pan 2"):
        number = _found(kitchen, title, DEVIATION, "cooling")
        assert _send(kitchen, phone, NIGHT) == []
        _close(kitchen, number, ("deviation", "missed"), NIGHT + HOUR)
    deliver_due(kitchen, phone, _at(28, 5), base_url="http://x")
    assert "1. Deviation: Pan 1. It is over." in phone.got[0].body
    assert "2. Deviation: Pan 2. It is over." in phone.got[0].body


def test_the_morning_message_is_tried_again_as_one_and_lost_by_no_failure(kitchen: Store) -> None:
    """A phone that is out of reach at the opening gets it when it is back, once."""
    phone = Phone()
    for title in ("Pan 1", "Pan 2", "Pan 3"):
        _found(kitchen, title, DEVIATION, "cooling")
    _send(kitchen, phone, NIGHT)
    phone.down = True
    assert _send(kitchen, phone, _at(28, 5)) == []
    phone.down = False
    assert _send(kitchen, phone, _at(28, 5) + 10 * MINUTE) == ["Late 10 min: Overnight, 3 messages: Deviation: Pan 1"]


def test_without_quiet_hours_everything_rings(kitchen: Store) -> None:
    """Nobody asks for silence any more: what is in force when it would ring counts."""
    phone = Phone()
    with kitchen.write() as session:
        set_site(session, from_ms=NIGHT - HOUR, now_ms=NIGHT - HOUR, by="ana", quiet="")
    _found(kitchen, "Custard B-0412", DEVIATION, "cooling")
    deliver_due(kitchen, phone, NIGHT)
    assert phone.titles() == ["Deviation: Custard B-0412"]


def test_many_mornings_fit_a_locked_screen(kitchen: Store) -> None:
    """However long a name is."""
    phone = Phone()
    for number in range(3):
        _found(kitchen, f"Crème pâtissière à la vanille Bourbon {number} " * 3, DEVIATION, "cooling")
    _send(kitchen, phone, NIGHT)
    (title,) = _send(kitchen, phone, _at(28, 5))
    assert len(title) <= TITLE_LENGTH


def test_a_dead_broker_is_one_message_not_forty(kitchen: Store) -> None:
    """The probes that it silences are told only where they stay silent once it is back."""
    phone, noon = Phone(), _at(28, 12)
    broker = _found(kitchen, "The broker", SYSTEM, "", noon, subject="system:broker", verdict="")
    silent = [
        _found(kitchen, f"Probe {n}", NOT_SHOWN, "signal", noon + 4 * MINUTE, subject=f"probe:{n}", verdict="")
        for n in range(40)
    ]
    assert _send(kitchen, phone, noon + 4 * MINUTE) == ["Check: The broker"]
    for minute in range(6, 60, 3):
        assert _send(kitchen, phone, noon + minute * MINUTE) == []
    _close(kitchen, broker, ("system", ""), noon + HOUR)
    for number in silent[1:]:
        _close(kitchen, number, ("not-shown", ""), noon + HOUR + 10_000)
    told = _send(kitchen, phone, noon + HOUR) + _send(kitchen, phone, noon + HOUR + 3 * MINUTE)
    assert sorted(told) == ["No longer: The broker – check", "Silent: Probe 0"]
