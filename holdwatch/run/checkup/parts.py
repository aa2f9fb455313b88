"""The long-running parts: whether each runs, and what it says of itself."""

import os
import socket

from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.quantities import format_duration
from holdwatch.run.checkup.line import Line, Lines, broken, look, ok
from holdwatch.run.ports import answers
from holdwatch.run.screens import healthy
from holdwatch.settings import Settings
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import Role, RoleStatus

__all__ = ["look_at_parts", "runs"]

_SILENT_AFTER_MS = MS_PER_MINUTE  # each says how it goes every ten seconds
_WHAT = {
    Role.LISTEN: "readings are not kept",
    Role.WATCH: "nothing is judged",
    Role.NOTIFY: "nobody is told",
}


def runs(session: Session, now_ms: int) -> dict[str, RoleStatus]:
    """Return the parts that run, by name."""
    return {status.role: status for status in statuses(session) if _alive(status, now_ms)}


def look_at_parts(session: Session, settings: Settings, now_ms: int) -> Lines:
    """Say of each part how it goes."""
    known, alive = {status.role: status for status in statuses(session)}, runs(session, now_ms)
    if not any(role in alive for role in _WHAT):
        yield broken("parts", "none runs: readings are not kept", f"holdwatch run --data {settings.data}")
    else:
        for role, lost in _WHAT.items():
            yield _part(role.value, known.get(role), lost, now_ms, runs_now=role in alive)
    yield from _screens(settings, alive.get(Role.DASHBOARD), parts_run=bool(alive))


def _screens(settings: Settings, status: RoleStatus | None, *, parts_run: bool) -> Lines:
    """Say whether the screens are served."""
    address, port = settings.address, settings.port
    if status is not None:
        address, port = str(status.facts.get("address", address)), int(status.facts.get("port", port))
    if healthy(address, port):
        yield ok("dashboard", f"at http://{address}:{port}")
    elif answers(address, port):
        yield broken(
            "dashboard",
            f"another program listens on {address} port {port}, so the screens cannot be served there",
            "end it, or give another port: holdwatch run --port 8502",
        )
    elif parts_run:
        yield look("dashboard", "the screens are not served", "holdwatch dashboard")


def _part(role: str, status: RoleStatus | None, lost: str, now_ms: int, *, runs_now: bool) -> Line:
    """Say of one part how it goes."""
    if status is None:
        return broken(role, f"it has never run: {lost}", f"restart holdwatch run, or start holdwatch {role}")
    if not runs_now:
        ago = format_duration(max(0, now_ms - status.at_ms))
        return broken(role, f"it was last heard {ago} ago: {lost}", f"restart holdwatch run, or start holdwatch {role}")
    heard = f"last heard {format_duration(max(0, now_ms - status.at_ms))} ago"
    if status.state == "trouble":
        return look(role, f"{status.detail}, {heard}", "do what it says; it goes on by itself")
    return ok(role, f"{status.detail or status.state}, {heard}")


def _alive(status: RoleStatus, now_ms: int) -> bool:
    """Return whether a part has said something lately, and its process is there."""
    if status.state == "stopped" or abs(now_ms - status.at_ms) > _SILENT_AFTER_MS:
        return False
    if status.host != socket.gethostname() or status.pid <= 0:
        return status.host != socket.gethostname()
    try:
        os.kill(status.pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
