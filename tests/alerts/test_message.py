"""The words of an alert."""

from datetime import UTC, datetime
from typing import Any

import pytest

from holdwatch.alerts.decide import Reason
from holdwatch.alerts.message import CAUTION, TITLE_LENGTH, Message, again, compose, late, trial
from holdwatch.clock import to_ms
from holdwatch.storage.tables import Finding, FindingKind, SiteVersion

NOW = to_ms(datetime(2026, 11, 24, 21, 7, tzinfo=UTC))  # 14:07 in Denver
DUE = to_ms(datetime(2026, 11, 24, 21, 32, tzinfo=UTC))
SITE = SiteVersion(
    from_ms=0,
    name="Linden Street Patisserie",
    timezone="America/Denver",
    limits="us-food-code-2022",
    unit="F",
    by="",
    recorded_ms=0,
)
CLAUSE = "3-501.14(A)(1)"


def _finding(kind: FindingKind = FindingKind.SOON, **changes: Any) -> Finding:
    """Make a custard that is about to miss its first stage."""
    facts = {
        "due_ms": DUE,
        "level_c": (70 - 32) / 1.8,
        "requires": "135 °F to 70 °F within 2 h",
        "process": "cooling",
        "seen_c": (88.2 - 32) / 1.8,
        "seen_ms": NOW - 60_000,
    }
    given: dict[str, Any] = {
        "id": 12,
        "key": "k",
        "kind": kind.value,
        "subject": "batch:1:2",
        "title": "Custard B-0412, vessel 2 of 6",
        "clause": CLAUSE,
        "source": f"FDA Food Code 2022, {CLAUSE}",
        "verdict": "open",
        "reason": "at this rate it will miss 70\u202f°F",
        "since_ms": NOW - 95 * 60_000,
        "opened_ms": NOW,
        "facts": facts,
    }
    return Finding(**(given | changes))


SILENT = _finding(FindingKind.SYSTEM, title="Probe p1 in Walk-in 1", clause="", facts={"process": "signal"})


def test_compose_says_what_since_which_clause_time_left_what_to_do_and_where() -> None:
    """The message about a custard that will miss carries all that is needed at the bench."""
    body = compose(_finding(), SITE, Reason.FIRST, NOW, "http://10.0.0.5:8501/").body
    assert body.splitlines() == [
        "Custard B-0412, vessel 2 of 6: soon.",
        "At this rate it will miss 70 °F.",
        "Since: Tue 24 Nov 12:32 MST (1 h 35 min ago)",
        "Limit: 135 °F to 70 °F within 2 h (FDA Food Code 2022, 3-501.14(A)(1))",
        "Last reading: 88.2 °F at Tue 24 Nov 14:06 MST",
        "Time left: 25 min, until Tue 24 Nov 14:32 MST to reach 70 °F",
        (
            "Do: Cool it faster now: split it into shallow pans, stir it in an ice bath, or use the blast chiller. "
            "The pan is hot: use dry gloves and two hands, and keep splashes and steam off your skin. "
            "Note the move on the batch."
        ),
        "Open: http://10.0.0.5:8501/findings?finding=12",
        f"Linden Street Patisserie. {CAUTION}",
    ]


@pytest.mark.parametrize(
    ("finding", "reason", "title"),
    [
        (_finding(), Reason.FIRST, "Soon: Custard B-0412, vessel 2 of 6 – 25 min left to 70 °F"),
        (
            _finding(FindingKind.DEVIATION),
            Reason.WORSE,
            f"Deviation: Custard B-0412, vessel 2 of 6 – {CLAUSE}, for 1 h 35 min",
        ),
        (
            _finding(FindingKind.NOT_SHOWN, since_ms=NOW - 30_000),
            Reason.FIRST,
            f"Not shown: Custard B-0412, vessel 2 of 6 – {CLAUSE}",
        ),
        (_finding(closed_ms=NOW), Reason.CLOSED, "No longer: Custard B-0412, vessel 2 of 6 – soon"),
        (
            _finding(FindingKind.SYSTEM, title="Probe p1 is silent", clause=""),
            Reason.FIRST,
            "Check: Probe p1 is silent – for 1 h 35 min",
        ),
    ],
)
def test_compose_title_helps_on_a_locked_phone(finding: Finding, reason: Reason, title: str) -> None:
    """Kind, subject and the figure that matters stand in the subject line."""
    assert compose(finding, SITE, reason, NOW, "http://x").title == title


def test_compose_long_name_keeps_title_short_and_clause_whole() -> None:
    """A name of 200 characters is cut; the clause is not."""
    title = compose(_finding(FindingKind.DEVIATION, title="x" * 200), SITE, Reason.FIRST, NOW, "http://x").title
    assert len(title) == TITLE_LENGTH
    assert title.endswith(f"… – {CLAUSE}, for 1 h 35 min")


