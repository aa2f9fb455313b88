"""What was found: one row a finding for its present version, and every version beside it."""

import json
from collections.abc import Iterable
from typing import Any

from sqlmodel import Session, col, or_, select

from holdwatch.errors import UnknownNameError
from holdwatch.language import _
from holdwatch.storage.ids import id_of
from holdwatch.storage.look import at_hand, gather
from holdwatch.storage.tables import Finding, FindingKind, FindingVersion

__all__ = [
    "GRAVITY",
    "change_finding",
    "close_finding",
    "finding_by_key",
    "finding_numbered",
    "finding_versions",
    "findings",
    "gather_open_findings",
    "open_finding",
    "versions_of",
]

GRAVITY = {FindingKind.SOON: 1, FindingKind.SYSTEM: 1, FindingKind.NOT_SHOWN: 2, FindingKind.DEVIATION: 3}
"""Which kind is worse than which."""
_OPEN_OF_BATCH = "open findings of a batch"
_IN_ORDER = select(Finding).where(col(Finding.subject).not_like("reminder:%")).order_by(col(Finding.id))


def open_finding(
    session: Session,
    *,
    key: str,
    kind: FindingKind,
    subject: str,
    title: str,
    reason: str,
    since_ms: int,
    now_ms: int,
    clause: str = "",
    source: str = "",
    verdict: str = "",
    batch_id: int | None = None,
    unit_id: int | None = None,
    probe_id: int | None = None,
    facts: dict[str, Any] | None = None,
) -> Finding:
    """Open a finding and append its first version.

    Raises
    ------
    ValueError
        If there is a finding of that identity already: change that one.
    """
    if finding_by_key(session, key) is not None:
        message = f"finding {key} exists already"
        raise ValueError(message)
    finding = Finding(
        key=key,
        kind=kind.value,
        subject=subject,
        title=title,
        clause=clause,
        source=source,
        verdict=verdict,
        reason=reason,
        batch_id=batch_id,
        unit_id=unit_id,
        probe_id=probe_id,
        since_ms=since_ms,
        opened_ms=now_ms,
        facts=_plain(facts or {}),
    )
    session.add(finding)
    session.flush()
    _append(session, finding, now_ms)
    return finding


def change_finding(
    session: Session,
    finding: Finding,
    *,
    now_ms: int,
    kind: FindingKind | None = None,
    verdict: str | None = None,
    reason: str | None = None,
    title: str | None = None,
    since_ms: int | None = None,
    facts: dict[str, Any] | None = None,
    reopen: bool = False,
) -> bool:
    """Change what is given and append a version; where nothing differs nothing is written.

    Returns
    -------
    bool
        Whether anything differed.
    """
    wanted: dict[str, Any] = {
        "kind": None if kind is None else kind.value,
        "verdict": verdict,
        "reason": reason,
        "title": title,
        "since_ms": since_ms,
        "facts": None if facts is None else _plain(facts),
    }
    changes = {name: new for name, new in wanted.items() if new is not None and new != getattr(finding, name)}
    if reopen and finding.closed_ms is not None:
        changes |= {"closed_ms": None, "close_reason": "", "replaced_by": None}
    if not changes:
        return False
    _change(session, finding, changes, now_ms)
    return True


def close_finding(
    session: Session,
    finding: Finding,
    *,
    reason: str,
    now_ms: int,
    verdict: str | None = None,
    replaced_by: Finding | None = None,
) -> bool:
    """Close a finding, with its reason and, where another one took it in, with that one.

    Returns
    -------
    bool
        Whether it was open.
    """
    if finding.closed_ms is not None:
        return False
    changes: dict[str, Any] = {"closed_ms": now_ms, "close_reason": reason}
    if verdict is not None:
        changes["verdict"] = verdict
    if replaced_by is not None:
        changes["replaced_by"] = replaced_by.id
    _change(session, finding, changes, now_ms)
    return True


