"""Writing down what judging a subject led to: clauses, forecasts, findings with their versions, and their alerts.

All of it in the caller's transaction, so a finding and the alerts that it causes are there together or not at all.

Sentences tell a change only in one language. A finding that was told in another is compared without them: while it
stands, its next version is in the language that is spoken now; once it is over it stays as it was written.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlmodel import Session

from holdwatch.alerts.queue import queue_alerts
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import ENGLISH, _, spoken
from holdwatch.rules.facts import to_facts
from holdwatch.storage.findings import change_finding, close_finding, findings, open_finding
from holdwatch.storage.states import (
    clause_states,
    drop_clauses,
    drop_forecasts,
    save_clause,
    save_forecast,
)
from holdwatch.storage.tables import Finding, FindingKind
from holdwatch.watch.answer import Answer
from holdwatch.watch.findings import Change, Gone, Match, Stored, Wanted, reconcile

__all__ = ["RETOLD_AFTER_MS", "Kept", "keep"]

RETOLD_AFTER_MS = 10 * MS_PER_MINUTE
"""Ours: new figures alone (the warmest reading of a spell) make a new version at most so often."""


@dataclass
class Kept:
    """What writing an answer changed."""

    opened: list[int] = field(default_factory=list)
    changed: list[int] = field(default_factory=list)
    closed: list[int] = field(default_factory=list)
    again_ms: int | None = None
    """When new figures that were held back are due."""

    @property
    def anything(self) -> bool:
        """Whether a finding was opened, changed or closed."""
        return bool(self.opened or self.changed or self.closed)


def keep(session: Session, answer: Answer, now_ms: int, base_url: str) -> Kept:
    """Write an answer; what it says of findings is compared with those that stand."""
    _keep_clauses(session, answer, now_ms)
    _keep_forecasts(session, answer, now_ms)
    rows = {row.id or 0: row for row in _rows(session, answer)}
    changes = reconcile([_stored(row) for row in rows.values()], answer.wanted)
    kept = Kept()
    _clear_keys(session, changes, rows)
    by_key: dict[str, Finding] = {}
    for change in changes:
        if change.wanted is not None:
            row = rows.get(change.stored_id or 0)
            by_key[change.wanted.key] = _stand(session, row, change.wanted, now_ms, base_url, kept)
    for change in changes:
        if change.wanted is None:
            row = rows[change.stored_id or 0]
            into = by_key[change.into] if change.into is not None else None
            gone = (
                answer.gone(row) if into is None else Gone(_("it is one with finding {number}").format(number=into.id))
            )
            _fall(session, row, gone, into, now_ms, base_url)
            kept.closed.append(row.id or 0)
    return kept


# ---------------------------------------------------------------- clauses and forecasts


def _keep_clauses(session: Session, answer: Answer, now_ms: int) -> None:
    asked: dict[str, set[str]] = {day: set() for day in answer.days}
    if not asked:
        return
    first, last = (
        (None, None) if "" in asked else (min(asked), max(asked))
    )  # a unit's local days; a vessel has occasions
    rows = clause_states(session, subject=answer.subject, first_day=first, last_day=last)
    known = {(row.day, row.clause): row for row in rows if row.day in asked}
    for one in answer.clauses:
        asked[one.day].add(one.clause.clause)
        save_clause(
            session,
            subject=answer.subject,
            clause=one.clause.clause,
            day=one.day,
            verdict=one.clause.verdict.value,
            facts={
                **to_facts(one.clause),
                "asks": list(one.judgement.asks) if one.clause.doubtful else [],
                "first_ms": one.judgement.first_ms,
                "last_ms": one.judgement.last_ms,
                "used": one.judgement.used,
                "set_aside": len(one.judgement.set_aside),
                "gaps": [list(gap) for gap in one.judgement.gaps],
                "sight_ms": one.sight_ms,
                "limits_text": one.judgement.limits_text,
            },
            judged_ms=now_ms,
            batch_id=answer.batch_id,
            unit_id=answer.unit_id,
            probe_id=answer.probe_id,
            vessel=answer.vessel,
            process=one.judgement.process.value,
            limits=one.judgement.limits,
            known=known,
        )
    for day, clauses in asked.items():
        stale = [clause for known_day, clause in known if known_day == day and clause not in clauses]
        if stale:
            drop_clauses(session, answer.subject, stale, day)


def _keep_forecasts(session: Session, answer: Answer, now_ms: int) -> None:
    if answer.batch_id is None or answer.vessel is None:
        return
    for one in answer.forecasts:
        made = one.forecast
        save_forecast(
            session,
            subject=answer.subject,
            batch_id=answer.batch_id,
            vessel=answer.vessel,
            clause=one.clause,
            target_c=made.target_c,
            made_ms=now_ms,
            reaches=made.reaches,
            expected_ms=made.expected_ms,
            earliest_ms=made.earliest_ms,
            latest_ms=made.latest_ms,
            reason=made.reason,
            facts={"path": [list(point) for point in made.path], "confidence": made.confidence},
        )
    if answer.no_forecast:
        drop_forecasts(session, answer.subject)


# ---------------------------------------------------------------- findings


def _rows(session: Session, answer: Answer) -> list[Finding]:
    """Return the findings that an answer is about; of running ones, what is over is history."""
    rows = findings(session, subject=answer.subject, since_ms=answer.since_ms, open_only=answer.open_only)
    return [row for row in rows if answer.speaks_of(row)]


def _stored(row: Finding) -> Stored:
    facts = row.facts
    return Stored(
        id=row.id or 0,
        family=str(facts["family"]),
        first_ms=int(facts["first_ms"]),
        last_ms=int(facts["last_ms"]),
        is_open=row.closed_ms is None,
        stands=bool(facts["stands"]),
        merged=row.replaced_by is not None,
    )


def _clear_keys(session: Session, changes: Sequence[Change], rows: dict[int, Finding]) -> None:
    """Take back the keys of findings that get another one or fall, so that no two ever meet in one key."""
    for change in changes:
        row = rows.get(change.stored_id or 0)
        if row is not None and (change.wanted is None or row.key != change.wanted.key):
            row.key = f"{row.key.partition('~')[0]}~{row.id}"
            session.add(row)
    session.flush()


def _stand(session: Session, row: Finding | None, wanted: Wanted, now_ms: int, base_url: str, kept: Kept) -> Finding:
    """Open or change a finding so that it is what is wanted."""
    facts = _facts(wanted, now_ms)
    if row is None:
        row = _open(session, wanted, facts, now_ms)
        if wanted.over_ms is not None:
            close_finding(session, row, reason=wanted.over_reason, now_ms=now_ms)
        kept.opened.append(row.id or 0)
        queue_alerts(session, row, None, now_ms, base_url)
        return row
    alike = row.facts.get("language", ENGLISH) == spoken()
    same = _material(row, words=alike) == _wanted_material(wanted, words=alike)
    written = row.reason == wanted.reason or (not alike and row.closed_ms is not None)
    if same and (written or _waits(row, wanted, now_ms, kept)):
        return row
    previous = (row.kind, row.verdict)
    row.key, row.clause, row.source = wanted.key, wanted.clause, wanted.source
    row.batch_id, row.unit_id, row.probe_id = wanted.batch_id, wanted.unit_id, wanted.probe_id
    if row.closed_ms is not None and wanted.over_ms is not None:
        row.close_reason, row.replaced_by = wanted.over_reason, None
    change_finding(
        session,
        row,
        now_ms=now_ms,
        kind=wanted.kind,
        verdict=wanted.verdict,
        reason=wanted.reason,
        title=wanted.title,
        since_ms=wanted.since_ms,
        facts=facts,
        reopen=row.closed_ms is not None and wanted.over_ms is None,
    )
    if wanted.over_ms is not None:
        close_finding(session, row, reason=wanted.over_reason, now_ms=now_ms)
    kept.changed.append(row.id or 0)
    if not same:
        queue_alerts(session, row, previous, now_ms, base_url)
    return row


def _waits(row: Finding, wanted: Wanted, now_ms: int, kept: Kept) -> bool:
    """Tell whether new figures wait for the next version; of what runs on they change with every reading."""
    if wanted.match is not Match.SPELL and wanted.kind is not FindingKind.SOON:
        return False
    again_ms = int(row.facts["told_ms"]) + RETOLD_AFTER_MS
    if now_ms >= again_ms:
        return False
    kept.again_ms = again_ms if kept.again_ms is None else min(kept.again_ms, again_ms)
    return True


def _open(session: Session, wanted: Wanted, facts: dict[str, Any], now_ms: int) -> Finding:
    return open_finding(
        session,
        key=wanted.key,
        kind=wanted.kind,
        subject=wanted.subject,
        title=wanted.title,
        reason=wanted.reason,
        since_ms=wanted.since_ms,
        now_ms=now_ms,
        clause=wanted.clause,
        source=wanted.source,
        verdict=wanted.verdict,
        batch_id=wanted.batch_id,
        unit_id=wanted.unit_id,
        probe_id=wanted.probe_id,
        facts=facts,
    )


def _fall(session: Session, row: Finding, gone: Gone, into: Finding | None, now_ms: int, base_url: str) -> None:
    """Close a finding that nothing calls for any more; one that was over is said never to have been so."""
    previous = (row.kind, row.verdict)
    verdict = row.verdict if into is not None else gone.verdict or row.verdict
    facts = {**row.facts, "stands": False, "told_ms": now_ms}
    if row.closed_ms is None:
        row.facts = facts
        close_finding(session, row, reason=gone.reason, now_ms=now_ms, verdict=verdict, replaced_by=into)
    else:
        row.close_reason = gone.reason
        row.replaced_by = into.id if into is not None else None
        change_finding(session, row, now_ms=now_ms, verdict=verdict, facts=facts)
    queue_alerts(session, row, previous, now_ms, base_url)


def _facts(wanted: Wanted, now_ms: int) -> dict[str, Any]:
    return {
        **wanted.facts,
        "family": wanted.family,
        "match": wanted.match.value,
        "first_ms": wanted.first_ms,
        "last_ms": wanted.last_ms,
        "over_ms": wanted.over_ms,
        "stands": True,
        "told_ms": now_ms,
        "language": spoken(),
    }


def _material(row: Finding, *, words: bool) -> tuple[Any, ...]:
    """Return what makes another version at once when it differs."""
    over = row.closed_ms is not None
    return (
        row.key,
        row.kind,
        row.verdict,
        row.title if words else "",
        row.clause,
        row.since_ms,
        over,
        row.close_reason if over and words else "",
        row.facts.get("due_ms"),
        row.facts["stands"],
    )


def _wanted_material(wanted: Wanted, *, words: bool) -> tuple[Any, ...]:
    over = wanted.over_ms is not None
    return (
        wanted.key,
        wanted.kind.value,
        wanted.verdict,
        wanted.title if words else "",
        wanted.clause,
        wanted.since_ms,
        over,
        wanted.over_reason if over and words else "",
        wanted.facts.get("due_ms"),
        True,
    )