def test_compose_line_end_in_a_name_starts_no_line_and_no_header() -> None:
    """A name cannot put a line of its own into a message."""
    message = compose(_finding(title="Flan\r\nBcc: x@y.example\u2028Do: eat it"), SITE, Reason.FIRST, NOW, "http://x")
    assert "\n" not in message.title
    assert "\r" not in message.title
    assert not any(line.startswith(("Bcc", "Do: eat")) for line in message.body.splitlines())


def test_compose_in_celsius_for_a_site_that_reads_celsius() -> None:
    """Temperatures of readings and levels follow the site's unit."""
    site = SiteVersion(**(SITE.model_dump() | {"unit": "C"}))
    body = compose(_finding(), site, Reason.FIRST, NOW, "http://x").body
    assert "31.2 °C at" in body
    assert "to reach 21.1 °C" in body


def test_compose_missed_says_since_when_the_time_is_up_and_never_safe() -> None:
    """A missed custard is set apart, and reheating is not offered as a cure."""
    body = compose(_finding(FindingKind.DEVIATION), SITE, Reason.FIRST, DUE + 60_000, "http://x").body
    assert "Time left: none, it was up at Tue 24 Nov 14:32 MST" in body
    assert "Do not serve it. Keep it apart" in body
    assert "some toxins survive heat" in body
    assert "safe" not in body.lower()


def test_compose_closed_is_short_and_says_why() -> None:
    """What is over takes no more than a glance."""
    finding = _finding(closed_ms=NOW, close_reason="70 °F was reached at 14:05")
    body = compose(finding, SITE, Reason.CLOSED, NOW, "http://x").body
    assert body.splitlines()[:3] == [
        "Custard B-0412, vessel 2 of 6: no longer soon.",
        "70 °F was reached at 14:05.",
        "Over since: Tue 24 Nov 14:07 MST",
    ]


def test_compose_without_facts_still_says_what_to_do() -> None:
    """A fault of the system has no limit, no level and no time left."""
    finding = _finding(FindingKind.SYSTEM, subject="system:clock", facts={}, clause="", source="", title="The clock")
    body = compose(finding, SITE, Reason.FIRST, NOW, "http://x").body
    assert "holdwatch checkup" in body
    assert "Limit" not in body
    assert "Time left" not in body


def test_compose_silent_probe_asks_for_hand_readings() -> None:
    """While a probe is silent, only a hand reading can show anything."""
    finding = _finding(FindingKind.SYSTEM, subject="probe:3", facts={"process": "signal"})
    assert "by hand and note it on the batch" in compose(finding, SITE, Reason.FIRST, NOW, "http://x").body


def test_trial_says_that_nothing_is_wrong() -> None:
    """A trial message alarms nobody."""
    message = trial(SITE, "mgr", NOW)
    assert message.title == "Trial: Linden Street Patisserie can reach mgr"
    assert "Nothing is wrong" in message.body


@pytest.mark.parametrize("kind", list(FindingKind))
@pytest.mark.parametrize("reason", [Reason.FIRST, Reason.WORSE, Reason.CHANGED])
@pytest.mark.parametrize("mark", ["", "again", "late", "both"])
def test_first_80_characters_say_which_batch_what_and_how_long(kind: FindingKind, reason: Reason, mark: str) -> None:
    """Every kind, with a due time and without, first or again or late, with a clause as long as any in a code."""
    said = {"soon": "Soon", "deviation": "Deviation", "not-shown": "Not shown", "system": "Check"}[kind.value]
    for facts in ({}, {"due_ms": DUE, "level_c": 5.0}):
        finding = _finding(kind, title="Crème anglaise L-0412", clause="3-501.16(A)(2)", facts=facts)
        message = compose(finding, SITE, reason, NOW, "http://x")
        message = late(message, 65 * 60_000) if mark in {"late", "both"} else message
        message = again(message) if mark in {"again", "both"} else message
        shown = message.title[:TITLE_LENGTH]
        assert shown == message.title
        assert said in shown
        assert "Crème" in shown
        assert "25 min left" in shown or "for 1 h 35 min" in shown


def test_marked_messages_keep_their_end() -> None:
    """What has no room is taken from the middle."""
    message = Message("Deviation: " + "x" * 45 + " – 3-501.14, for 20 min", "Body.")
    assert again(message).title == "Again: Deviation: " + "x" * 38 + "… – 3-501.14, for 20 min"
    assert len(again(message).title) == TITLE_LENGTH
    assert late(message, 3_600_000).body.endswith("It tells how things stood then.\nBody.")
