"""Who is told of a finding, and after how long: a cook at once, a manager where nobody has seen it.

A contact without a route is told of everything at once. With routes, whichever matches soonest counts. The hours of a
route are the site's local time at the instant at which the message would ring, so that a manager who is passed on to
at 05:50 is asked for by the hours of 05:50.

Where no route of anybody matches, everybody is told at once: a gap in a rota must not swallow an alert.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from holdwatch.clock import to_datetime
from holdwatch.storage.tables import FindingKind

__all__ = ["MINUTES_A_DAY", "Route", "told"]

MINUTES_A_DAY = 1440


@dataclass(frozen=True)
class Route:
    """When a contact is told, of what, and after how long nobody has seen it."""

    kinds: frozenset[FindingKind] = frozenset()
    """Of which kinds; empty is all."""
    units: frozenset[int] = frozenset()
    """Of which units, by number; empty is everything, batches too."""
    days: frozenset[int] = frozenset()
    """On which local weekdays, Monday is 0; empty is all. A span over midnight belongs to the day it begins on."""
    from_min: int = 0
    """From which minute of the local day."""
    to_min: int = MINUTES_A_DAY
    """Until before which minute; not later than `from_min` means the next morning."""
    after_ms: int = 0
    """How long the finding stays unseen before the message rings. [ms]"""

    def matches(self, kind: FindingKind, unit_id: int | None, local: datetime) -> bool:
        """Return whether it asks for a finding of that kind about that unit, ringing at that local time."""
        if self.kinds and kind not in self.kinds:
            return False
        if self.units and unit_id not in self.units:
            return False
        minute, day = local.hour * 60 + local.minute, local.weekday()
        if self.from_min < self.to_min:
            return self.from_min <= minute < self.to_min and self._on(day)
        if minute >= self.from_min:
            return self._on(day)
        return minute < self.to_min and self._on((day - 1) % 7)

    def _on(self, day: int) -> bool:
        return not self.days or day in self.days


def told(
    routes: Mapping[int, Sequence[Route]], kind: FindingKind, unit_id: int | None, now_ms: int, timezone: str
) -> dict[int, int]:
    """Return after how long each contact is told of a finding, by its number, in ms.

    Parameters
    ----------
    routes
        Every contact's routes, by the contact's number; none are an empty sequence.
    kind, unit_id
        What was found, and about which unit; ``None`` for a batch, a probe or the system.
    now_ms
        The present instant.
    timezone
        The site's, an IANA name.
    """
    zone = ZoneInfo(timezone)
    found: dict[int, int] = {}
    for contact_id, own in routes.items():
        waits = [
            route.after_ms
            for route in own or (Route(),)
            if route.matches(kind, unit_id, to_datetime(now_ms + route.after_ms).astimezone(zone))
        ]
        if waits:
            found[contact_id] = min(waits)
    return found or dict.fromkeys(routes, 0)
