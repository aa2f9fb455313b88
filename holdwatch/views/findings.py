"""Findings with their versions and the alerts they caused."""

from collections.abc import Iterable

from sqlmodel import Session

from holdwatch.alerts.offers import no_way_back, offered, to_do
from holdwatch.language import _
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.alone import LoneSpan, lone_spans
from holdwatch.storage.findings import findings, gather_open_findings
from holdwatch.storage.handling import Told, needs_somebody, told_of
from holdwatch.storage.ids import id_of, numbered
from holdwatch.storage.outbox import alerts_about
from holdwatch.storage.tables import Alert, Batch, Contact, EventKind, Finding, FindingVersion, Unit
from holdwatch.storage.unsettled import for_the_page
from holdwatch.views.alone import lone_mark
from holdwatch.views.model import AlertView, EntryView, FindingView, VersionView
from holdwatch.views.words import event_words, mark_of_finding

__all__ = ["alert_view", "finding_view", "finding_views", "findings_page", "open_findings_of"]

_VERDICTS = {verdict.value for verdict in Verdict}


def finding_view(session: Session, finding_id: int, now_ms: int | None = None) -> FindingView | None:
    """Return one finding with all its versions and alerts, or ``None`` if there is none of that number.

    With `now_ms` [ms] what is offered is what still helps at that instant.
    """
    found = session.get(Finding, finding_id)
    return None if found is None else _views(session, [found], now_ms)[0]


def finding_views(
    session: Session,
    *,
    open_only: bool = False,
    since_ms: int | None = None,
    until_ms: int | None = None,
    batch_id: int | None = None,
    unit_id: int | None = None,
    now_ms: int | None = None,
) -> list[FindingView]:
    """Return findings: the open ones first, in each part the newest first."""
    rows = findings(
        session, open_only=open_only, since_ms=since_ms, until_ms=until_ms, batch_id=batch_id, unit_id=unit_id
    )
    return _views(session, sorted(rows, key=_open_first), now_ms)


def open_findings_of(session: Session, batch_ids: Iterable[int]) -> dict[int, tuple[FindingView, ...]]:
    """Return the open findings of each of several batches, by its number, the newest first."""
    ids = list(batch_ids)
    gather_open_findings(session, ids)
    rows = [row for number in ids for row in findings(session, open_only=True, batch_id=number)]
    found: dict[int, list[FindingView]] = {number: [] for number in ids}
    for view in _views(session, sorted(rows, key=_open_first), None):
        found[view.batch_id or 0].append(view)
    return {number: tuple(each) for number, each in found.items()}


def findings_page(session: Session, newest: int, now_ms: int | None = None) -> list[FindingView]:
    """Return what the page of findings shows: every open one, every other that wants somebody, the newest of the rest.

    The open ones come first, in each part the newest first; of those that are over and settled there are `newest` at
    most.
    """
    rows = for_the_page(session, newest)
    return _views(session, sorted(rows, key=_open_first), now_ms)


def _open_first(row: Finding) -> tuple[bool, int, int]:
    return row.closed_ms is not None, -row.opened_ms, -id_of(row)


def alert_view(session: Session, alert: Alert) -> AlertView:
    """Return an alert with the name of whom it is for."""
    contact = session.get(Contact, alert.contact_id)
    return AlertView(
        contact=contact.name if contact is not None else "",
        reason=alert.reason,
        title=alert.title,
        body=alert.body,
        state=alert.state,
        attempts=alert.attempts,
        queued_ms=alert.queued_ms,
        sent_ms=alert.sent_ms,
        last_error=alert.last_error,
        finding_id=alert.finding_id,
    )


def _views(session: Session, rows: list[Finding], now_ms: int | None) -> list[FindingView]:
    if not rows:  # most batches have none, and a page or paper of many would ask in vain for each
        return []
    told, alerts = told_of(session, rows), alerts_about(session, [id_of(row) for row in rows])
    alone = lone_spans(session) if any(each.entries for each in told.values()) else []
    batches = numbered(session, Batch, {row.batch_id for row in rows})
    units = numbered(session, Unit, {row.unit_id for row in rows})
    return [
        _view(
            session,
            row,
            batches.get(row.batch_id or 0),
            units.get(row.unit_id or 0),
            told[id_of(row)],
            alone,
            alerts.get(id_of(row), []),
            now_ms,
        )
        for row in rows
    ]


def _entries(told: Told, alone: list[LoneSpan]) -> tuple[EntryView, ...]:
    corrected = {event.replaces_id for event in told.entries}
    found = []
    for event in told.entries:
        name = told.signed[id_of(event)].initials if id_of(event) in told.signed else ""
        found.append(
            EntryView(
                id=id_of(event),
                at_ms=event.at_ms,
                words=": ".join(
                    w for w in (event_words(event.kind), _(str(event.facts.get("disposition") or ""))) if w
                ),
                text=" · ".join(part for part in (event.text, lone_mark(alone, event)) if part),
                by=event.by,
                signed=name,
                decides=event.kind not in {EventKind.SEEN, EventKind.VERIFIED, EventKind.REOPENED},
                corrected=event.id in corrected,
            )
        )
    return tuple(found)


def _view(
    session: Session,
    row: Finding,
    batch: Batch | None,
    unit: Unit | None,
    told: Told,
    alone: list[LoneSpan],
    alerts: list[Alert],
    now_ms: int | None,
) -> FindingView:
    clause = row.facts.get("clause") or {}
    due = row.facts.get("due_ms")
    return FindingView(
        id=id_of(row),
        kind=row.kind,
        mark=mark_of_finding(row),
        subject=row.subject,
        title=row.title,
        clause=row.clause,
        source=row.source,
        requires=str(row.facts.get("requires") or clause.get("requires") or ""),
        verdict=Verdict(row.verdict) if row.verdict in _VERDICTS else None,
        reason=row.reason,
        since_ms=row.since_ms,
        opened_ms=row.opened_ms,
        closed_ms=row.closed_ms,
        close_reason=row.close_reason,
        version=row.version,
        batch_id=row.batch_id,
        lot=batch.lot if batch is not None else "",
        unit_id=row.unit_id,
        unit=unit.name if unit is not None else "",
        probe_id=row.probe_id,
        vessel=_vessel(row.subject),
        due_ms=int(due) if due is not None else None,
        todo=to_do(session, row, now_ms),
        offers=offered(row, now_ms),
        no_way_back=no_way_back(row, now_ms),
        versions=tuple(_version(version) for version in told.versions),
        alerts=tuple(alert_view(session, alert) for alert in alerts),
        handling=told.handling,
        entries=_entries(told, alone),
        wants_somebody=needs_somebody(row, told.handling),
    )


def _version(row: FindingVersion) -> VersionView:
    return VersionView(row.version, row.at_ms, row.kind, row.verdict, row.reason, row.closed_ms)


def _vessel(subject: str) -> int | None:
    """Return the vessel that a subject such as ``batch:12:2`` names."""
    kind, _, rest = subject.partition(":")
    number = rest.rpartition(":")[2]
    return int(number) if kind == "batch" and number.isdigit() else None
