"""Whether a change of a finding is worth a message, and as what.

====================  =================================================  =========
before                now                                                reason
====================  =================================================  =========
never told            open                                               first
never told            already over, a deviation or not shown             first
never told            already over, a warning or a fault of the system   none
told                  a graver kind                                      worse
told                  another kind or another verdict                    changed
told                  over, a warning or a fault of the system           closed
told                  over, with another verdict than was told           closed
told as over          open again                                         changed
told                  the same, only worded otherwise                    none
any                   merged into another finding                        none
====================  =================================================  =========
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from holdwatch.language import _, many
from holdwatch.people.handling import Handling, Stage
from holdwatch.storage.findings import GRAVITY
from holdwatch.storage.tables import Finding, FindingKind

__all__ = ["Reason", "Told", "decide", "not_needed"]

_PASSING = frozenset({FindingKind.SOON, FindingKind.SYSTEM})


class Reason(StrEnum):
    """Why a message is sent; ``NONE`` is no message. The last three tell what people did, or promised and did not."""

    FIRST = "first"
    CHANGED = "changed"
    WORSE = "worse"
    CLOSED = "closed"
    HELD = "held"
    HANDLED = "handled"
    CHECK_DUE = "check-due"
    NONE = "none"


@dataclass(frozen=True)
class Told:
    """All of a finding that decides about a message."""

    kind: FindingKind
    verdict: str
    over: bool = False
    merged: bool = False

    @classmethod
    def of(cls, finding: Finding) -> Self:
        """Take it from a finding as it stands."""
        return cls(
            FindingKind(finding.kind),
            finding.verdict,
            over=finding.closed_ms is not None,
            merged=finding.replaced_by is not None,
        )


def decide(before: Told | None, now: Told) -> Reason:
    """Return why a message is due when a finding that was told as `before` stands as `now`."""
    if now.merged:
        return Reason.NONE
    if before is None:
        return Reason.NONE if now.over and now.kind in _PASSING else Reason.FIRST
    differs = (now.kind, now.verdict) != (before.kind, before.verdict)
    if now.over:
        ends = not before.over and (differs or now.kind in _PASSING)
        return Reason.CLOSED if ends else Reason.NONE
    if GRAVITY[now.kind] > GRAVITY[before.kind]:
        return Reason.WORSE
    return Reason.CHANGED if differs or before.over else Reason.NONE


def not_needed(reason: Reason, wait_ms: int, now: Handling) -> str:
    """Return why a message that has come due need not be sent any more, empty where it is sent.

    Only what waited for somebody is ever dropped: a message that was due at once is delivered, however late, or shown
    as undelivered.
    """
    if reason is Reason.CHECK_DUE and now.check_ms is None:
        return _("the promised check was recorded")
    if not wait_ms or reason in {Reason.CLOSED, Reason.HELD, Reason.HANDLED, Reason.CHECK_DUE}:
        return ""
    if now.settled:
        return many(
            "{names} has handled it",
            "{names} have handled it",
            max(1, len(now.handled_by)),
            names=", ".join(now.handled_by) or _("somebody"),
        )
    if now.stage in {Stage.SEEN, Stage.PROMISED}:
        return _("{name} has seen it").format(name=now.seen_by or _("somebody"))
    return ""
