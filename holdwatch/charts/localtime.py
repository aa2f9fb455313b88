"""Where the ticks of a time axis stand on the site's own clock.

Drawing programs know UTC and the zone of the machine they run on, never the site's. So an axis counts minutes
from its left end, and every label on it is written here. An hour that comes twice in autumn is two hours long on
the axis, and each of its labels says which it is.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from holdwatch.clock import (
    MS_PER_DAY,
    MS_PER_MINUTE,
    day_words,
    local,
    to_ms,
    zone_name,
    zone_of,
)
from holdwatch.language import short_day, short_month, short_weekday

__all__ = ["TimeAxis"]

_STEPS_MIN = (5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440)
_FINEST_OFFSET_MS = 15 * MS_PER_MINUTE  # every zone's offset is a multiple of it


@dataclass(frozen=True)
class Tick:
    """One tick of a time axis: minutes from its left end, and the lines of its label."""

    minutes: int
    label: tuple[str, ...]
    day: bool


@dataclass(frozen=True)
class TimeAxis:
    """A stretch of time laid out in minutes from its left end, a whole minute."""

    from_ms: int
    until_ms: int
    zone: str

    @property
    def origin_ms(self) -> int:
        """The whole minute at or before the left end."""
        return self.from_ms // MS_PER_MINUTE * MS_PER_MINUTE

    @property
    def domain(self) -> tuple[float, float]:
        """Both ends in minutes."""
        return self.place(self.from_ms), self.place(self.until_ms)

    def place(self, at_ms: int) -> float:
        """Return where an instant stands, in minutes from the origin."""
        return (at_ms - self.origin_ms) / MS_PER_MINUTE

    def ticks(self, most: int) -> tuple[Tick, ...]:
        """Return at most some `most` ticks on whole local times, each with its label."""
        span = self.until_ms - self.from_ms
        if span > 45 * MS_PER_DAY:
            instants = self._midnights(lambda day: day.day == 1)
        elif span > (most + 1) * MS_PER_DAY:
            every = -(-span // ((most + 1) * MS_PER_DAY))
            instants = self._midnights(lambda day: day.toordinal() % every == 0)
        else:
            fitting = (s for s in _STEPS_MIN if span <= s * MS_PER_MINUTE * (most + 1))
            instants = self._every(next(fitting, _STEPS_MIN[-1]))
        return self._labelled(instants)

    def _every(self, step_min: int) -> list[int]:
        stride = min(step_min * MS_PER_MINUTE, _FINEST_OFFSET_MS)
        first = -(-self.from_ms // stride) * stride
        return [at for at in range(first, self.until_ms + 1, stride) if self._minute_of_day(at) % step_min == 0]

    def _minute_of_day(self, at_ms: int) -> int:
        wall = local(at_ms, self.zone)
        return wall.hour * 60 + wall.minute

    def _midnights(self, wanted: Callable[[date], bool]) -> list[int]:
        zone, kept = zone_of(self.zone), []
        day, last = local(self.from_ms, self.zone).date(), local(self.until_ms, self.zone).date()
        while day <= last:
            folds = (0, 1) if wanted(day) else ()
            twice = {to_ms(datetime.combine(day, time(0), zone).replace(fold=fold)) for fold in folds}
            for at in sorted(twice):  # where clocks change at midnight a day has two, or none
                wall = local(at, self.zone)
                real = (wall.date(), wall.hour, wall.minute) == (day, 0, 0)
                if real and self.from_ms <= at <= self.until_ms:
                    kept.append(at)
            day += timedelta(days=1)
        return kept

    def _labelled(self, instants: list[int]) -> tuple[Tick, ...]:
        made: list[Tick] = []
        changes = local(self.from_ms, self.zone).utcoffset() != local(self.until_ms, self.zone).utcoffset()
        long = self.until_ms - self.from_ms > 45 * MS_PER_DAY
        days_only = all((t := local(at, self.zone)).hour == 0 and t.minute == 0 for at in instants)
        previous = None
        for at in instants:
            wall = local(at, self.zone)
            new_day = previous is None or wall.date() != previous
            previous = wall.date()
            if long:
                month = short_month(wall.date())
                label: tuple[str, ...] = (month, f"{wall:%Y}") if wall.month == 1 else (month,)
            elif days_only and len(instants) > 1:
                label = (short_weekday(wall.date()), short_day(wall.date(), weekday=False))
            else:
                second = [zone_name(wall)] if changes else []
                label = (f"{wall:%H:%M}", *second, *([day_words(at, self.zone)] if new_day else []))
            made.append(Tick(round(self.place(at)), label, new_day))
        return tuple(made)
