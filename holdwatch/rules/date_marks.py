"""Date marks: how long ready-to-eat food may be kept, in the site's own calendar days.

The day of preparation, or of opening a commercial container, is day 1. Food put together from others keeps the
date of the one prepared earliest. Days in the freezer do not count, and do not start the count again: the day on
which it went in is the first that does not count, the day of thawing counts again. A day of preparation always
counts. A maker's use-by date, where it rests on safety, is never passed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from holdwatch.language import _, many, written_day
from holdwatch.limits.model import DateMarkLimits
from holdwatch.rules.verdicts import Verdict

__all__ = ["DateMark", "Frozen", "date_mark", "judge_date_mark", "must_be_marked"]

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Frozen:
    """A stay in the freezer; without `thawed` it is there still."""

    frozen: date
    thawed: date | None = None

    def __post_init__(self) -> None:
        """Refuse a thawing before the freezing."""
        if self.thawed is not None and self.thawed < self.frozen:
            raise ValueError(f"thawed on {self.thawed}, before it was frozen on {self.frozen}")


@dataclass(frozen=True)
class DateMark:
    """The last day on which food may be used."""

    first_day: date
    last_day: date | None
    """``None`` while it is frozen: the count stands still."""
    days_left: int
    """Days that are left when the count stands still, today not yet counted; 0 where the last day is known."""


def must_be_marked(limit: DateMarkLimits, held_ms: int) -> bool:
    """Return whether food held for so long is marked: longer than the code says, not just as long."""
    return held_ms > limit.marked_after.ms


def date_mark(
    limit: DateMarkLimits,
    prepared: Iterable[date],
    *,
    frozen: Sequence[Frozen] = (),
    use_by: date | None = None,
) -> DateMark:
    """Return the date mark of a food.

    Parameters
    ----------
    limit : how many days the code allows.
    prepared : when it, and each ready-to-eat food in it, was prepared or opened; the earliest governs.
    frozen : its stays in the freezer, in any order.
    use_by : the maker's use-by date where it rests on safety; not passed.

    Raises
    ------
    ValueError
        If no day of preparation is given, or it is still frozen and was frozen again.
    """
    days = sorted(prepared)
    if not days:
        raise ValueError("a date mark needs the day of preparation")
    stays = sorted(frozen, key=lambda stay: stay.frozen)
    if any(stay.thawed is None for stay in stays[:-1]):
        raise ValueError("it was frozen again while it was frozen")
    first = days[0]
    day, left = first, limit.days - 1
    while left:
        following = day + ONE_DAY
        stay = next((stay for stay in stays if _covers(stay, following)), None)
        if stay is not None and stay.thawed is None:
            return DateMark(first, None, left)
        if stay is None:
            left -= 1
        day = following
    return DateMark(first, day if use_by is None else min(day, use_by), 0)


def _covers(stay: Frozen, day: date) -> bool:
    """Return whether a day does not count: from freezing on, up to the day before thawing."""
    return stay.frozen <= day and (stay.thawed is None or day < stay.thawed)


def judge_date_mark(mark: DateMark, today: date) -> tuple[Verdict, str]:
    """Return whether food that is still there on a day is within its mark, with a sentence."""
    if mark.last_day is None:
        return Verdict.OPEN, many(
            "Frozen: {count} day left from the day of thawing on.",
            "Frozen: {count} days left from the day of thawing on.",
            mark.days_left,
        )
    last = written_day(mark.last_day)
    if today > mark.last_day:
        said = _("Still there on {today}; the last day was {last}.")
        return Verdict.MISSED, said.format(today=written_day(today), last=last)
    return Verdict.MET, _("Within its mark: to be used by the end of {last}.").format(last=last)