def finding_by_key(session: Session, key: str) -> Finding | None:
    """Return the finding of an identity, open or closed."""
    return session.exec(select(Finding).where(Finding.key == key)).first()


def finding_numbered(session: Session, number: int) -> Finding:
    """Return the finding of a number.

    Raises
    ------
    UnknownNameError
        If there is none.
    """
    found = session.get(Finding, number)
    if found is None:
        raise UnknownNameError(_("there is no finding {number}: holdwatch findings lists them").format(number=number))
    return found


def findings(
    session: Session,
    *,
    open_only: bool = False,
    since_ms: int | None = None,
    until_ms: int | None = None,
    batch_id: int | None = None,
    unit_id: int | None = None,
    probe_id: int | None = None,
    subject: str | None = None,
) -> list[Finding]:
    """Return findings, oldest first; a span takes those that concern any of it: begun before its end, closed after its start.

    Reminders, which the clock alone calls for, are among them only where they are asked for by their subject.
    """
    of_batch_alone = open_only and (since_ms, until_ms, unit_id, probe_id, subject) == (None,) * 5
    near = at_hand(session, _OPEN_OF_BATCH, batch_id) if of_batch_alone else None
    if near is not None:
        return near
    query = _IN_ORDER if subject is None else select(Finding).order_by(col(Finding.id))
    if open_only:
        query = query.where(col(Finding.closed_ms).is_(None))
    if since_ms is not None:
        query = query.where(or_(col(Finding.closed_ms).is_(None), col(Finding.closed_ms) >= since_ms))
    if until_ms is not None:
        query = query.where(Finding.since_ms <= until_ms)
    if batch_id is not None:
        query = query.where(Finding.batch_id == batch_id)
    if unit_id is not None:
        query = query.where(Finding.unit_id == unit_id)
    if probe_id is not None:
        query = query.where(Finding.probe_id == probe_id)
    if subject is not None:
        query = query.where(Finding.subject == subject)
    return list(session.exec(query))


def gather_open_findings(session: Session, batch_ids: Iterable[int]) -> None:
    """Have the open findings of several batches at hand while a look lasts."""
    gather(session, _OPEN_OF_BATCH, _IN_ORDER.where(col(Finding.closed_ms).is_(None)), Finding.batch_id, batch_ids)


def finding_versions(session: Session, finding_id: int) -> list[FindingVersion]:
    """Return every version that a finding has had, oldest first."""
    return versions_of(session, [finding_id]).get(finding_id, [])


def versions_of(session: Session, finding_ids: Iterable[int]) -> dict[int, list[FindingVersion]]:
    """Return every version that each of several findings has had, oldest first, by its number."""
    wanted = select(FindingVersion).where(col(FindingVersion.finding_id).in_(list(finding_ids)))
    found: dict[int, list[FindingVersion]] = {}
    for version in session.exec(wanted.order_by(col(FindingVersion.finding_id), col(FindingVersion.version))):
        found.setdefault(version.finding_id, []).append(version)
    return found


def _change(session: Session, finding: Finding, changes: dict[str, Any], now_ms: int) -> None:
    for name, new in changes.items():
        setattr(finding, name, new)
    finding.version += 1
    session.add(finding)
    session.flush()
    _append(session, finding, now_ms)


def _append(session: Session, finding: Finding, now_ms: int) -> None:
    """Append the version that a finding has now."""
    session.add(
        FindingVersion(
            finding_id=id_of(finding),
            version=finding.version,
            at_ms=now_ms,
            kind=finding.kind,
            verdict=finding.verdict,
            reason=finding.close_reason if finding.closed_ms is not None else finding.reason,
            closed_ms=finding.closed_ms,
            facts=dict(finding.facts),
        )
    )
    session.flush()


def _plain(facts: dict[str, Any]) -> dict[str, Any]:
    """Return facts as they come back from the store, so that the same ones compare equal."""
    plain: dict[str, Any] = json.loads(json.dumps(facts))
    return plain
