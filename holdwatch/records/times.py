"""Instants and lengths of time as a paper prints them: local, with the zone told where it is not plain."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE, to_datetime, zone_name
from holdwatch.language import _, short_day
from holdwatch.records.span import Span
from holdwatch.rules.verdicts import Bracket

__all__ = ["Times", "length", "printed_when"]


class Times:
    """Writes the instants of one paper.

    Where the clocks are changed within its span, every instant carries its zone, so that the hour that comes twice
    cannot be misread.
    """

    def __init__(self, timezone: str, span: Span) -> None:
        self.zone = ZoneInfo(timezone)
        self.span = span
        self._changes = self._find_changes()
        self._years = self._local(span.first_ms).year != self._local(span.last_ms).year

    def at(self, at_ms: int | None, none: str = "–") -> str:
        """Write an instant: ``24 Nov 14:32``."""
        if at_ms is None:
            return none
        at = self._local(at_ms)
        return f"{self._day(at)} {at:%H:%M}{self._zone(at)}"

    def bracket(self, bracket: Bracket | None) -> str:
        """Write two instants between which something happened, the day only once where it is one."""
        if bracket is None or bracket == (None, None):
            return "–"
        early, late = bracket
        if early is None:
            return _("by {time}").format(time=self.at(late))
        if late is None:
            return _("after {time}").format(time=self.at(early))
        if early == late:
            return self.at(early)
        begin, end = self._local(early), self._local(late)
        if begin.date() != end.date():
            return f"{self.at(early)} – {self.at(late)}"
        zone = "" if begin.utcoffset() == end.utcoffset() else self._zone(begin)
        return f"{self._day(begin)} {begin:%H:%M}{zone}–{end:%H:%M}{self._zone(end)}"

    def whole(self, at_ms: int) -> str:
        """Write an instant with everything: ``Tue 24 Nov 2026 14:32 MST (UTC−07:00)``."""
        at = self._local(at_ms)
        offset = f"{at:%z}"
        sign = "−" if offset.startswith("-") else "+"
        return f"{short_day(at.date(), year=True)} {at:%H:%M} {zone_name(at)} (UTC{sign}{offset[1:3]}:{offset[3:5]})"

    def day(self, day: str) -> str:
        """Write a local day: ``Tue 24 Nov``."""
        return short_day(datetime.fromisoformat(day).date(), year=self._years)

    def days(self) -> str:
        """Write the span's days shortly: ``10 Nov 2026 – 24 Nov 2026``."""
        first, last = self._local(self.span.first_ms), self._local(self.span.last_ms)
        ends = [short_day(at.date(), weekday=False, year=True) for at in (first, last)]
        return ends[0] if ends[0] == ends[1] else " – ".join(ends)

    def zone_note(self) -> str:
        """Tell the zone and, where the clocks are changed within the span, when and how."""
        if not self._changes:
            name = zone_name(self._local(self.span.last_ms))
            return _("{zone}, {name} throughout").format(zone=self.zone.key, name=name)
        changes = "; ".join(map(self._change, self._changes))
        return _("{zone}; {changes}. Times carry their zone").format(zone=self.zone.key, changes=changes)

    def _change(self, at_ms: int) -> str:
        """Tell one change of the clocks."""
        before, after = self._local(at_ms - 1), self._local(at_ms)
        gained = (after.utcoffset() or timedelta()) > (before.utcoffset() or timedelta())
        said = (
            _("the clocks go forward on {day}, from {before} to {after}")
            if gained
            else _("the clocks go back on {day}, from {before} to {after}")
        )
        return said.format(
            day=short_day(after.date(), year=True),
            before=f"{self._end_of(before)} {zone_name(before)}",
            after=f"{after:%H:%M} {zone_name(after)}",
        )

    @staticmethod
    def _end_of(before: datetime) -> str:
        """Return what the clocks would show next if they were not changed."""
        return f"{before + timedelta(milliseconds=1):%H:%M}"

    def _find_changes(self) -> list[int]:
        """Return the instants within the span at which the clocks are changed."""
        changes, at_ms = [], self.span.first_ms
        while at_ms < self.span.last_ms:
            next_ms = min(at_ms + MS_PER_DAY, self.span.last_ms)
            if self._offset(next_ms) != self._offset(at_ms):
                changes.append(self._first_after_change(at_ms, next_ms))
            at_ms = next_ms
        return changes

    def _first_after_change(self, low: int, high: int) -> int:
        """Return the first instant whose offset is that of `high` and not of `low`."""
        offset = self._offset(low)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self._offset(middle) == offset else (low, middle)
        return high

    def _offset(self, at_ms: int) -> timedelta:
        return self._local(at_ms).utcoffset() or timedelta()

    def _day(self, at: datetime) -> str:
        """Write the day, with its year where the span has two."""
        return short_day(at.date(), weekday=False, year=self._years)

    def _zone(self, at: datetime) -> str:
        """Return the zone to print behind a clock time, where it must be told."""
        return f" {zone_name(at)}" if self._changes else ""

    def _local(self, at_ms: int) -> datetime:
        return to_datetime(at_ms).astimezone(self.zone)


def length(ms: int) -> str:
    """Write a length of time: ``45 s``, ``25 min``, ``2 h 10 min``, ``3 d 4 h``."""
    if ms < MS_PER_MINUTE:
        return f"{ms // 1_000} s"
    if ms < MS_PER_HOUR:
        return f"{ms // MS_PER_MINUTE} min"
    if ms < MS_PER_DAY:
        hours, rest = divmod(ms // MS_PER_MINUTE, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days, hours = divmod(ms // MS_PER_HOUR, 24)
    said = _("{days} d").format(days=days)
    return f"{said} {hours} h" if hours else said


def printed_when(when: str, by: str) -> str:
    """Say when a paper was printed, and by whom where somebody is known."""
    return _("{when} by {person}").format(when=when, person=by) if by else when
