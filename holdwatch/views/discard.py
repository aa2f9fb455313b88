"""When a batch is to be thrown away if it is not used: every such time, the earliest first, each with its clause.

Computed here alone, for screens, labels and the watch. What is in a batch counts with its own past, so that the
earliest date mark and the oldest clock travel with every part.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session

from holdwatch.clock import clock_words, day_words, local, to_ms
from holdwatch.language import N_, _, many
from holdwatch.limits import Limits
from holdwatch.limits.model import DateMarkLimits, TimeControlLimits
from holdwatch.quantities import format_duration
from holdwatch.rules.facts import from_facts
from holdwatch.rules.life import Life
from holdwatch.rules.marked import Calendar, mark_of_life
from holdwatch.rules.verdicts import Matter, Process
from holdwatch.storage.inforce import limits_of
from holdwatch.storage.life import Content, contents_of
from holdwatch.storage.measured import vessels_known
from holdwatch.storage.products import product_at
from holdwatch.storage.register import site_at
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Batch

__all__ = [
    "IN_USE",
    "OWN_PLAN",
    "SHELF_LIFE",
    "Discard",
    "calendar_of",
    "discard_times",
    "in_use",
    "made_ms",
    "shelf_life",
]

OWN_PLAN = N_("the kitchen's own plan")
IN_USE, SHELF_LIFE = N_("in use"), N_("shelf life")
"""The names, in place of a clause, of what the kitchen sets for itself; findings are known by them, so screens look
them up where they say them."""


@dataclass(frozen=True, order=True)
class Discard:
    """A time by which all of it is to be gone."""

    at_ms: int
    clause: str
    source: str
    why: str
    """What sets it, such as "4 h without temperature control"."""
    whole_day: bool = False
    """Whether it is the end of a day, and is said as the day."""

    def words(self, zone: str) -> str:
        """Say when: a date mark as its last day, a clock as its instant."""
        return (
            _("end of {day}").format(day=day_words(self.at_ms, zone))
            if self.whole_day
            else clock_words(self.at_ms, zone)
        )


def discard_times(session: Session, batch: Batch, now_ms: int, *, vessel: int | None = None) -> tuple[Discard, ...]:
    """Return every time by which a batch, or one vessel of it, is to be gone; the earliest, which governs, first.

    What its readings add up to (2 h and 4 h) is as the watch last found it; all else is reckoned from what was
    declared, and is there at once. Food that ended has none.
    """
    if batch.ended_ms is not None and batch.ended_ms <= now_ms:
        return ()
    site = site_at(session, batch.started_ms)
    limits, calendar = limits_of(session, site), calendar_of(site.timezone)
    vessels = vessels_known(session, batch) if vessel is None else [vessel]
    found: set[Discard] = set()
    for number in vessels:
        contents = contents_of(session, batch, number, now_ms, readings=False)
        found.update(_of_contents(session, batch, contents, limits, calendar, now_ms))
        if any(each.process is Process.CUMULATIVE_TIME for content in contents for each in content.life.counted):
            found.update(_added_up(session, batch, number))
    return tuple(sorted(found))


def calendar_of(zone: str) -> Calendar:
    """Return the days of a zone."""
    return Calendar(
        day_of=lambda at_ms: local(at_ms, zone).date(),
        ends=lambda day: to_ms(datetime.combine(day + timedelta(days=1), time(0), ZoneInfo(zone))) - 1,
    )


def in_use(contents: Sequence[Content]) -> Discard | None:
    """Return when the time in use is over: the clock that was set running first and ends first governs."""
    clocks = [clock for content in contents for clock in content.in_use]
    if not clocks:
        return None
    first = min(clocks, key=lambda each: (each.due_ms, each.at_ms))
    return Discard(first.due_ms, IN_USE, OWN_PLAN, _("{length} in use").format(length=format_duration(first.for_ms)))


def shelf_life(session: Session, contents: Sequence[Content], calendar: Calendar) -> Discard | None:
    """Return the end of the kitchen's own shelf life: that of the content whose last day comes first."""
    found = []
    for content in contents:
        product = product_at(session, content.product, content.started_ms)
        if product is None or product.shelf_days is None or content.life.made_ms is None:
            continue
        last = _last_day(content.life, product.shelf_days, calendar)
        if last is not None:
            why = many(
                "{product} is kept for {count} day at most",
                "{product} is kept for {count} days at most",
                product.shelf_days,
                product=product.name,
            )
            found.append(Discard(calendar.ends(last), SHELF_LIFE, OWN_PLAN, why, whole_day=True))
    return min(found, default=None)


def _of_contents(
    session: Session, batch: Batch, contents: Sequence[Content], limits: Limits, calendar: Calendar, now_ms: int
) -> Iterator[Discard]:
    for own in (in_use(contents), shelf_life(session, contents, calendar)):
        if own is not None:
            yield own
    contents = [content for content in contents if not content.life.not_tcs]
    for content in contents:
        for counted in content.life.counted:
            limit = limits.part(counted.process.value, TimeControlLimits)
            if limit is not None:
                begun = counted.at_ms if counted.tray_ms is None else min(counted.at_ms, counted.tray_ms)
                why = _("{within} without temperature control").format(within=limit.within)
                yield Discard(begun + limit.within.ms, limit.clause, limit.source, why)
    marks = limits.part(Matter.DATE_MARKING.value, DateMarkLimits)
    if marks is None or batch.holding == "hot":
        return
    for content in contents:
        last = mark_of_life(marks, content.life, now_ms, calendar).last_day if content.life.made_ms else None
        if last is not None:
            why = (
                _("the maker's use-by date")
                if last == content.life.use_by
                else many("date mark, {count} day", "date mark, {count} days", marks.days)
            )
            yield Discard(calendar.ends(last), marks.clause, marks.source, why, whole_day=True)


def _added_up(session: Session, batch: Batch, vessel: int) -> Iterator[Discard]:
    """Give when the times outside will have added up to what the code allows, while it is out."""
    for state in clause_states(session, batch_id=batch.id):
        if state.process == Process.CUMULATIVE_TIME and (state.vessel or 1) == vessel:
            clause = from_facts(state.facts)
            if clause.due is not None and clause.due[0] is not None:
                yield Discard(clause.due[0], clause.clause, clause.source, _("times outside added up"))


def _last_day(life: Life, days: int, calendar: Calendar) -> date | None:
    """Return the last of so many days from the making on; days in the freezer do not count, ``None`` while in it."""
    day = calendar.day_of(life.made_ms or 0)
    stays = [(calendar.day_of(first), None if last is None else calendar.day_of(last)) for first, last in life.frozen]
    left = days - 1
    while left > 0:
        day += timedelta(days=1)
        stay = next((s for s in stays if s[0] <= day and (s[1] is None or day < s[1])), None)
        if stay is not None and stay[1] is None:
            return None
        left -= stay is None
    return day


def made_ms(session: Session, batch: Batch, now_ms: int) -> int:
    """Return when a batch was made: prepared, opened, off the heat, or started. [ms]."""
    life = contents_of(session, batch, 1, now_ms, readings=False)[0].life
    return batch.started_ms if life.made_ms is None else life.made_ms
