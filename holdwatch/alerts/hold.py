"""What does not ring now: at night what nobody can help any more, and probes that are silent because the broker is.

Nothing that is held is dropped: what waits for the morning comes when the kitchen opens, as one message to each; a
probe that is still silent when the broker is back is told then.

In the quiet hours these ring:

==================================================  ===========================================================
what                                                while
==================================================  ===========================================================
a fault of the program, a probe                     it lasts: no reading is kept, or nobody is told
a unit that warms, or is not seen                   it lasts: the food can be moved
a batch that will miss (*soon*), still running      it lasts: it can be cooled faster
a batch in a holding or a cook that went wrong      it lasts: the food can be moved, or cooked on
a batch whose limit is not shown                    its time is not up: a reading by hand still shows it
a promised check that is due                        always: somebody is there, and promised it
==================================================  ===========================================================

All else waits: what is over, what has missed its time for good, a date mark, what somebody has done.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from sqlmodel import Session

from holdwatch.alerts.decide import Reason
from holdwatch.alerts.message import TITLE_LENGTH, Message, plain_body
from holdwatch.clock import MS_PER_MINUTE, to_datetime, to_ms
from holdwatch.language import _
from holdwatch.storage.findings import findings
from holdwatch.storage.hours import quiet_minutes
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import Alert, Finding, FindingKind, SiteVersion

__all__ = ["Held", "Hold", "Quiet", "can_help", "hold_of", "morning", "opening_ms"]

_RECOVER_MS = MS_PER_MINUTE
"""Ours: so long after the broker is back a probe has had the time to be heard. [ms]"""
_NO_WAY_BACK = frozenset(
    {
        "cooling",
        "ambient-cooling",
        "received-cooling",
        "reheating",
        "cumulative-time",
        "date-marking",
        "receiving",
        "time-control-4h",
        "time-control-6h",
        "time-control-from-room",
    }
)
"""Whose deviation nothing mends: the food is decided on when the kitchen opens."""
_NOBODY_SERVES = frozenset({"date-marking", "time-control-4h", "time-control-6h", "time-control-from-room"})
"""Whose warning asks to serve or throw away, which nobody does at night."""


class Hold(StrEnum):
    """What an alert waits for besides its turn."""

    NOTHING = ""
    MORNING = "morning"
    BROKER = "broker"


@dataclass(frozen=True)
class Quiet:
    """The hours in which only that rings which somebody can still help, in minutes of the site's local day."""

    from_min: int
    to_min: int
    """Not before the first means the next morning; the two differ."""


@dataclass(frozen=True)
class Held:
    """Why an alert does not ring now, and until when; `drop` where it never need."""

    until: Hold
    until_ms: int
    why: str
    drop: bool = False


def hold_of(session: Session, alert: Alert, finding: Finding, now_ms: int) -> Held | None:
    """Return what an alert that is due has to wait for, ``None`` where it rings now."""
    if finding.facts.get("process") == "signal" and alert.reason != Reason.CLOSED and not alert.attempts:
        if finding.closed_ms is not None and alert.held == Hold.BROKER:
            return Held(Hold.BROKER, 0, _("it was heard again when the broker was back"), drop=True)
        if findings(session, subject="system:broker", open_only=True):
            why = _("the broker is away, so no probe can be heard: that is told once")
            return Held(Hold.BROKER, now_ms + _RECOVER_MS, why)
    site = site_at(session, now_ms)
    if not site.quiet:
        return None
    opens_ms = opening_ms(Quiet(*quiet_minutes(site.quiet)), site.timezone, now_ms)
    if opens_ms is None or can_help(finding, Reason(alert.reason), now_ms):
        return None
    return Held(Hold.MORNING, opens_ms, _("nothing helps before the kitchen opens"))


def can_help(finding: Finding, reason: Reason, now_ms: int) -> bool:
    """Tell whether somebody who is woken can still do something about a finding."""
    if reason is Reason.CHECK_DUE:
        return True
    told_only = reason in {Reason.CLOSED, Reason.HANDLED, Reason.HELD} or finding.subject.startswith("reminder:")
    if told_only or finding.closed_ms is not None:
        return False
    kind, process = FindingKind(finding.kind), str(finding.facts.get("process", ""))
    if kind is FindingKind.SYSTEM or process == "signal" or finding.unit_id is not None:
        return True
    if kind is FindingKind.NOT_SHOWN:
        return (finding.facts.get("due_ms") or 0) > now_ms
    return process not in (_NOBODY_SERVES if kind is FindingKind.SOON else _NO_WAY_BACK)


def opening_ms(quiet: Quiet, timezone: str, now_ms: int) -> int | None:
    """Return when the quiet hours that are on end, ``None`` where none are. [ms]."""
    zone = ZoneInfo(timezone)
    local = to_datetime(now_ms).astimezone(zone)
    minute = local.hour * 60 + local.minute
    over_midnight = quiet.from_min > quiet.to_min
    began, ends_later = minute >= quiet.from_min, minute < quiet.to_min
    if not ((began or ends_later) if over_midnight else (began and ends_later)):
        return None
    day = local.date() + timedelta(days=1 if over_midnight and began else 0)
    return to_ms(datetime.combine(day, time(quiet.to_min // 60 % 24, quiet.to_min % 60), zone))


def morning(told: Sequence[tuple[Alert, Finding]], site: SiteVersion, base_url: str) -> Message:
    """Write the one message of a morning about all that waited for it, in the order in which it happened."""
    first = told[0][0].title
    head = _("Overnight, {count} messages: {first}").format(count=len(told), first=first)
    title = head if len(head) <= TITLE_LENGTH else f"{head[: TITLE_LENGTH - 1].rstrip()}…"
    lines = [_("What nobody could help at night, and waited for the opening:")]
    kept = tuple(_(line).partition("{")[0] for line in ("Since: {time}", "Do: {todo}", "Open: {link}"))
    for number, (alert, finding) in enumerate(told, 1):
        over = "" if finding.closed_ms is None else f" {_('It is over.')}"
        lines.append(f"{number}. {alert.title}.{over}")
        lines += [line for line in alert.body.splitlines() if line.startswith(kept)]
    return Message(
        title, plain_body([*lines, _("All of them: {link}").format(link=f"{base_url.rstrip('/')}/findings")], site)
    )
