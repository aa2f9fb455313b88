"""The date mark of a batch, as its life tells it: the earliest of its contents governs."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from holdwatch.language import _
from holdwatch.limits.model import DateMarkLimits, Limits
from holdwatch.rules.answers import answer
from holdwatch.rules.date_marks import DateMark, Frozen, date_mark, judge_date_mark
from holdwatch.rules.life import Life
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Matter, Verdict

__all__ = ["Calendar", "judge_marked", "mark_of_life", "needs_mark_ms"]


@dataclass(frozen=True)
class Calendar:
    """The site's own days."""

    day_of: Callable[[int], date]
    """The local day of an instant in ms."""
    ends: Callable[[date], int]
    """The last millisecond of a local day."""


def judge_marked(
    limits: Limits, contents: Sequence[Life], now_ms: int, ended_ms: int | None, calendar: Calendar
) -> Judgement | None:
    """Return whether a batch was used within its date mark; ``None`` while it needs none yet.

    Parameters
    ----------
    limits : the code of practice.
    contents : the life of each of its contents.
    now_ms, ended_ms : the instant of judging, and when all of it was gone. [ms]
    calendar : the site's own days.
    """
    until_ms = now_ms if ended_ms is None else min(now_ms, ended_ms)
    needed_ms = needs_mark_ms(limits, contents, calendar)
    if needed_ms is None or until_ms < needed_ms:
        return None
    limit = limits.part(Matter.DATE_MARKING.value, DateMarkLimits)
    if limit is None:
        return _judgement(limits, _no_figure(limits), None)
    mark = min(
        (mark_of_life(limit, life, until_ms, calendar) for life in contents if life.made_ms is not None),
        key=lambda each: each.last_day or date.max,
    )
    verdict, reason = judge_date_mark(mark, calendar.day_of(until_ms))
    started = min(life.made_ms for life in contents if life.made_ms is not None)
    due = None if mark.last_day is None else calendar.ends(mark.last_day)
    clause = answer(limit, (verdict, reason), started=(started, started), due=None if due is None else (due, due))
    return _judgement(limits, clause, due + 1 if due is not None and due >= now_ms and ended_ms is None else None)


def needs_mark_ms(limits: Limits, contents: Sequence[Life], calendar: Calendar) -> int | None:
    """Return from when on a batch needs a date mark, ``None`` where nobody knows when it was made. [ms].

    It does after the time that the code gives, and sooner where a maker's date is over by then.
    """
    limit = limits.part(Matter.DATE_MARKING.value, DateMarkLimits)
    after_ms = limit.marked_after.ms if limit is not None else _NO_FIGURE_AFTER_MS
    last = []
    for life in contents:
        if life.made_ms is not None:
            last.append(life.made_ms + after_ms)
            if limit is not None and life.use_by is not None:
                last.append(max(life.made_ms, calendar.ends(life.use_by)))
    return min(last) + 1 if last else None


def mark_of_life(limit: DateMarkLimits, life: Life, until_ms: int, calendar: Calendar) -> DateMark:
    """Return the date mark of one content; what it was frozen after `until_ms` is not known yet."""
    day = calendar.day_of
    stays = [
        Frozen(day(first), None if last is None or last > until_ms else day(last))
        for first, last in life.frozen
        if first <= until_ms
    ]
    return date_mark(limit, [day(life.made_ms or 0)], frozen=stays, use_by=life.use_by)


_NO_FIGURE_AFTER_MS = 24 * 60 * 60_000
"""Ours: how soon to say that a code gives no number of days."""


def _no_figure(limits: Limits) -> ClauseVerdict:
    said = limits.no_figure.get(Matter.DATE_MARKING.value)
    clause, source, says = "date-marking", limits.title, _("{code} gives no number of days.").format(code=limits.title)
    if said is not None:
        clause, source, says = said.clause, said.source, said.says
    return ClauseVerdict(clause, source, _("no figure"), Verdict.NONE, says)


def _judgement(limits: Limits, clause: ClauseVerdict, changes_ms: int | None) -> Judgement:
    return Judgement(
        Matter.DATE_MARKING,
        limits.id,
        clause.verdict,
        (clause,),
        0,
        None,
        None,
        (),
        changes_ms=changes_ms,
        limits_text=limits.digest,
        occasion=Matter.DATE_MARKING.value,
    )
