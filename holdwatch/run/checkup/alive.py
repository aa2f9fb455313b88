"""The outside address: when it last took a call."""

from sqlmodel import Session

from holdwatch.alerts.alive import Calls, told_calls
from holdwatch.quantities import format_duration
from holdwatch.run.checkup.line import Lines, broken, look, ok
from holdwatch.settings import Settings
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import Role

__all__ = ["look_at_alive"]

_SUBJECT = "outside address"


def look_at_alive(session: Session, settings: Settings, now_ms: int) -> Lines:
    """Say whether somebody outside would notice that the box is dead; nothing where no address is set."""
    if settings.alive_url is None:
        return
    calls = next((told_calls(status.facts) for status in statuses(session) if status.role == Role.NOTIFY), None)
    calls = calls or Calls()
    last = "it has taken no call yet"
    if calls.ok_ms is not None:
        last = f"it took the last call {format_duration(max(0, now_ms - calls.ok_ms))} ago"
    if calls.failing_since_ms is not None:
        yield broken(
            _SUBJECT, f"{calls.problem}; {last}", "correct alive_url, or the way to it, then start notify again"
        )
    elif calls.problem or calls.ok_ms is None or now_ms - calls.ok_ms > 2 * settings.alive_every_ms:
        yield look(
            _SUBJECT,
            "; ".join(filter(None, (calls.problem, last))),
            "see that listen, watch and notify run and are well",
        )
    else:
        yield ok(_SUBJECT, last)
