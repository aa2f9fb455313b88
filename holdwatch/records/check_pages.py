"""Checks of probes, and reviews of days, as the log prints them."""

from datetime import date

from sqlmodel import Session

from holdwatch.calculators.calibration import FOUND, WHERE
from holdwatch.language import _, explained, many, written_day
from holdwatch.quantities import format_difference, format_temperature
from holdwatch.records.setting import Setting
from holdwatch.storage.calibration import Check, checks_of
from holdwatch.storage.day_reviews import changed_since, day_reviews
from holdwatch.storage.register import probes
from holdwatch.views.daily import day_bounds, local_date
from holdwatch.views.words import medium

__all__ = ["check_rows", "due_rows", "last_check", "review_rows"]


def check_rows(session: Session, setting: Setting) -> list[list[str]]:
    """Return the checks of probes in the span: probe, when, actual values, what was found and done, by whom."""
    codes = {probe.id: probe.code for probe in probes(session)}
    return [
        [
            codes[check.probe_id],
            setting.times.at(check.at_ms),
            "; ".join(_points(check, setting)),
            _found(check, setting),
            check.by,
        ]
        for check in checks_of(session)
        if setting.span.first_ms <= check.at_ms <= setting.until_ms
    ]


def due_rows(session: Session, setting: Setting) -> list[list[str]]:
    """Return, for every probe, its last check as of the end of the span and when the next one is due."""
    rows = []
    for probe in probes(session):
        found = [check for check in checks_of(session, probe.id) if check.at_ms <= setting.until_ms]
        if not found:
            rows.append([probe.code, medium(probe.medium), _("never on record"), "–", _("now")])
            continue
        last = found[-1]
        due = setting.times.at(last.due_ms) + (f" ({_('overdue')})" if last.due_ms <= setting.until_ms else "")
        rows.append([probe.code, medium(probe.medium), setting.times.at(last.at_ms), _(FOUND[last.outcome]), due])
    return rows


def last_check(session: Session, probe_id: int, setting: Setting) -> str:
    """Say when a probe was last checked as of the end of the span, and what was found; and whether the next is due."""
    found = [check for check in checks_of(session, probe_id) if check.at_ms <= setting.until_ms]
    if not found:
        return _("no calibration check on record")
    check = found[-1]
    due = f"; {_('the next is due')}" if check.due_ms <= setting.until_ms else ""
    return explained(setting.times.at(check.at_ms), f"{_(FOUND[check.outcome])}{due}")


def review_rows(session: Session, setting: Setting) -> list[list[str]]:
    """Return who has gone over days of the span, and whether anything was recorded about these days since."""
    zone = setting.timezone
    ends = [local_date(at_ms, zone) for at_ms in (setting.span.first_ms, setting.until_ms)]
    rows = []
    for each in day_reviews(session):
        first, last = max(date.fromisoformat(each.first_day), ends[0]), min(date.fromisoformat(each.last_day), ends[1])
        if first > last:
            continue
        first_ms, last_ms = day_bounds(first, zone)[0], day_bounds(last, zone)[1]
        since = len(changed_since(session, each.lines, first_ms, last_ms))
        changed = (
            many("changed since: {count} entry", "changed since: {count} entries", since)
            if since
            else _("nothing changed since")
        )
        signed = _("signed: reviewed") if each.signed else _("not signed")
        spoken = (
            written_day(each.first_day)
            if each.first_day == each.last_day
            else _("{first} to {last}").format(first=written_day(each.first_day), last=written_day(each.last_day))
        )
        rows.append([spoken, setting.times.at(each.at_ms), f"{each.by} ({signed})", changed, each.text])
    return rows


def _points(check: Check, setting: Setting) -> list[str]:
    return [
        _("{where}: {shown}, true {true} ± {sure}").format(
            where=_(WHERE[point.method]),
            shown=format_temperature(point.shows_c, setting.scale),
            true=format_temperature(point.true_c, setting.scale),
            sure=format_difference(point.sure_c, setting.scale, 1),
        )
        for point in check.points
    ]


def _found(check: Check, setting: Setting) -> str:
    done = f"; {_(check.done.value.replace('-', ' '))}" if check.done else ""
    note = f" ({check.text})" if check.text else ""
    return f"{_(FOUND[check.outcome])} (± {format_difference(check.asked_c, setting.scale, 1)}){done}{note}"
