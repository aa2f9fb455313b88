"""The pages of the findings: every version, every alert, and what was done about it."""

from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from holdwatch.charts.marks import Mark
from holdwatch.language import N_, _, explained, many
from holdwatch.records.setting import Setting, shown
from holdwatch.storage.events import events
from holdwatch.storage.tables import AlertState, Event, EventKind, FindingKind
from holdwatch.views.findings import finding_view
from holdwatch.views.model import AlertView, EntryView, FindingView
from holdwatch.views.words import event_words, outcome_words, version_words

__all__ = ["FindingPages", "finding_pages"]

_MOST_CHARACTERS = 100
_ACTIONS = frozenset(
    {EventKind.ACTION, EventKind.NOTE, EventKind.MOVED, EventKind.REMOVED, EventKind.RETURNED, EventKind.ENDED}
)
_STATES = {
    AlertState.WAITING: N_("waiting"),
    AlertState.SENT: N_("sent"),
    AlertState.UNDELIVERED: N_("undelivered"),
    AlertState.REPLACED: N_("replaced by a newer one"),
    AlertState.NOT_NEEDED: N_("not needed"),
}


@dataclass(frozen=True, order=True)
class _Done:
    """One thing that was done."""

    at_ms: int
    words: str
    by: str
    decides: bool
    """Whether it says what was done about the food."""


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
    done = sorted([*_noted(session, view), *map(_entry, view.entries)])
    actions = [[setting.times.at(each.at_ms), each.words, each.by or _("not told")] for each in done]
    mark = view.mark
    return FindingPages(
        printed={
            "name": _("No. {number} · {title}").format(number=view.id, title=view.title),
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


def _noted(session: Session, view: FindingView) -> list[_Done]:
    """Return what was recorded on the batch or unit itself since the finding's matter began."""
    if view.batch_id is None and view.unit_id is None:
        return []
    found = events(session, batch_id=view.batch_id, unit_id=view.unit_id, since_ms=view.since_ms, kinds=_ACTIONS)
    known = {entry.id for entry in view.entries}
    return [
        _Done(
            event.at_ms,
            explained(event_words(event.kind), _text(event)),
            event.by,
            event.kind == EventKind.ACTION,
        )
        for event in found
        if event.finding_id is None
        and event.id not in known
        and (event.vessel is None or view.vessel is None or event.vessel == view.vessel)
    ]


def _text(event: Event) -> str:
    return outcome_words(event.text) if event.kind == EventKind.ENDED else event.text


def _entry(entry: EntryView) -> _Done:
    """Return what somebody recorded about the finding, with initials, or that they are missing."""
    words = explained(entry.words, entry.text)
    if entry.text and ":" in entry.words:
        words = f"{entry.words} – {entry.text}"
    if entry.corrected:
        words += f" ({_('corrected by a later entry')})"
    signed = f" ({entry.signed})" if entry.signed else f", {_('not signed')}" if entry.wants_signature else ""
    return _Done(entry.at_ms, words, f"{entry.by}{signed}", not entry.corrected and entry.decides)


def _stands(view: FindingView) -> str:
    """Say where the finding stands among people."""
    now = view.handling
    who = now.verified_by or ", ".join(now.handled_by) or now.seen_by
    by = _("{stage} by {person}").format(stage=_(now.stage.value), person=who) if who else _(now.stage.value)
    if not view.entries and not view.wants_somebody:
        return by if now.settled else _("asks for nobody")
    return by + (f"; {_('{count} not signed').format(count=now.unsigned)}" if now.unsigned else "")


def _facts(view: FindingView, setting: Setting) -> list[list[str]]:
    """Return the finding's own lines."""
    times = setting.times
    limit = f"{view.requires} ({view.source or view.clause})" if view.requires else view.source or view.clause
    closed = _("still open when printed") if view.closed_ms is None else times.at(view.closed_ms)
    if view.closed_ms is not None and view.close_reason:
        closed = explained(closed, view.close_reason)
    rows = [
        [_("Limit"), limit],
        [_("Stands"), _stands(view)],
        [_("Since"), times.at(view.since_ms)],
        [_("Found"), times.at(view.opened_ms)],
    ]
    if view.due_ms is not None:
        rows.append([_("Due"), times.at(view.due_ms)])
    return [row for row in [*rows, [_("Closed"), closed]] if row[1]]


def _version(view: FindingView, number: int, setting: Setting) -> list[str]:
    """Write one version of a finding."""
    version = view.versions[number]
    words = version_words(version.kind, version.verdict)
    return [
        setting.times.at(version.at_ms),
        words if version.closed_ms is None else _("{words}, closed").format(words=words),
        version.reason,
    ]


def _alert(alert: AlertView, setting: Setting) -> list[str]:
    """Write one alert: to whom, what, and whether their channel took it."""
    state = _(_STATES[AlertState(alert.state)])
    when = f" {setting.times.at(alert.sent_ms)}" if alert.sent_ms is not None else ""
    tries = many("{count} try", "{count} tries", alert.attempts)
    detail = _("queued {time}, {tries}").format(time=setting.times.at(alert.queued_ms), tries=tries)
    error = alert.last_error if alert.state != AlertState.SENT else ""
    return [alert.contact, alert.title, state + when, f"{detail}; {error}" if error else detail]


def _line(view: FindingView, mark: Mark, done: list[_Done], setting: Setting) -> list[Any]:
    """Write the finding's line on the first page."""
    last = next((each for each in reversed(done) if each.decides), done[-1] if done else None)
    action = _("none recorded") if last is None else f"{setting.times.at(last.at_ms)} {last.words}, {last.by}"
    if view.handling.verified_by:
        action += "; " + _("verified by {person}").format(person=view.handling.verified_by)
    reason = _short(explained(view.clause, view.reason))
    return [str(view.id), setting.times.at(view.since_ms), view.title, shown(mark), reason, _short(action)]


def _short(text: str) -> str:
    """Cut a text at a word, so that the first page stays one; all of it stands on the finding's own page."""
    if len(text) <= _MOST_CHARACTERS:
        return text
    return f"{text[:_MOST_CHARACTERS].rsplit(' ', 1)[0].rstrip(',;:')}\u00a0…"
