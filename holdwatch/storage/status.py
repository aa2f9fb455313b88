"""How the long-running parts are doing, in their own words."""

from typing import Any

from sqlmodel import Session, col, select

from holdwatch.storage.tables import Role, RoleStatus

__all__ = ["report", "statuses"]


def report(
    session: Session, role: Role, pid: int, state: str, detail: str, facts: dict[str, Any], now_ms: int
) -> RoleStatus:
    """Write how a part is doing; ``facts["host"]`` names the machine that it runs on."""
    status = session.get(RoleStatus, role.value)
    if status is None:
        status = RoleStatus(role=role.value, pid=pid, at_ms=now_ms, state=state)
    status.pid, status.state, status.detail, status.at_ms = pid, state, detail, now_ms
    status.host, status.facts = str(facts.get("host", "")), dict(facts)
    session.add(status)
    return status


def statuses(session: Session) -> list[RoleStatus]:
    """Return what every part said last."""
    return list(session.exec(select(RoleStatus).order_by(col(RoleStatus.role))))
