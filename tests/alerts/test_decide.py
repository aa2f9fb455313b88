"""When a change of a finding is worth a message."""

import pytest

from holdwatch.alerts.decide import Reason, Told, decide
from holdwatch.storage.tables import FindingKind

SOON, DEVIATION, NOT_SHOWN, SYSTEM = FindingKind.SOON, FindingKind.DEVIATION, FindingKind.NOT_SHOWN, FindingKind.SYSTEM


@pytest.mark.parametrize("kind", list(FindingKind))
def test_decide_new_finding_tells_first(kind: FindingKind) -> None:
    """Whatever is found is told once."""
    assert decide(None, Told(kind, "open")) is Reason.FIRST


@pytest.mark.parametrize(
    ("kind", "reason"),
    [(DEVIATION, Reason.FIRST), (NOT_SHOWN, Reason.FIRST), (SOON, Reason.NONE), (SYSTEM, Reason.NONE)],
)
def test_decide_found_already_over_tells_only_what_stays_true(kind: FindingKind, reason: Reason) -> None:
    """A burst of old readings tells of a deviation that is over, but warns of nothing that has passed."""
    assert decide(None, Told(kind, "missed", over=True)) is reason


@pytest.mark.parametrize(
    ("before", "now", "reason"),
    [
        (Told(SOON, "open"), Told(DEVIATION, "missed"), Reason.WORSE),
        (Told(SOON, "open"), Told(NOT_SHOWN, "unproven"), Reason.WORSE),
        (Told(NOT_SHOWN, "unproven"), Told(DEVIATION, "missed"), Reason.WORSE),
        (Told(DEVIATION, "missed"), Told(NOT_SHOWN, "unproven"), Reason.CHANGED),
        (Told(SOON, "open"), Told(SOON, "unproven"), Reason.CHANGED),
        (Told(DEVIATION, "missed"), Told(DEVIATION, "missed"), Reason.NONE),
    ],
)
def test_decide_change_of_kind_or_verdict_tells_again(before: Told, now: Told, reason: Reason) -> None:
    """A change of kind or verdict is told; other words for the same are not."""
    assert decide(before, now) is reason


@pytest.mark.parametrize(
    ("kind", "reason"),
    [(SOON, Reason.CLOSED), (SYSTEM, Reason.CLOSED), (DEVIATION, Reason.NONE), (NOT_SHOWN, Reason.NONE)],
)
def test_decide_closing_tells_only_of_warnings_and_faults(kind: FindingKind, reason: Reason) -> None:
    """A deviation that ended still was one; a warning that passed is taken back."""
    assert decide(Told(kind, "open"), Told(kind, "open", over=True)) is reason


def test_decide_closing_with_another_verdict_tells() -> None:
    """A deviation that late readings took back is told to those who acted on it."""
    assert decide(Told(NOT_SHOWN, "unproven"), Told(NOT_SHOWN, "met", over=True)) is Reason.CLOSED


def test_decide_closed_twice_tells_once() -> None:
    """Closing again what was told as over is nothing new."""
    assert decide(Told(SOON, "open", over=True), Told(SOON, "open", over=True)) is Reason.NONE


def test_decide_opened_again_tells() -> None:
    """What was told as over and stands again is told."""
    assert decide(Told(SOON, "open", over=True), Told(SOON, "open")) is Reason.CHANGED


def test_decide_merged_finding_tells_nothing() -> None:
    """A finding merged into another leaves the telling to that one."""
    assert decide(Told(DEVIATION, "missed"), Told(DEVIATION, "missed", over=True, merged=True)) is Reason.NONE
