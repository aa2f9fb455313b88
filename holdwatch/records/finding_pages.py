"""The pages of the findings: every version, every alert, and what was done about it."""

from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from holdwatch.charts.marks import Mark
from holdwatch.records.setting import Setting, shown, shown_verdict
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.events import events
from holdwatch.storage.tables import AlertState, Event, EventKind, FindingKind
from holdwatch.views.findings import finding_view
from holdwatch.views.model import AlertView, FindingView
from holdwatch.views.words import event_words

__all__ = ["FindingPages", "finding_pages"]

_MOST_CHARACTERS = 100
_ACTIONS = frozenset(
    {EventKind.ACTION, EventKind.NOTE, EventKind.MOVED, EventKind.REMOVED, EventKind.RETURNED, EventKind.ENDED}
)
_KINDS = {
    FindingKind.SOON: "soon",
    FindingKind.DEVIATION: "deviation",
    FindingKind.NOT_SHOWN: "not shown",
    FindingKind.SYSTEM: "fault of the system",
}
_STATES = {
    AlertState.WAITING: "waiting",
    AlertState.SENT: "sent",
    AlertState.UNDELIVERED: "undelivered",
    AlertState.REPLACED: "replaced by a newer one",
}


@dataclass(frozen=True)
class FindingPages:
    """What is printed of one finding, its line on the first page, and what the summary counts."""

    printed: dict[str, Any]
    line: list[Any]
    mark: Mark
    kind: FindingKind
    over: bool
    undelivered: int


def finding_pages(session: Session, finding_id: int, setting: Setting) -> FindingPages:
    """Gather what is recorded of a finding."""
    view = finding_view(session, finding_id)
    if view is None:
        raise ValueError("a finding of the store can be viewed")
    kind = FindingKind(view.kind)
    done = _done(session, view)
    actions = [[setting.times.at(event.at_ms), _words(event), event.by or "not told"] for event in done]
    mark = view.mark
    return FindingPages(
        printed={
            "name": f"No. {view.id} · {view.title}",
            "verdict": shown(mark),
            "facts": _facts(view, setting),
            "versions": [_version(view, number, setting) for number in range(len(view.versions))],
            "alerts": [_alert(alert, setting) for alert in view.alerts],
            "actions": actions,
        },
        line=_line(view, mark, done, setting),
        mark=mark,
        kind=kind,
        over=view.closed_ms is not None,
        undelivered=sum(alert.state == AlertState.UNDELIVERED for alert in view.alerts),
    )


def _done(session: Session, view: FindingView) -> list[Event]:
    """Return what was recorded on the batch or unit since the finding's matter began."""
    if view.batch_id is None and view.unit_id is None:
        return []
    found = events(session, batch_id=view.batch_id, unit_id=view.unit_id, since_ms=view.since_ms, kinds=_ACTIONS)
    return [event for event in found if event.vessel is None or view.vessel is None or event.vessel == view.vessel]


def _words(event: Event) -> str:
    """Say what was done."""
    word = event_words(event.kind)
    return f"{word}: {event.text}" if event.text else word


def _facts(view: FindingView, setting: Setting) -> list[list[str]]:
    """Return the finding's own lines."""
    times = setting.times
    limit = f"{view.requires} ({view.source or view.clause})" if view.requires else view.source or view.clause
    closed = "still open when printed" if view.closed_ms is None else times.at(view.closed_ms)
    if view.closed_ms is not None and view.close_reason:
        closed += f": {view.close_reason}"
    rows = [["Limit", limit], ["Since", times.at(view.since_ms)], ["Found", times.at(view.opened_ms)]]
    if view.due_ms is not None:
        rows.append(["Due", times.at(view.due_ms)])
    return [row for row in [*rows, ["Closed", closed]] if row[1]]


def _version(view: FindingView, number: int, setting: Setting) -> list[str]:
    """Write one version of a finding."""
    version = view.versions[number]
    word = _KINDS[FindingKind(version.kind)]
    shown_as = shown_verdict(Verdict(version.verdict))["word"] if version.verdict else ""
    words = word if shown_as in {"", word} else f"{word}, {shown_as}"
    return [
        setting.times.at(version.at_ms),
        f"{words}{', closed' if version.closed_ms is not None else ''}",
        version.reason,
    ]


def _alert(alert: AlertView, setting: Setting) -> list[str]:
    """Write one alert: to whom, what, and whether their channel took it."""
    state = _STATES[AlertState(alert.state)]
    when = f" {setting.times.at(alert.sent_ms)}" if alert.sent_ms is not None else ""
    tries = f"{alert.attempts} tries" if alert.attempts != 1 else "1 try"
    detail = f"queued {setting.times.at(alert.queued_ms)}, {tries}"
    error = alert.last_error if alert.state != AlertState.SENT else ""
    return [alert.contact, alert.title, state + when, f"{detail}; {error}" if error else detail]


def _line(view: FindingView, mark: Mark, done: list[Event], setting: Setting) -> list[Any]:
    """Write the finding's line on the first page."""
    last = next((event for event in reversed(done) if event.kind == EventKind.ACTION), done[-1] if done else None)
    action = "none recorded" if last is None else f"{setting.times.at(last.at_ms)} {_words(last)}, {last.by}"
    reason = _short(f"{view.clause}: {view.reason}" if view.clause else view.reason)
    return [str(view.id), setting.times.at(view.since_ms), view.title, shown(mark), reason, _short(action)]


def _short(text: str) -> str:
    """Cut a text at a word, so that the first page stays one; all of it stands on the finding's own page."""
    if len(text) <= _MOST_CHARACTERS:
        return text
    return f"{text[:_MOST_CHARACTERS].rsplit(' ', 1)[0].rstrip(',;:')} …"
