"""How far back the sieve of a local day looks, so that a probe out of the food over midnight is not taken for warm food.

The evening before is always seen. A doubt that reaches into that evening is seen from its beginning, however many days
ago that was; so each day tells the next how far back it has to look, and where that changes the next is judged again.
"""

from collections.abc import Mapping, Sequence

from sqlmodel import Session

from holdwatch.clock import MS_PER_HOUR
from holdwatch.rules.verdicts import Judgement
from holdwatch.storage.states import clause_states
from holdwatch.watch.days import day_after
from holdwatch.watch.unitdays import Day, Post, judge_span

__all__ = ["judge_days", "judge_whole", "next_sight", "stored_sight"]

EVENING_MS = 12 * MS_PER_HOUR
"""Ours: so much of the record before a day the sieve looks at in any case."""
BEFORE_A_DOUBT_MS = MS_PER_HOUR
"""Ours: so much before a doubt shows how it began; the rules of the sieve look back twenty minutes at most."""


def judge_days(
    session: Session, post: Post, days: Sequence[Day]
) -> tuple[dict[str, Judgement | None], dict[str, int | None]]:
    """Judge days in a row; return the judgement of each, and how far back the day after it has to look. [ms]."""
    judged: dict[str, Judgement | None] = {}
    sights: dict[str, int | None] = {}
    for day in days:
        before = day_after(day.name, -1)
        told = sights[before] if before in sights else stored_sight(session, post, before)
        judged[day.name] = judge_span(session, post, day, day, _sight(day, told))
        sights[day.name] = next_sight(judged[day.name], day)
    return judged, sights


def judge_whole(
    session: Session, post: Post, first: Day, last: Day, sights: Mapping[str, int | None]
) -> Judgement | None:
    """Judge several days together."""
    before = day_after(first.name, -1)
    told = sights[before] if before in sights else stored_sight(session, post, before)
    return judge_span(session, post, first, last, _sight(first, told))


def next_sight(judgement: Judgement | None, day: Day) -> int | None:
    """Return from when on the day after `day` has to be seen, ``None`` if its evening before is enough. [ms]."""
    if judgement is None:
        return None
    evening_ms = day.last_ms + 1 - EVENING_MS
    sight_ms = evening_ms
    for doubt in reversed(judgement.doubts):
        if not doubt.over or doubt.last_ms >= sight_ms:
            sight_ms = min(sight_ms, doubt.first_ms - BEFORE_A_DOUBT_MS)
    return sight_ms if sight_ms < evening_ms else None


def stored_sight(session: Session, post: Post, name: str) -> int | None:
    """Return what a day that was judged before said of the day after it. [ms]."""
    rows = clause_states(session, subject=post.subject, first_day=name, last_day=name)
    return next((at for row in rows if (at := row.facts.get("sight_ms")) is not None), None)


def _sight(day: Day, told_ms: int | None) -> int:
    return day.first_ms - EVENING_MS if told_ms is None else min(told_ms, day.first_ms - EVENING_MS)
