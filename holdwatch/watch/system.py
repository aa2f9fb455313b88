"""Faults of the system itself: the clock, the broker, the listener. They close by themselves when the fault is over."""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.clock import MS_PER_SECOND
from holdwatch.language import _
from holdwatch.storage.findings import findings
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import Finding, FindingKind, Role, RoleStatus
from holdwatch.watch.answer import Answer
from holdwatch.watch.clockcheck import ClockTrouble
from holdwatch.watch.findings import Gone, Match, Wanted

__all__ = [
    "BROKER",
    "CLOCK",
    "ListenerTrouble",
    "clock_answer",
    "fault_answer",
    "listener_answer",
    "listener_status",
    "listener_trouble",
    "open_fault",
]

CLOCK = "system:clock"
BROKER = "system:broker"
PATIENCE_MS = 60 * MS_PER_SECOND
"""Ours: a broker is called away, and a listener unheard, after so long."""


@dataclass(frozen=True)
class ListenerTrouble:
    """What keeps readings from coming in: nothing is heard of the listener, or it says what troubles it."""

    part: str
    """``listener`` or ``broker``."""
    since_ms: int
    detail: str = ""
    """What the listener reported."""

    @property
    def title(self) -> str:
        """Which part it is."""
        return _("The listener") if self.part == "listener" else _("The broker")

    @property
    def reason(self) -> str:
        """Say what is wrong, and what to do where that is known."""
        if self.part == "listener":
            return _("it has not reported for more than a minute; no reading is kept. Start it with `holdwatch run`.")
        return f"{(self.detail or _('it cannot be reached')).rstrip('.')}."


def clock_answer(trouble: ClockTrouble | None, since_ms: int) -> Answer:
    """Say whether the clock can be trusted."""
    wanted = []
    if trouble is not None:
        wanted.append(_fault(CLOCK, _("The computer's clock"), f"{trouble.sentence}.", since_ms))
    return _answer(CLOCK, wanted, _("the clock is right again, and all is judged"))


def listener_answer(trouble: ListenerTrouble | None) -> Answer:
    """Say whether readings can come in."""
    wanted = []
    if trouble is not None:
        wanted.append(_fault(BROKER, trouble.title, trouble.reason, trouble.since_ms, part=trouble.part))
    return _answer(BROKER, wanted, _("the listener is connected again"))


def fault_answer(subject: str, title: str, reason: str, since_ms: int, over: str) -> Answer:
    """Say that a fault stands, or with an empty reason that none does."""
    return _answer(subject, [_fault(subject, title, reason, since_ms)] if reason else [], over)


def listener_trouble(
    listener: RoleStatus | None, *, troubled_since_ms: int, watched_since_ms: int, now_ms: int
) -> ListenerTrouble | None:
    """Return what has kept readings from coming in for more than a minute.

    Parameters
    ----------
    listener : what it reported last; ``None`` if it never ran.
    troubled_since_ms : since when it has reported trouble without a break.
    watched_since_ms : since when we have looked: right after a start it could not report yet.
    """
    if listener is None or listener.state == "stopped":
        return None
    if now_ms - max(listener.at_ms, watched_since_ms) > PATIENCE_MS:
        return ListenerTrouble("listener", listener.at_ms)
    if listener.state == "trouble" and now_ms - troubled_since_ms > PATIENCE_MS:
        return ListenerTrouble("broker", troubled_since_ms, listener.detail)
    return None


def listener_status(session: Session) -> RoleStatus | None:
    """Return what the listener reported last."""
    return next((status for status in statuses(session) if status.role == Role.LISTEN), None)


def open_fault(session: Session, subject: str) -> Finding | None:
    """Return the fault of a part that is recorded as standing."""
    return next(iter(findings(session, subject=subject, open_only=True)), None)


def _fault(subject: str, title: str, reason: str, since_ms: int, **facts: str) -> Wanted:
    return Wanted(
        family=subject,
        match=Match.RUNNING,
        kind=FindingKind.SYSTEM,
        subject=subject,
        title=title,
        reason=reason,
        since_ms=since_ms,
        facts=facts,
    )


def _answer(subject: str, wanted: list[Wanted], over: str) -> Answer:
    gone = Gone(over)
    return Answer(subject=subject, wanted=wanted, gone=lambda _: gone, open_only=True)
